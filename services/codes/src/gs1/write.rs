//! Element strings out of elements: for symbols and for the text printed under them.

use super::{check_value, table};
use crate::CheckDigits;

/// Why an element cannot be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unwritable {
    /// The application identifier is not assigned.
    #[error("the application identifier is not assigned")]
    UnknownElement,
    /// The value breaks its element's format or content checks.
    #[error("the value does not fit its application identifier")]
    WrongValue,
}

/// The data of a GS1 symbol: a GS after each element whose length is not predefined,
/// except the last (GS1 General Specifications 7.8). The FNC1 that marks the symbol as
/// GS1's is the encoder's to add.
///
/// # Errors
/// When an element would not be read back.
pub fn element_string<'e>(
    elements: impl IntoIterator<Item = (&'e str, &'e str)>,
) -> Result<String, Unwritable> {
    let mut text = String::new();
    let mut open = false;
    for (code, value) in elements {
        let ai = checked(code, value)?;
        if open {
            text.push('\u{1D}');
        }
        text.push_str(code);
        text.push_str(value);
        open = !ai.fixed;
    }
    Ok(text)
}

/// The human-readable text: identifiers in brackets. With `escaped`, an opening bracket
/// inside a value is written `\(`, so that the text can be read back.
///
/// # Errors
/// When an element would not be read back.
pub fn bracketed<'e>(
    elements: impl IntoIterator<Item = (&'e str, &'e str)>,
    escaped: bool,
) -> Result<String, Unwritable> {
    let mut text = String::new();
    for (code, value) in elements {
        checked(code, value)?;
        text.push('(');
        text.push_str(code);
        text.push(')');
        for c in value.chars() {
            if c == '(' && escaped {
                text.push('\\');
            }
            text.push(c);
        }
    }
    Ok(text)
}

fn checked(code: &str, value: &str) -> Result<&'static table::Ai, Unwritable> {
    let ai = table::exact(code).ok_or(Unwritable::UnknownElement)?;
    if value.is_empty() || check_value(ai, value.as_bytes(), CheckDigits::Strict).is_err() {
        return Err(Unwritable::WrongValue);
    }
    Ok(ai)
}
