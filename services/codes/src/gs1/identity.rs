//! What an item's GS1 elements say about it.

use super::associations::position_in;
use super::dates;
use crate::label_date::short;
use crate::{Context, Identifier, Ndc, Precision, Reading, Unread, UnreadCode, Warning};

/// Fills the reading's identity from its elements.
///
/// A product is named by 01, 03 or 8006. Contents of a larger unit (02), assets (8003,
/// 8004), places and people (414, 417, 8017, 8018) are not products of their own.
pub(crate) fn add_identity(
    input: &str,
    reading: &mut Reading<'_>,
    context: &Context,
) -> Result<(), Unread> {
    let today = context.date;
    let mut made_at = None;
    let mut expires_at = None;
    for index in 0..reading.elements.len() {
        let element = &reading.elements.as_slice()[index];
        let (key, value) = (element.key.as_ref(), element.value.as_ref());
        let dated = |found: Option<_>| {
            found.ok_or(Unread::new(
                UnreadCode::ImpossibleDate,
                position_in(input, key) + key.len(),
            ))
        };
        match key {
            "01" => reading.identifier = Identifier::gtin(value),
            "03" if reading.identifier.is_none() => reading.identifier = Identifier::gtin(value),
            "8006" if reading.identifier.is_none() => {
                reading.identifier = value.get(..14).and_then(Identifier::gtin);
            }
            "11" => reading.manufactured_on = Some(dated(short(value.as_bytes(), today))?),
            "17" => reading.expires_on = Some(dated(short(value.as_bytes(), today))?),
            "7003" => expires_at = Some(dated(dates::instant(value, today))?),
            "8008" => made_at = Some(dated(dates::instant(value, today))?),
            "30" | "37" => reading.quantity = value.parse().ok(),
            "715" => reading.ndc = Ndc::parse(value).ok(),
            _ => {}
        }
    }
    reading.lot = reading.elements.cloned("10");
    reading.serial = reading.elements.cloned("21");
    // The printed time is the finer statement of the same date.
    reading.expires_on = expires_at.or(reading.expires_on);
    reading.manufactured_on = reading.manufactured_on.or(made_at);
    let month_only =
        |date: Option<crate::LabelDate>| date.is_some_and(|d| d.precision == Precision::Month);
    if month_only(reading.expires_on) || month_only(reading.manufactured_on) {
        reading.warnings.add(Warning::DayNotOnLabel);
    }
    add_gtin_facts(reading);
    Ok(())
}

/// The NDC inside the GTIN, and whether the number is for in-house use.
pub(crate) fn add_gtin_facts(reading: &mut Reading<'_>) {
    let Some(identifier) = reading.identifier else {
        return;
    };
    let code = identifier.code.as_str();
    if reading.ndc.is_none() {
        reading.ndc = Ndc::in_gtin(code);
    }
    if is_restricted(code) {
        reading.warnings.add(Warning::RestrictedNumber);
    }
}

/// Whether a 14-digit GTIN lies in a range for restricted circulation: GTIN-13 prefixes
/// 02, 04 and 20 to 29, GTIN-8 prefixes 0 and 2 (GS1 General Specifications 1.4).
fn is_restricted(gtin14: &str) -> bool {
    match gtin14.as_bytes() {
        [b'0', b'0', b'0', b'0', b'0', b'0', first, ..] => matches!(first, b'0' | b'2'),
        [_, b'0', b'2' | b'4', ..] | [_, b'2', ..] => true,
        _ => false,
    }
}
