//! Scans without a symbology identifier, and typed codes.

use super::read_typed;
use crate::gs1::{Start, add_gtin_facts, read_element_string};
use crate::{
    CheckDigits, Context, Form, Identifier, Ndc, Reading, Unread, UnreadCode, Warning, gtin,
};

/// Reads what announces itself, then numbers, then element strings.
pub(super) fn read_bare<'a>(
    text: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    // Code 39 prints its start and stop character as asterisks.
    if let Some(inner) = text[start..]
        .strip_prefix('*')
        .and_then(|t| t.strip_suffix('*'))
    {
        let end = start + 1 + inner.len();
        if let Some(result) = read_typed(&text[..end], start + 1, context) {
            return result;
        }
    }
    if let Some(result) = read_typed(text, start, context) {
        return result;
    }
    let data = text[start..].trim_end();
    let at = start + data.len();
    if data.bytes().all(|b| b.is_ascii_digit() || b == b'-') && data.contains('-') {
        return read_ndc(data).ok_or(Unread::new(UnreadCode::UnknownForm, start));
    }
    if !data.bytes().all(|b| b.is_ascii_digit()) {
        return read_unmarked_elements(&text[..at], start, context);
    }
    match data.len() {
        8 => read_eight(text, data, start, context),
        10 | 11 => read_ndc(data).ok_or(Unread::new(UnreadCode::UnknownForm, start)),
        12 if !gtin::check_digit_fits(data.as_bytes()) && data.starts_with('0') => {
            read_ndc(data).ok_or(Unread::new(UnreadCode::UnknownForm, start))
        }
        12..=14 => read_gtin_or_elements(text, data, start, context),
        _ => read_unmarked_elements(&text[..at], start, context),
    }
}

/// Eight digits: GTIN-8, else UPC-E.
fn read_eight<'a>(
    text: &'a str,
    data: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let upc_a = gtin::expand_upc_e(data);
    if gtin::check_digit_fits(data.as_bytes()) {
        let mut reading = gtin::read_digits(data, start, context)?;
        if upc_a.is_some() {
            reading.warnings.add(Warning::Gtin8OrUpcE);
        }
        return Ok(reading);
    }
    if let Some(upc_a) = upc_a {
        let mut reading = Reading::new(Form::Gtin);
        reading.identifier = std::str::from_utf8(&upc_a).ok().and_then(Identifier::gtin);
        add_gtin_facts(&mut reading);
        return Ok(reading);
    }
    read_gtin_or_elements(text, data, start, context)
}

/// Digits whose check digit fits are a GTIN; others may be an element string, of at least
/// two elements because any digits behind 10 or 21 are one.
fn read_gtin_or_elements<'a>(
    text: &'a str,
    data: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    if !gtin::check_digit_fits(data.as_bytes()) {
        let strict = Context {
            check_digits: CheckDigits::Strict,
            ..context.clone()
        };
        if let Ok(reading) = read_unmarked_elements(&text[..start + data.len()], start, &strict)
            && reading.elements.len() > 1
        {
            return Ok(reading);
        }
    }
    gtin::read_digits(data, start, context)
}

fn read_ndc(data: &str) -> Option<Reading<'_>> {
    let ndc = Ndc::parse(data).ok()?;
    let mut reading = Reading::new(Form::Ndc);
    reading.identifier = ndc.identifier();
    if reading.identifier.is_none() {
        reading.warnings.add(Warning::NdcAmbiguous);
    }
    reading.ndc = Some(ndc);
    Some(reading)
}

/// An element string of which nothing says that it is one. Company-internal elements (90
/// to 99) are not believed in that position, because any digits starting with 9 would
/// pass for them.
fn read_unmarked_elements<'a>(
    text: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let bytes = &text.as_bytes()[start..];
    if bytes.first() == Some(&b'9') || crate::gs1::table::find(bytes).is_none() {
        return Err(Unread::new(UnreadCode::UnknownForm, start));
    }
    read_element_string(text, start, Start::Unmarked, context)
}
