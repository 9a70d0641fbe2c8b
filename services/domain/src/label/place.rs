//! A place's own label: its id as the 39 decimal digits of its 128 bits in AI 91, which GS1 leaves
//! to each company (GS1 General Specifications 3.9.11).

use super::Circumstances;
use lotwarden_codes::Reading;
use std::borrow::Cow;
use uuid::Uuid;

const AI: &str = "91";
const DIGITS: usize = 39;

/// The element that names a place.
#[must_use]
pub fn element(place: Uuid) -> (String, String) {
    (AI.to_owned(), format!("{:0DIGITS$}", place.as_u128()))
}

/// The characters of a reading, with FNC1 put before those of a place's label that came without a
/// symbology identifier: the reader takes no bare digits that begin with 9 for elements, and 41 of
/// them are no other label.
#[must_use]
pub fn marked(text: &str) -> Cow<'_, str> {
    let digits = text.trim();
    match digits.strip_prefix(AI).and_then(id) {
        Some(_) => Cow::Owned(format!("^{digits}")),
        None => Cow::Borrowed(text),
    }
}

/// The place that a reading names; whether it exists is not known.
#[must_use]
pub fn named(reading: &Reading<'_>) -> Option<Uuid> {
    reading.elements.get(AI).and_then(id)
}

/// The place that a label names; none for any other label.
#[must_use]
pub fn read(text: &str, circumstances: Circumstances) -> Option<Uuid> {
    let text = marked(text);
    let reading = lotwarden_codes::read(&text, &circumstances.context()).ok();
    reading.as_ref().and_then(named)
}

fn id(digits: &str) -> Option<Uuid> {
    let whole = digits.len() == DIGITS && digits.bytes().all(|b| b.is_ascii_digit());
    let number = whole.then(|| digits.parse().ok()).flatten();
    number.map(Uuid::from_u128)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_place_is_read_back_from_its_label_in_every_form() {
        for place in [Uuid::nil(), Uuid::max(), Uuid::from_u128(7 << 100)] {
            let (key, digits) = element(place);
            for text in [
                format!("]d2{key}{digits}"),
                format!("]C1{key}{digits}\r\n"),
                format!("({key}){digits}"),
                format!("^{key}{digits}"),
                format!("{key}{digits}\r\n"),
            ] {
                let read = read(&text, Circumstances::on(date(2026, 11, 29)));
                assert_eq!(read, Some(place), "{text:?}");
            }
        }
    }

    #[test]
    fn other_labels_name_no_place() {
        // More than 128 bits, other company-internal numbers, a device label.
        for text in [
            format!("]d291{}", "9".repeat(39)),
            "]d291SHELF-3".to_owned(),
            format!("]d290{}", "0".repeat(39)),
            "(01)09520123456788".to_owned(),
        ] {
            let read = read(&text, Circumstances::on(date(2026, 11, 29)));
            assert_eq!(read, None, "{text}");
        }
    }
}
