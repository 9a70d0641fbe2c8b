//! What a station is set to.

use lotwarden_codes::Separators;
use std::fmt;
use std::str::FromStr;

/// The most characters that may stand for GS.
const LONGEST: usize = 8;

/// What a station's scanner delivers for GS (ASCII 29), the separator of GS1 labels.
///
/// Its written form is `raw`, a key (`ctrl+]`, `alt+029`, `f1` to `f12`), or `text:` with 1 to 8
/// characters. GS itself and the spellings of [`Separators`] are understood at every station.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Separator {
    /// GS itself.
    #[default]
    Raw,
    /// Control and the closing bracket, which is GS on a keyboard.
    ControlBracket,
    /// The Alt key with the digits of GS; as U+2194 it is understood anyhow.
    AltDigits,
    /// A function key, from 1 to 12.
    Function(u8),
    /// Characters.
    Text(String),
}

/// A text that says nothing that can stand for GS.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoSeparator {
    /// It is none of the written forms.
    #[error("must be raw, ctrl+], alt+029, f1 to f12, or text: and 1 to 8 characters")]
    UnknownForm,
    /// Lots and serials hold such characters.
    #[error("must not be characters that a lot or serial can begin with or consist of")]
    OnLabels,
}

impl Separator {
    /// What stands for the separator in this station's readings. A key has no character of its
    /// own: its page sends GS for it, and what spells keys out writes their name in brackets
    /// (common practice, no source).
    #[must_use]
    pub fn separators(&self) -> Separators {
        let key = match self {
            Self::Raw => return Separators::default(),
            Self::Text(text) => return Separators::default().with(text.clone()),
            Self::ControlBracket => "Ctrl+]".to_owned(),
            Self::AltDigits => "Alt+029".to_owned(),
            Self::Function(number) => format!("F{number}"),
        };
        let spelt = [("{", "}"), ("[", "]"), ("<", ">")];
        spelt
            .iter()
            .fold(Separators::default(), |known, (open, close)| {
                known.with(format!("{open}{key}{close}"))
            })
    }
}

impl fmt::Display for Separator {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Raw => f.write_str("raw"),
            Self::ControlBracket => f.write_str("ctrl+]"),
            Self::AltDigits => f.write_str("alt+029"),
            Self::Function(number) => write!(f, "f{number}"),
            Self::Text(text) => write!(f, "text:{text}"),
        }
    }
}

impl FromStr for Separator {
    type Err = NoSeparator;

    fn from_str(written: &str) -> Result<Self, NoSeparator> {
        match written {
            "raw" => return Ok(Self::Raw),
            "ctrl+]" => return Ok(Self::ControlBracket),
            "alt+029" => return Ok(Self::AltDigits),
            _ => {}
        }
        if let Some(text) = written.strip_prefix("text:") {
            return characters(text).map(|text| Self::Text(text.to_owned()));
        }
        (1..=12)
            .map(Self::Function)
            .find(|key| key.to_string() == written)
            .ok_or(NoSeparator::UnknownForm)
    }
}

/// Characters that stand for the separator wherever they are, so they must not be a label's own.
fn characters(text: &str) -> Result<&str, NoSeparator> {
    let count = text.chars().count();
    if !(1..=LONGEST).contains(&count) || text.chars().any(|c| c.is_whitespace() || c.is_control())
    {
        return Err(NoSeparator::UnknownForm);
    }
    let first = text.chars().next().unwrap_or_default();
    // GS1's set of 82 characters, of which lots and serials are made (GS1 General
    // Specifications 7.11): as a single character none of it can be told from data.
    let in_set = first.is_ascii_alphanumeric() || "!\"%&'()*+,-./:;<=>?_".contains(first);
    if first.is_ascii_alphanumeric() || (count == 1 && in_set) {
        return Err(NoSeparator::OnLabels);
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use lotwarden_codes::{Context, read};

    #[test]
    fn the_written_form_is_read_back_and_others_are_refused() {
        for written in [
            "raw",
            "ctrl+]",
            "alt+029",
            "f1",
            "f12",
            "text:<GS>",
            "text:|",
        ] {
            let separator: Separator = written.parse().unwrap();
            assert_eq!(separator.to_string(), written);
        }
        for written in [
            "",
            "RAW",
            "f0",
            "f13",
            "f01",
            "text:",
            "text:a b",
            "text:123456789",
        ] {
            assert_eq!(
                written.parse::<Separator>(),
                Err(NoSeparator::UnknownForm),
                "{written:?}"
            );
        }
        for written in ["text:A", "text:-", "text:21", "text:G#"] {
            assert_eq!(
                written.parse::<Separator>(),
                Err(NoSeparator::OnLabels),
                "{written:?}"
            );
        }
    }

    #[test]
    fn a_reading_of_the_station_is_cut_where_its_separator_stands() {
        // GS1 example range 952; what scanners send instead of GS is common practice, no source.
        for (written, sent) in [
            ("raw", "\u{1d}"),
            ("ctrl+]", "\u{1d}"),
            ("ctrl+]", "{Ctrl+]}"),
            ("alt+029", "\u{2194}"),
            ("f8", "<F8>"),
            ("f8", "{F8}"),
            ("text:<GS>", "<GS>"),
            ("text:%1D", "%1D"),
            ("text:~", "~"),
        ] {
            let separator: Separator = written.parse().unwrap();
            let mut context = Context::new(jiff::civil::date(2026, 11, 29));
            context.separators = separator.separators();
            let label = format!("010952012345678810ABC{sent}21SN1");
            let reading = read(&label, &context).unwrap();
            let parts = (reading.lot.as_deref(), reading.serial.as_deref());
            assert_eq!(parts, (Some("ABC"), Some("SN1")), "{written} {sent}");
        }
    }
}
