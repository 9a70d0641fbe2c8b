//! Which form a scan has.

mod bare;

use crate::gs1::{Start, digital_link, read_bracketed, read_element_string};
use crate::repair::read_repaired;
use crate::symbology::Carries;
use crate::{
    Context, Form, Reading, Symbology, Unread, UnreadCode, gtin, hibc, ifa, isbt128, wedge,
};

/// The longest input looked at; no symbol holds more (QR Code: 7,089 digits).
const LONGEST: usize = 8 * 1024;

/// Reads one label as a scanner or a typing person delivered it.
///
/// A symbology identifier decides first, then the leading characters: `^` or GS, `(`, `+`,
/// `=` or `&`, `[)>`, `http`; bare digits are a GTIN when their check digit fits. What is
/// unreadable or plain text as it stands is tried with caps lock, keyboard layout and
/// full-ASCII mode undone.
///
/// # Errors
/// When the characters are no label, with the position and a sentence for a person.
pub fn read<'a>(input: &'a str, context: &Context) -> Result<Reading<'a>, Unread> {
    let again =
        |text: &str, context: &Context| read_as_sent(text, context).ok().map(Reading::into_owned);
    match read_as_sent(input, context) {
        Ok(reading) if reading.form != Form::Plain => Ok(reading),
        plain_or_unread => read_repaired(input, context, again).map_or(plain_or_unread, Ok),
    }
}

fn read_as_sent<'a>(input: &'a str, context: &Context) -> Result<Reading<'a>, Unread> {
    if input.len() > LONGEST {
        return Err(Unread::new(UnreadCode::TooLong, LONGEST));
    }
    let text = input.trim_end_matches(is_noise);
    let start = text.len() - text.trim_start_matches(|c| is_noise(c) || c == ' ').len();
    if start == text.len() {
        return Err(Unread::new(UnreadCode::Empty, start));
    }
    if !text[start..].starts_with(']') {
        return bare::read_bare(text, start, context);
    }
    let symbology =
        Symbology::parse(&text[start..]).ok_or(Unread::new(UnreadCode::UnknownSymbology, start))?;
    let mut reading = read_symbol(text, start + 3, symbology, context)?;
    reading.symbology = Some(symbology);
    Ok(reading)
}

/// Line ends and transmission frames that scanners put around the data.
fn is_noise(c: char) -> bool {
    matches!(c, '\r' | '\n' | '\t' | '\0' | '\u{2}' | '\u{3}')
}

fn read_symbol<'a>(
    text: &'a str,
    data: usize,
    symbology: Symbology,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    match symbology.carries() {
        Carries::Elements => read_element_string(text, data, Start::Unmarked, context),
        Carries::Gtin13 => gtin::read_symbol(text, data, 13, context),
        Carries::Gtin8 => gtin::read_symbol(text, data, 8, context),
        Carries::Itf if text.len() - data == 14 => gtin::read_symbol(text, data, 14, context),
        Carries::Itf | Carries::Text => match read_marked(text, data, context) {
            Some(result) => result,
            None => Ok(Reading::new(Form::Plain)),
        },
    }
}

/// Reads the forms that announce themselves by their first characters.
fn read_marked<'a>(
    text: &'a str,
    start: usize,
    context: &Context,
) -> Option<Result<Reading<'a>, Unread>> {
    let data = &text[start..];
    if data.starts_with('+') {
        return Some(hibc::read_hibc(text, start, context));
    }
    if data.starts_with('=') || data.starts_with('&') {
        return Some(isbt128::read_isbt128(text, start));
    }
    if data.starts_with(ifa::HEADER) {
        return Some(ifa::read_message(text, start, context));
    }
    if digital_link::is_web_address(data) {
        return Some(digital_link::read_digital_link(text, start, context));
    }
    None
}

fn read_typed<'a>(
    text: &'a str,
    start: usize,
    context: &Context,
) -> Option<Result<Reading<'a>, Unread>> {
    let data = &text[start..];
    if data.starts_with('\u{1D}') || wedge::spelt(data).is_some() {
        return Some(read_element_string(text, start, Start::Fnc1, context));
    }
    if data.starts_with('(') {
        return Some(read_bracketed(text, start, context));
    }
    read_marked(text, start, context)
}
