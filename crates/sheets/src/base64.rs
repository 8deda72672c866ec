//! Bytes as text: what stands inside a page, and the fingerprints that its policy names.

/// Bytes in the 64 letters that pages and their policies take.
///
/// # Source
/// RFC 4648, section 4.
pub fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |n: usize| u32::from(three.get(n).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for n in 0..4 {
            let sign = SIGNS[(bits >> (18 - 6 * n) & 63) as usize];
            out.push(if n <= three.len() { char::from(sign) } else { '=' });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648, section 10: the test vectors.
    #[test]
    fn bytes_become_text() {
        let rows = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (bytes, text) in rows {
            assert_eq!(base64(bytes.as_bytes()), text);
        }
    }
}
