//! Canonical JSON: RFC 8785 output under a stricter input profile.
//!
//! Objects, arrays, strings, booleans and integers only. No floats, no null, no integer beyond
//! 2^53-1 on either side (RFC 8785 would round it, so two records would share their bytes), keys of
//! `a-z`, `0-9` and `_`, sorted, each once; at most 32 levels of nesting. Strings stay as they came: no Unicode normalisation.
mod scan;

use serde::Serialize;

use crate::cursor::plain_run;
use scan::scan;

/// The largest integer that every JSON reader keeps exactly (RFC 8785 section 3.2.2.3, RFC 7493).
pub const MAX_INTEGER: u64 = (1 << 53) - 1;

/// The deepest nesting that the profile takes.
pub const MAX_DEPTH: usize = 32;

/// Why a text is not canonical JSON of the profile. It never holds a value, only keys and places.
#[derive(Debug, thiserror::Error)]
pub enum ProfileFault {
    /// A number with a fraction or an exponent.
    #[error("a number that is not an integer at byte {at}; amounts are strings")]
    Float {
        /// Byte offset in the text.
        at: usize,
    },
    /// A null; a member without a value is left out.
    #[error("a null at byte {at}; a member without a value is left out")]
    Null {
        /// Byte offset in the text.
        at: usize,
    },
    /// An integer beyond 2^53-1.
    #[error("an integer beyond 2^53-1 at byte {at}; large numbers are strings")]
    Integer {
        /// Byte offset in the text.
        at: usize,
    },
    /// A key with other characters than `a-z`, `0-9` and `_`.
    #[error("a key at byte {at} has other characters than a-z, 0-9 and _")]
    KeyForm {
        /// Byte offset in the text.
        at: usize,
    },
    /// A key that should stand before the one before it.
    #[error("the key {key} is out of order")]
    KeyOrder {
        /// The key.
        key: String,
    },
    /// A key that stands twice in one object.
    #[error("the key {key} stands twice")]
    KeyTwice {
        /// The key.
        key: String,
    },
    /// Objects and arrays nested deeper than [`MAX_DEPTH`].
    #[error("nested deeper than {MAX_DEPTH} levels at byte {at}")]
    Deep {
        /// Byte offset in the text.
        at: usize,
    },
    /// White space, an escape that RFC 8785 writes otherwise, or no JSON at all.
    #[error("not canonical JSON at byte {at}")]
    Form {
        /// Byte offset in the text.
        at: usize,
    },
    /// Something else than an object where an object is due.
    #[error("not an object")]
    NotAnObject,
    /// An action with other characters than `a-z`, `0-9` and `_`.
    #[error("an action is written with a-z, 0-9 and _ only")]
    Action,
    /// The value could not be written as JSON.
    #[error("the value cannot be written as JSON")]
    Unwritable(#[source] serde_json::Error),
}

/// Writes `value` as canonical JSON and checks the profile; its structs must declare their fields
/// in key order and leave out what is absent.
pub fn to_string(value: &(impl Serialize + ?Sized)) -> Result<String, ProfileFault> {
    write(value, MAX_DEPTH)
}

/// Writes `value`, which must be an object that can stand one level down in an entry.
pub(crate) fn object_to_string(value: &(impl Serialize + ?Sized)) -> Result<String, ProfileFault> {
    let text = write(value, MAX_DEPTH - 1)?;
    if text.starts_with('{') {
        Ok(text)
    } else {
        Err(ProfileFault::NotAnObject)
    }
}

fn write(value: &(impl Serialize + ?Sized), depth: usize) -> Result<String, ProfileFault> {
    let text = serde_json::to_string(value).map_err(ProfileFault::Unwritable)?;
    scan(text.as_bytes(), depth)?;
    Ok(text)
}

/// Checks that `text` is exactly what this crate would write for its content: well-formed,
/// canonical, within the profile. No value is built, so it stands in for writing the text anew.
pub fn check(text: &[u8]) -> Result<(), ProfileFault> {
    match std::str::from_utf8(text) {
        Ok(_) => scan(text, MAX_DEPTH),
        Err(fault) => Err(ProfileFault::Form {
            at: fault.valid_up_to(),
        }),
    }
}

/// Appends `text` as a canonical JSON string (RFC 8785 section 3.2.2.2).
pub(crate) fn write_string(out: &mut Vec<u8>, text: &str) {
    let mut rest = text.as_bytes();
    out.push(b'"');
    loop {
        let (plain, after) = rest.split_at(plain_run(rest));
        out.extend_from_slice(plain);
        let Some((special, after)) = after.split_first() else {
            break;
        };
        match special {
            b'"' => out.extend_from_slice(b"\\\""),
            b'\\' => out.extend_from_slice(b"\\\\"),
            0x08 => out.extend_from_slice(b"\\b"),
            0x09 => out.extend_from_slice(b"\\t"),
            0x0a => out.extend_from_slice(b"\\n"),
            0x0c => out.extend_from_slice(b"\\f"),
            0x0d => out.extend_from_slice(b"\\r"),
            control => out.extend_from_slice(format!("\\u{control:04x}").as_bytes()),
        }
        rest = after;
    }
    out.push(b'"');
}
