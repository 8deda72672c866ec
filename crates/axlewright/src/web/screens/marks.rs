//! Witness marks and photos: before, after, and what a mark missed by so much is worth.

use std::time::Duration;

use axlewright_book::log::{Body, Mark, MarkLife, PHOTO_BYTES_MAX, Photo, Sha};
use axlewright_setup::marks;
use axlewright_sheets::pieces;
use axum::extract::multipart::{Field, MultipartError};
use axum::extract::{Multipart, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use sha2::{Digest, Sha256};

use super::parts;
use crate::desk::bench::{Bench, Hand, PhotoOf, Refused, View};
use crate::web::fields::{Fill, Look, Wrong, hidden};
use crate::web::form::{Asked, Fields, Sent};
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::tell;
use crate::web::writing::Form;

/// The largest photo, in bytes: the book's own limit.
pub(super) const PHOTO_BYTES: usize = PHOTO_BYTES_MAX as usize;
const MEBIBYTES: u64 = PHOTO_BYTES_MAX / (1024 * 1024);
/// What a form with a photo may be besides the photo.
pub(super) const AROUND_PHOTO: usize = 64 * 1024;
/// A text field beside a photo.
const TEXT_BYTES_MAX: usize = 20_000;
/// From one piece of a photo to the next, over a weak network.
const PIECE_WITHIN: Duration = Duration::from_secs(20);
/// Photos shown at once; the rest is behind a search.
const PHOTOS_SHOWN: usize = 24;

const NEW: &str = "mark-new";
const PHOTO: &str = "photo";

/// `GET /marks?of=…`
pub async fn show(State(site): State<Shared>, prefs: Prefs, Asked(asked): Asked) -> Response {
    let of = asked.text("of");
    let key = of.clone().unwrap_or_default();
    let make = move |view: &View| {
        let begun = of.map(|of| Fill::begun(PHOTO, Fields::from(vec![("of".to_owned(), of)])));
        body(view, &begun.unwrap_or_default())
    };
    site.screen(&prefs, Screen::Marks, key, make).await
}

/// `POST /marks`: a mark made, or read again on return.
pub async fn write(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let text = |name: &str| sent.text(name).unwrap_or_default();
    let mark = Mark {
        mark: text("mark"),
        between: [text("one"), text("other")],
        also: text("also").split_whitespace().map(str::to_owned).collect(),
        over: None,
        side: sent.text("side"),
        offset: sent.text("offset"),
        note: sent.text("note"),
    };
    let name = match &mark.offset {
        Some(_) => format!("mark-{}", mark.mark),
        None => NEW.to_owned(),
    };
    let then = "/marks".to_owned();
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Marks, name, sent, then };
    form.write(Ok(Body::Mark(mark)), body).await
}

/// `POST /marks/photo`
pub async fn photo(
    State(site): State<Shared>,
    prefs: Prefs,
    sent: Result<Multipart, axum::extract::multipart::MultipartRejection>,
) -> Response {
    let Ok(sent) = sent else { return not_a_photo() };
    // What arrives is held in memory: only so many at one time, and none that does not go on.
    let Ok(_place) = site.uploads.acquire().await else { return tell::sorry() };
    let (mut sent, bytes) = match take(sent).await {
        Ok(taken) => taken,
        Err(refused) => return refused,
    };
    // Decoding takes more of it: whoever comes second waits, but never for a slow sender.
    let Ok(_one) = site.photos.acquire().await else { return tell::sorry() };
    // Another picture with the same words is another form.
    sent.add(PHOTO, Sha(Sha256::digest(&bytes).into()).to_string());
    let (name, then) = (PHOTO.to_owned(), "/marks#photos".to_owned());
    let of = PhotoOf {
        of: sent.text("of").unwrap_or_default(),
        when: sent.text("when"),
        note: sent.text("note"),
    };
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Marks, name, sent, then };
    if bytes.is_empty() && !form.is_by_key() {
        let wrong = Wrong::new("photo", "no picture was chosen", "take or choose one");
        return form.refuse(StatusCode::UNPROCESSABLE_ENTITY, wrong, body).await;
    }
    form.act(move |bench: &Bench, hand: Hand<'_>| bench.photo(hand, &bytes, of), body).await
}

/// The fields and the picture of a form in parts.
async fn take(mut sent: Multipart) -> Result<(Fields, Vec<u8>), Response> {
    let (mut fields, mut picture) = (Vec::new(), Vec::new());
    while let Some(field) = in_time(sent.next_field()).await? {
        let name = field.name().unwrap_or_default().to_owned();
        if name == "photo" {
            picture = bytes_of(field, PHOTO_BYTES).await?;
        } else if fields.len() < 10 {
            let text = bytes_of(field, TEXT_BYTES_MAX).await?;
            let text = String::from_utf8(text).map_err(|_| not_a_photo())?;
            fields.push((name, text.replace("\r\n", "\n")));
        }
    }
    Ok((Fields::from(fields), picture))
}

