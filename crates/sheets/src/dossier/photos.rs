//! Photos as small pictures inside the page.

use axlewright_setup::record::{PhotoRecord, Record};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, html};

use super::{Picture, part as numbered, stamp};

/// Most pictures in one dossier: more would make it too heavy to send.
const PICTURES_MAX: usize = 240;

/// Where the pictures come from, and how many were put in.
pub(super) struct Album<'a> {
    picture: &'a mut dyn FnMut(&PhotoRecord) -> Option<Picture>,
    left: usize,
}

impl<'a> Album<'a> {
    pub(super) fn new(picture: &'a mut dyn FnMut(&PhotoRecord) -> Option<Picture>) -> Self {
        Self { picture, left: PICTURES_MAX }
    }

    /// A photo with what it shows beneath.
    pub(super) fn photo(&mut self, photo: &PhotoRecord) -> Markup {
        let picture = match self.left.checked_sub(1) {
            Some(left) => {
                self.left = left;
                (self.picture)(photo).filter(|picture| is_picture(&picture.media))
            }
            None => None,
        };
        let words = match &photo.when {
            Some(when) => format!("{}, {when}", photo.of),
            None => photo.of.clone(),
        };
        html! {
            figure.photo {
                @match picture {
                    Some(picture) => {
                        @let bytes = STANDARD.encode(&picture.bytes);
                        img alt=(words) width=(photo.width) height=(photo.height)
                            src={ "data:" (picture.media) ";base64," (bytes) };
                    }
                    None => { p.open { "This photo is in the book, not in this file." } }
                }
                figcaption {
                    (words)
                    @if let Some(note) = &photo.note { ": " (note) }
                    " " (stamp(&photo.stamp))
                    small.stamp { " " code { (photo.sha256.get(..16).unwrap_or_default()) "…" } }
                }
            }
        }
    }
}

/// Photos that belong to no mark.
pub(super) fn part(record: &Record, album: &mut Album<'_>) -> Markup {
    numbered(
        "photos",
        "7",
        "Photos",
        html! {
            @if record.photos.is_empty() {
                (super::nothing("No photos but those of the marks, if any."))
            }
            div.album { @for photo in &record.photos { (album.photo(photo)) } }
        },
    )
}

fn is_picture(media: &str) -> bool {
    ["image/jpeg", "image/png", "image/webp"].contains(&media)
}
