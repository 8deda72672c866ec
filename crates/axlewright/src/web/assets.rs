//! Style, script and icon, inside the program and served under the fingerprint of what they hold,
//! so that a browser may keep them for ever.

use std::fmt::Write;
use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};

use super::tell;

/// A file of the page.
#[derive(Debug)]
pub(super) struct Asset {
    name: String,
    media: &'static str,
    body: String,
}

impl Asset {
    fn new(stem: &str, ending: &str, media: &'static str, body: String) -> Self {
        let mut mark = String::new();
        for byte in Sha256::digest(body.as_bytes()).iter().take(6) {
            // Writing into a text cannot fail.
            let _ = write!(mark, "{byte:02x}");
        }
        Self { name: format!("{stem}-{mark}.{ending}"), media, body }
    }

    /// Where it is found.
    pub(super) fn path(&self) -> String {
        format!("/assets/{}", self.name)
    }
}

static CSS: LazyLock<Asset> = LazyLock::new(|| {
    let style = [axlewright_sheets::pieces::STYLE, include_str!("assets/page.css")].concat();
    Asset::new("page", "css", "text/css; charset=utf-8", style)
});
static SCRIPT: LazyLock<Asset> = LazyLock::new(|| {
    let script = include_str!("assets/page.js").to_owned();
    Asset::new("page", "js", "text/javascript; charset=utf-8", script)
});
static ICON: LazyLock<Asset> = LazyLock::new(|| {
    Asset::new("icon", "svg", "image/svg+xml", include_str!("assets/icon.svg").to_owned())
});

/// The style sheet.
pub(super) fn css() -> &'static Asset {
    &CSS
}

/// The script.
pub(super) fn script() -> &'static Asset {
    &SCRIPT
}

/// The icon.
pub(super) fn icon() -> &'static Asset {
    &ICON
}

/// Serves one of them by its whole name; no name leads to a file on the disk.
pub(super) async fn serve(Path(name): Path<String>) -> Response {
    match [css(), script(), icon()].into_iter().find(|asset| asset.name == name) {
        Some(asset) => (
            [
                (header::CONTENT_TYPE, asset.media),
                (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
            ],
            asset.body.as_str(),
        )
            .into_response(),
        None => tell::refuse(
            StatusCode::NOT_FOUND,
            "There is no such file.",
            "Load the page again: it may be from an earlier version.",
        ),
    }
}
