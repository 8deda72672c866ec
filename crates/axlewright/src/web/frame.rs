//! What stands around every screen: title block, the way to the others, and the quiet lines for
//! what is not written yet and for a lost connection.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::assets;
use super::fields::Fill;
use super::prefs::{Prefs, Theme};
use crate::desk::bench::View;

/// One screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Screen {
    Today,
    Step,
    Order,
    Splines,
    Readings,
    Geometry,
    Joints,
    Wheels,
    Parts,
    Car,
    Marks,
    Log,
    Dossier,
    Settings,
    Why,
    All,
}

/// Screens in the order of the work: what it is, where it is, what it is called, whether it stands
/// in the bar under the thumb.
const SCREENS: [(Screen, &str, &str, bool); 13] = [
    (Screen::Today, "/", "Today", true),
    (Screen::Order, "/order", "Order", true),
    (Screen::Splines, "/splines", "Splines", false),
    (Screen::Readings, "/readings", "Readings", false),
    (Screen::Geometry, "/geometry", "Geometry", false),
    (Screen::Joints, "/joints", "Joints", true),
    (Screen::Wheels, "/wheels", "Wheels", false),
    (Screen::Parts, "/parts", "Parts", false),
    (Screen::Car, "/car", "Car", false),
    (Screen::Marks, "/marks", "Marks & photos", false),
    (Screen::Log, "/log", "Log", true),
    (Screen::Dossier, "/dossier", "Dossier", false),
    (Screen::Settings, "/settings", "Settings", false),
];

impl Screen {
    /// What it is called.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Step => "Step",
            Self::Why => "Why?",
            Self::All => "All screens",
            other => {
                SCREENS.iter().find(|(its, ..)| *its == other).map_or("", |(_, _, name, _)| name)
            }
        }
    }

    /// The screen of the bar that it belongs to.
    fn within(self) -> Self {
        match self {
            Self::Step => Self::Order,
            other => other,
        }
    }

    /// One line on what is done there.
    fn about(self) -> &'static str {
        match self {
            Self::Today => "the next step, what it needs, what stands in the way",
            Self::Order => "all steps with their maps, reasons, and how to back out",
            Self::Splines => "which teeth, and each attempt at it",
            Self::Readings => "what a gauge, tape or scale showed, then and now",
            Self::Geometry => "what fits at which arm position, forces, travel",
            Self::Joints => "torques, order of tightening, bolt by bolt",
            Self::Wheels => "the car on its wheels: rounds and corrections",
            Self::Parts => "where each part is, and its life",
            Self::Car => "the manual’s figures, what is still to measure, the car file",
            Self::Marks => "witness marks and pictures, before and after",
            Self::Log => "everything written, and striking what was wrong",
            Self::Dossier => "the whole record, to print or to keep",
            Self::Settings => "light and dark, who is writing, other devices",
            Self::Step | Self::Why | Self::All => "",
        }
    }
}

/// Why nothing was written, and the id of the place to look at.
#[derive(Debug, Clone, Default)]
pub(super) struct NotWritten {
    words: String,
    place: String,
}

impl NotWritten {
    /// What a form that came back says.
    pub(super) fn of(fill: &Fill) -> Self {
        let why = fill.why_back().map(|(wrong, place)| Self { words: wrong.words(), place });
        why.unwrap_or_default()
    }
}

/// The whole page around a screen's own part.
pub(super) fn frame(
    (prefs, refused): (&Prefs, Option<&NotWritten>),
    (view, by, book): (&View, &str, &str),
    screen: Screen,
    body: &str,
) -> Markup {
    let car = view.assessment().car.as_deref().unwrap_or("Car without a name");
    let theme = (prefs.theme != Theme::Device).then(|| prefs.theme.word());
    html! {
        (DOCTYPE)
        html lang="en" data-theme=[theme] {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content=(scheme(prefs.theme));
                title {
                    @if let Some(refused) = refused { (refused.words) " · " }
                    (screen.name()) " · " (car)
                }
                link rel="stylesheet" href=(assets::css().path());
                link rel="icon" href=(assets::icon().path()) type="image/svg+xml";
                script src=(assets::script().path()) defer {}
            }
            body data-seq=(view.seq()) data-book=(book) data-stale[!view.is_fresh()] {
                a.skip href="#main" { "Skip to the work" }
                header.sheet-head {
                    p.car { (car) }
                    h1 { (screen.name()) }
                    p.by {
                        a href="/settings#by-name" {
                            span { "Writing: " }
                            b { (prefs.by.as_deref().unwrap_or(by)) }
                        }
                    }
                }
                (ways(screen))
                p.lost id="lost" role="status" hidden {
                    b { "No connection." } " What you type stays on this device and is not written \
                    yet. It comes back by itself when the other machine is reached again."
                }
                main id="main" tabindex="-1" {
                    @if let Some(energy) = view.energy() {
                        p.energy { b { "Energy: " } (energy) }
                    }
                    @if !view.is_fresh() {
                        p.written-now role="status" { "Something was written just now. The figures \
                            here are from before it; new ones are being worked out." }
                    }
                    (PreEscaped(body))
                }
                (told(refused, prefs.wrote))
            }
        }
    }
}

/// What has become of a form, above the bar under the thumb: told where it is seen, wherever the
/// screen stands.
fn told(refused: Option<&NotWritten>, wrote: Option<u64>) -> Markup {
    html! {
        @if let Some(refused) = refused {
            p.told.refused id="told" role="alert" {
                span { (refused.words) }
                @if !refused.place.is_empty() { a href={ "#" (refused.place) } { "Show me" } }
            }
        } @else if let Some(seq) = wrote {
            p.told id="told" role="status" {
                span { "Written: " a href={ "/log/" (seq) } { "entry " (seq) } "." }
                a href={ "/log/" (seq) "#strike" } { "Undo" }
            }
        }
    }
}

const fn scheme(theme: Theme) -> &'static str {
    match theme {
        Theme::Device => "light dark",
        Theme::Dark => "dark",
        Theme::Light | Theme::Sun => "light",
    }
}

fn ways(screen: Screen) -> Markup {
    html! {
        nav.ways aria-label="screens" {
            @for (its, path, name, thumb) in SCREENS {
                a href=(path) .wide-only[!thumb] aria-current=[current(screen, its)] { (name) }
            }
            a.thumb-only href="/all" aria-current=[(!in_bar(screen)).then_some("true")] { "All" }
        }
    }
}

fn current(screen: Screen, link: Screen) -> Option<&'static str> {
    if screen == link { Some("page") } else { (screen.within() == link).then_some("true") }
}

fn in_bar(screen: Screen) -> bool {
    SCREENS.iter().any(|(its, _, _, thumb)| *thumb && *its == screen.within())
}

/// Every screen with a line on what it is for: the way on a telephone.
pub(super) fn all_screens() -> Markup {
    html! {
        ul.screens {
            @for (its, path, name, _) in SCREENS {
                li { a href=(path) { b { (name) } span { (its.about()) } } }
            }
        }
    }
}