async fn bytes_of(mut field: Field<'_>, most: usize) -> Result<Vec<u8>, Response> {
    let mut bytes = Vec::new();
    while let Some(chunk) = in_time(field.chunk()).await? {
        if most < bytes.len() + chunk.len() {
            return Err(too_large());
        }
        bytes.extend_from_slice(&chunk);
    }
    Ok(bytes)
}

/// The next piece of what is being sent, if it comes in time.
async fn in_time<T>(
    next: impl Future<Output = Result<Option<T>, MultipartError>>,
) -> Result<Option<T>, Response> {
    match tokio::time::timeout(PIECE_WITHIN, next).await {
        Ok(piece) => piece.map_err(|why| broken(&why)),
        Err(_) => Err(tell::refuse(
            StatusCode::REQUEST_TIMEOUT,
            "The picture stopped arriving, and nothing was written.",
            "Go nearer to the other machine and send it again.",
        )),
    }
}

fn broken(why: &MultipartError) -> Response {
    if why.status() == StatusCode::PAYLOAD_TOO_LARGE { too_large() } else { not_a_photo() }
}

fn too_large() -> Response {
    tell::refuse(
        StatusCode::PAYLOAD_TOO_LARGE,
        &format!("That picture is larger than {MEBIBYTES} MiB, and nothing was written."),
        "Set the camera to a smaller picture.",
    )
}

fn not_a_photo() -> Response {
    tell::refuse(
        StatusCode::BAD_REQUEST,
        "What arrived was not a whole picture, and nothing was written.",
        "Choose the picture again and send it once more.",
    )
}

/// `GET /photo/{sha256}`: the picture; `GET /thumb/{sha256}`: a small one. Only what an entry names
/// is given out.
pub async fn full(State(site): State<Shared>, Path(sha): Path<String>) -> Response {
    give(site, sha, Bench::photo_bytes, |photo| media(&photo.media)).await
}

/// See [`full`].
pub async fn thumb(State(site): State<Shared>, Path(sha): Path<String>) -> Response {
    give(site, sha, Bench::thumb, |_| "image/jpeg").await
}

async fn give(
    site: Shared,
    sha: String,
    read: fn(&Bench, &Photo) -> Result<Vec<u8>, Refused>,
    media: fn(&Photo) -> &'static str,
) -> Response {
    let view = site.bench.look();
    let Some(photo) = photo_of(&view, &sha).cloned() else { return guard::nowhere().await };
    let media = media(&photo);
    let read = tokio::task::spawn_blocking(move || {
        read(&site.bench, &photo).map_err(|why| site.say(&format!("photo {sha}: {why}")))
    });
    match read.await {
        Ok(Ok(bytes)) => (
            [
                (header::CONTENT_TYPE, media),
                (header::CACHE_CONTROL, "private, max-age=31536000, immutable"),
            ],
            bytes,
        )
            .into_response(),
        _ => tell::refuse(
            StatusCode::NOT_FOUND,
            "That picture is not in the book’s folder any more, or was changed.",
            "`axlewright book verify` says more.",
        ),
    }
}

/// Only these three ever leave as what they are.
fn media(said: &str) -> &'static str {
    ["image/jpeg", "image/png", "image/webp"]
        .into_iter()
        .find(|known| *known == said)
        .unwrap_or("application/octet-stream")
}

fn photo_of<'a>(view: &'a View, sha: &str) -> Option<&'a Photo> {
    let state = view.state();
    let all = state.facts().photos.values().flatten();
    all.filter_map(|seq| as_photo(view, *seq)).find(|photo| photo.sha256 == sha)
}

fn as_photo(view: &View, seq: u64) -> Option<&Photo> {
    match &view.state().entry(seq)?.body {
        Body::Photo(photo) => Some(photo),
        _ => None,
    }
}

/// A picture with its words; a tap shows it whole.
pub(super) fn picture(photo: &Photo) -> Markup {
    let when = photo.when.as_deref().map(|when| format!(", {when}")).unwrap_or_default();
    html! {
        figure.photo {
            a href={ "/photo/" (photo.sha256) } {
                img src={ "/thumb/" (photo.sha256) } alt={ (photo.of) (when) } loading="lazy"
                    width="240" height=(height(photo));
            }
            figcaption { (photo.of) (when) @if let Some(note) = &photo.note { ": " (note) } }
        }
    }
}

/// The height that goes with a width of 240, so that nothing jumps when it arrives.
fn height(photo: &Photo) -> u64 {
    (u64::from(photo.height) * 240 / u64::from(photo.width.max(1))).clamp(1, 1000)
}

fn body(view: &View, fill: &Fill) -> Markup {
    let all = &view.state().facts().marks;
    html! {
        (page::may_write(view))
        @if all.is_empty() {
            p.lead { "No marks yet. Scribe or paint one across two parts before a nut turns." }
        }
        @if !all.is_empty() {
            section id="marks" {
                h2 { "Marks: " (all.len()) }
                @for (name, life) in all { (mark(view, name, life, fill)) }
            }
        }
        (new_mark(view, fill))
        (photo_form(view, fill))
        (photos(view))
    }
}

