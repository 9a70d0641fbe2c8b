//! Percent-encoding (RFC 3986).

use std::borrow::Cow;
use std::fmt::Write;

/// Whether a URI may hold this character.
pub(super) fn is_uri(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || b"-._~:/?#[]@!$&'()*+,;=%".contains(&byte)
}

/// Undoes the escapes; in a query `+` is a space. A `%` without two hexadecimal digits
/// stays as it is. Bytes beyond ASCII become the characters of their number, which no GS1
/// value can hold, so that the value's own check refuses them.
pub(super) fn decode(text: &str, query: bool) -> Cow<'_, str> {
    let plus = query && text.contains('+');
    if !plus && !text.contains('%') {
        return Cow::Borrowed(text);
    }
    let mut decoded = String::with_capacity(text.len());
    let mut rest = text.chars();
    while let Some(c) = rest.next() {
        let escape = rest
            .as_str()
            .get(..2)
            .filter(|hex| c == '%' && hex.bytes().all(|b| b.is_ascii_hexdigit()));
        match escape.and_then(|hex| u8::from_str_radix(hex, 16).ok()) {
            Some(byte) => {
                decoded.push(char::from(byte));
                rest.nth(1);
            }
            None if c == '+' && query => decoded.push(' '),
            None => decoded.push(c),
        }
    }
    Cow::Owned(decoded)
}

/// Escapes everything but letters, digits and `-._~`; in a query a space is `+`.
pub(super) fn encode(text: &str, query: bool, into: &mut String) {
    for byte in text.bytes() {
        match byte {
            b'-' | b'.' | b'_' | b'~' | b'0'..=b'9' | b'a'..=b'z' | b'A'..=b'Z' => {
                into.push(char::from(byte))
            }
            b' ' if query => into.push('+'),
            // Writing to a String cannot fail.
            _ => drop(write!(into, "%{byte:02X}")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{decode, encode};
    use crate::reference;

    #[test]
    fn escapes_agree() {
        // GS1 reference engine, test_dl_URIunescape and test_dl_URIescape (Apache-2.0).
        for vector in reference::list("gs1_uriescape.json", "vectors") {
            let field = |key: &str| vector[key].as_str().unwrap_or_default();
            for (part, query) in [("path", false), ("query", true)] {
                let found = if field("op") == "URIunescape" {
                    decode(field("input"), query).into_owned()
                } else {
                    let mut out = String::new();
                    encode(field("input"), query, &mut out);
                    out
                };
                assert_eq!(found, field(part), "{vector}");
            }
        }
    }
}
