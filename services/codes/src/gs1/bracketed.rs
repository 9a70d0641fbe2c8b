//! Element strings as printed: `(01)...(10)...`.

use std::borrow::Cow;

use super::element_string::push;
use super::{add_identity, associations, table};
use crate::{Context, Form, Reading, Unread, UnreadCode};

/// Reads bracketed text; `\(` inside a value stands for an opening bracket.
pub(crate) fn read_bracketed<'a>(
    input: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let mut reading = Reading::new(Form::Gs1Bracketed);
    let mut at = start;
    while at < input.len() {
        if !input[at..].starts_with('(') {
            return Err(Unread::new(UnreadCode::WrongStructure, at));
        }
        let key_at = at + 1;
        let key_end = input[key_at..].find(')').map(|length| key_at + length);
        let key_end = key_end.ok_or(Unread::new(UnreadCode::WrongStructure, at))?;
        let key = &input[key_at..key_end];
        let ai = table::exact(key).ok_or(Unread::new(UnreadCode::UnknownElement, key_at))?;
        if reading.elements.len() == 64 {
            return Err(Unread::new(UnreadCode::TooManyElements, at));
        }
        let value_at = key_end + 1;
        let (value, end) = value(input, value_at);
        push(
            &mut reading.elements,
            &mut reading.warnings,
            key,
            value,
            value_at,
            ai,
            context,
        )?;
        at = end;
    }
    associations::check(
        input,
        &reading.elements,
        false,
        context.associations,
        &mut reading.warnings,
    )?;
    add_identity(input, &mut reading, context)?;
    Ok(reading)
}

/// The value up to the next bracket that is not escaped.
fn value(input: &str, start: usize) -> (Cow<'_, str>, usize) {
    let rest = &input[start..];
    let mut escaped = false;
    let mut end = rest.len();
    for (at, _) in rest.match_indices('(') {
        if !rest[..at].ends_with('\\') {
            end = at;
            break;
        }
        escaped = true;
    }
    let raw = &rest[..end];
    let value = if escaped {
        Cow::Owned(raw.replace("\\(", "("))
    } else {
        Cow::Borrowed(raw)
    };
    (value, start + end)
}
