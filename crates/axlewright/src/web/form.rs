//! What was sent: pairs of names and values out of a form or an address, bounded and in UTF-8.

use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{StatusCode, header};
use axum::response::Response;
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, percent_decode_str, utf8_percent_encode};

use super::tell;

/// The largest form, in bytes. A car file has a screen and a bound of its own.
pub(super) const FORM_BYTES_MAX: usize = 64 * 1024;
/// More fields than any form here has.
const FIELDS_MAX: usize = 200;

/// Fields by name.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Fields(Vec<(String, String)>);

impl Fields {
    /// A field's text without the blanks around it; nothing where it is empty or not there.
    pub(super) fn get(&self, name: &str) -> Option<&str> {
        self.raw(name).map(str::trim).filter(|value| !value.is_empty())
    }

    /// A field's text as it was sent.
    pub(super) fn raw(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(its, _)| its == name).map(|(_, value)| value.as_str())
    }

    /// All fields, in the order in which they were sent.
    pub(super) fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, value)| (name.as_str(), value.as_str()))
    }

    /// One more field.
    pub(super) fn add(&mut self, name: &str, value: String) {
        self.0.push((name.to_owned(), value));
    }

    /// A field's text as an owned one.
    pub(super) fn text(&self, name: &str) -> Option<String> {
        self.get(name).map(str::to_owned)
    }
}

impl From<Vec<(String, String)>> for Fields {
    fn from(pairs: Vec<(String, String)>) -> Self {
        Self(pairs)
    }
}

/// The fields of a form that was sent, at most `BYTES` long.
#[derive(Debug)]
pub(super) struct Sent<const BYTES: usize = FORM_BYTES_MAX>(pub(super) Fields);

impl<S: Sync, const BYTES: usize> FromRequest<S> for Sent<BYTES> {
    type Rejection = Response;

    async fn from_request(request: Request, _: &S) -> Result<Self, Response> {
        let media = request.headers().get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok());
        let is_form =
            media.is_some_and(|media| media.starts_with("application/x-www-form-urlencoded"));
        if !is_form {
            return Err(tell::refuse(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "That was not a form of this page, and nothing was written.",
                "Use the form on the screen.",
            ));
        }
        let bytes = axum::body::to_bytes(request.into_body(), BYTES).await.map_err(|_| {
            tell::refuse(
                StatusCode::PAYLOAD_TOO_LARGE,
                "That was too long, and nothing was written.",
                "Say it shorter, or in several entries.",
            )
        })?;
        decode(&bytes).map(Sent).ok_or_else(|| {
            tell::refuse(
                StatusCode::BAD_REQUEST,
                "What arrived could not be read, and nothing was written.",
                "Send the form again.",
            )
        })
    }
}

/// The fields after the question mark of an address; what cannot be read is as if not there.
#[derive(Debug)]
pub(super) struct Asked(pub(super) Fields);

impl<S: Send + Sync> FromRequestParts<S> for Asked {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Self::Rejection> {
        let asked = parts.uri.query().unwrap_or_default();
        Ok(Self(decode(asked.as_bytes()).unwrap_or_default()))
    }
}

/// Name and value pairs as forms send them (application/x-www-form-urlencoded).
fn decode(bytes: &[u8]) -> Option<Fields> {
    let text = std::str::from_utf8(bytes).ok()?;
    let mut fields = Vec::new();
    for pair in text.split('&').filter(|pair| !pair.is_empty()) {
        if FIELDS_MAX <= fields.len() {
            return None;
        }
        let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
        fields.push((unescape(name)?, unescape(value)?.replace("\r\n", "\n")));
    }
    Some(Fields(fields))
}

fn unescape(text: &str) -> Option<String> {
    let spaced = text.replace('+', " ");
    Some(percent_decode_str(&spaced).decode_utf8().ok()?.into_owned())
}

/// What stands in an address as it is.
const PLAIN: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'_').remove(b'.');

/// A text as part of an address: everything but letters, digits and a few signs escaped.
pub(super) fn escape(text: &str) -> String {
    utf8_percent_encode(text, PLAIN).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_is_read_as_browsers_send_it() {
        let fields = decode(b"note=a+b%26c%C3%BC%0D%0Ad&empty=&x").unwrap();
        assert_eq!(fields.raw("note"), Some("a b&cü\nd"));
        assert_eq!((fields.get("empty"), fields.raw("x")), (None, Some("")));
        for broken in [&b"a=%ff"[..], b"a=%c3", b"%ff=1", b"\xff=1"] {
            assert_eq!(decode(broken), None, "{broken:?}");
        }
        // A lone percent sign is one.
        assert_eq!(decode(b"a=5%+off&b=%zz").unwrap().raw("a"), Some("5% off"));
        assert_eq!(decode("a&".repeat(FIELDS_MAX + 1).as_bytes()), None);
    }

    #[test]
    fn what_is_escaped_comes_back() {
        for text in ["hub-cover-left", "a b/c?d#e%f&ü"] {
            assert_eq!(unescape(&escape(text)).as_deref(), Some(text));
        }
    }
}