fn mark(view: &View, name: &str, life: &MarkLife, fill: &Fill) -> Markup {
    let form = format!("mark-{name}");
    let typed = fill.of(&form);
    let offset = life.offset.and_then(|seq| view.state().entry(seq));
    let read = offset.and_then(|entry| match &entry.body {
        Body::Mark(mark) => Some(mark),
        _ => None,
    });
    html! {
        article.spec {
            h3 { (name) @if let Some(side) = life.side { ", " (side.word()) } }
            p { "Across " (life.between[0]) " and " (life.between[1]) ", made in "
                a href={ "/log/" (life.made) } { "entry " (life.made) } "." }
            @if let Some(void) = &life.void {
                p.fault { "Void: " (void.part) " was " (void.word())
                    " (entry " (void.seq) "). Set it by \
                    measurement." }
            }
            @if let Some(read) = read { (worth(view, read)) }
            (pair(view, name))
            @if life.void.is_none() {
                form method="post" action="/marks" data-key=(typed.key()) {
                    (typed.head())
                    (hidden("mark", name))
                    (hidden("one", &life.between[0])) (hidden("other", &life.between[1]))
                    (typed.text("offset", "Missed on return by", Look { hint: "1.5 mm rearward, \
                        or 0 mm", needed: true, ..Look::default() }))
                    button type="submit" { "Write the offset" }
                }
            }
        }
    }
}

/// By how much it missed, and what that is worth in camber and toe.
fn worth(view: &View, read: &Mark) -> Markup {
    html! {
        p.state { "On return it missed by " (read.offset.as_deref().unwrap_or_default()) "." }
        @match marks::worth(view.car(), read) {
            Ok(found) => {
                p { (found.why.words) }
                details.fold id={ "worth-" (read.mark.replace(char::is_whitespace, "-")) } {
                    summary { span.name { "Why so much" } span.value {} span.why-mark { "why?" } }
                    (pieces::item(&found.value)) (pieces::why(&found.why))
                }
            }
            Err(no) => p.soft { (no.words()) },
        }
    }
}

/// Before and after, side by side.
fn pair(view: &View, of: &str) -> Markup {
    let seqs = view.state().facts().photos.get(of).map(Vec::as_slice).unwrap_or_default();
    let last = |when: &str| {
        let all = seqs.iter().rev().filter_map(|seq| as_photo(view, *seq));
        all.into_iter().find(|photo| photo.when.as_deref() == Some(when))
    };
    let both = [last("before"), last("after")];
    html! {
        @if both.iter().any(Option::is_some) {
            div.photos { @for photo in both.into_iter().flatten() { (picture(photo)) } }
        }
    }
}

fn new_mark(view: &View, fill: &Fill) -> Markup {
    let typed = fill.of(NEW);
    let parts: Vec<(String, String)> =
        view.car().parts.iter().map(|part| (part.id.value.clone(), parts::name(part))).collect();
    html! {
        section id="new" {
            h2 { "Write down a mark" }
            form method="post" action="/marks" data-key=(typed.key()) {
                (typed.head())
                (typed.text("mark", "Name of the mark", Look { hint: "left rear eccentric",
                    needed: true, ..Look::default() }))
                (typed.choice("one", "Across this part", &parts, Some("choose")))
                (typed.choice("other", "and this one", &parts, Some("choose")))
                (typed.words("side", "Side", &["left", "right"], Some("neither")))
                (typed.area("note", "Note", Look::default()))
                button type="submit" { "Write this mark" }
            }
        }
    }
}

fn photo_form(view: &View, fill: &Fill) -> Markup {
    let typed = fill.of(PHOTO);
    let known = view.state().facts().marks.keys();
    html! {
        section id="photo" {
            h2 { "Add a photo" }
            p { "Where it was taken is removed from the picture before it is kept." }
            form method="post" action="/marks/photo" enctype="multipart/form-data"
                data-key=(typed.key()) {
                (typed.head())
                div.field {
                    label for="photo-photo" { "Picture" }
                    input type="file" id="photo-photo" name="photo" required
                        accept="image/jpeg,image/png,image/webp" capture="environment";
                }
                div.field {
                    label for="photo-of" { "What it shows" }
                    input type="text" id="photo-of" name="of" required list="marks-known"
                        maxlength="200" autocomplete="off" value=(typed.shown("of"));
                    datalist id="marks-known" { @for mark in known { option value=(mark) {} } }
                }
                (typed.words("when", "When", &["before", "after"], Some("neither")))
                (typed.area("note", "Note", Look::default()))
                button type="submit" { "Add this photo" }
            }
        }
    }
}

/// The newest pictures.
fn photos(view: &View) -> Markup {
    let mut seqs: Vec<u64> = view.state().facts().photos.values().flatten().copied().collect();
    seqs.sort_unstable_by(|a, b| b.cmp(a));
    html! {
        section id="photos" {
            h2 { "Photos: " (seqs.len()) }
            div.photos {
                @for photo in seqs.iter().take(PHOTOS_SHOWN).filter_map(|s| as_photo(view, *s)) {
                    (picture(photo))
                }
            }
            @if PHOTOS_SHOWN < seqs.len() {
                p { a.button href="/log?kind=photo#search" { "All of them in the log" } }
            }
        }
    }
}
