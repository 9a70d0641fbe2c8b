//! Scans that went through caps lock or another keyboard layout.

mod layouts;

use crate::{Context, Form, Reading, Warning, Warnings};

/// Undoes one kind of damage, or nothing when the text cannot have it.
type Undo = fn(&str) -> Option<String>;

/// Reads an unreadable scan as if letters' case had been swapped, or keys had been typed
/// on a layout other than the scanner's. Only a reading whose product number carries a
/// right check digit or character is believed, so that nothing is guessed.
pub(crate) fn read_repaired(
    input: &str,
    context: &Context,
    read: impl Fn(&str, &Context) -> Option<Reading<'static>>,
) -> Option<Reading<'static>> {
    let attempts: [(Undo, Warning); 4] = [
        (swap_case, Warning::CaseSwapped),
        (split_full_ascii, Warning::FullAsciiUndone),
        (layouts::german, Warning::LayoutRepaired),
        (layouts::french, Warning::LayoutRepaired),
    ];
    attempts.into_iter().find_map(|(undo, warning)| {
        let text = undo(input).filter(|text| text != input)?;
        let mut reading = read(&text, context).filter(is_certain)?;
        reading.warnings.add(warning);
        Some(reading)
    })
}

/// Whether a right check digit or character vouches for the product number.
fn is_certain(reading: &Reading<'_>) -> bool {
    let checked = !matches!(
        reading.form,
        Form::Isbt128 | Form::Ndc | Form::Plain | Form::HibcSecondary
    );
    let tolerated = Warnings::contains(reading.warnings, Warning::WrongCheckDigit);
    checked && !tolerated && reading.identifier.is_some()
}

/// Code 39 in full-ASCII mode turns `+A` into `a`; a primary HIBC label begins so. Further
/// on the mode merges slashes too, which cannot be undone.
fn split_full_ascii(text: &str) -> Option<String> {
    let data = if text.starts_with("]A") { 3 } else { 0 };
    let (symbology, label) = text.split_at_checked(data)?;
    let first = label.chars().next().filter(char::is_ascii_lowercase)?;
    Some(format!(
        "{symbology}+{}{}",
        first.to_ascii_uppercase(),
        &label[1..]
    ))
}

fn swap_case(text: &str) -> Option<String> {
    text.bytes().any(|b| b.is_ascii_lowercase()).then(|| {
        let swap = |c: char| {
            if c.is_ascii_lowercase() {
                c.to_ascii_uppercase()
            } else {
                c.to_ascii_lowercase()
            }
        };
        text.chars().map(swap).collect()
    })
}
