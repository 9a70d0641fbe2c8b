//! Letters to patients from a site's own text with named fields.

use crate::word::words;
use std::collections::BTreeMap;

words! {
    /// The language of a letter, by its code (ISO 639-1).
    Language, "language of a letter" {
        /// German.
        German = "de",
        /// English.
        English = "en",
    }
}

words! {
    /// What a letter's text may name in braces.
    LetterField, "field of a letter" {
        /// The patient's day of birth, or a hyphen.
        BornOn = "born_on",
        /// The day the letter is written.
        Date = "date",
        /// The site.
        Facility = "facility",
        /// Who recalls.
        Firm = "firm",
        /// The items that the notice hits, one a line: product, lot, serial, day and class.
        Items = "items",
        /// The patient's name.
        PatientName = "patient_name",
        /// The product in the notice's words.
        Product = "product",
        /// The reason in the notice's words.
        Reason = "reason",
        /// The day the notice came.
        ReceivedOn = "received_on",
        /// The patient's record number.
        RecordNumber = "record_number",
        /// The notice's reference number.
        Reference = "reference",
    }
}

/// Characters of a text at most.
const MOST: usize = 10_000;

const ENGLISH: &str = "{facility}

{date}

{patient_name}
Record number {record_number}

About an item that was used in your treatment

Dear {patient_name},

on {received_on} we were told by {firm} of a recall (reference {reference}):

{reason}

Our record says that these items were, or may have been, used in your treatment:

{items}

Please call us, so that your practitioner can tell you what this means for you. If you feel unwell,
do not wait for an appointment.

{facility}
";

const GERMAN: &str = "{facility}

{date}

{patient_name}
Aktennummer {record_number}

Zu einem Artikel, der bei Ihrer Behandlung verwendet wurde

Guten Tag, {patient_name},

am {received_on} teilte uns {firm} einen Rückruf mit (Aktenzeichen {reference}):

{reason}

Nach unserer Aufzeichnung wurden diese Artikel bei Ihrer Behandlung verwendet, oder es ist nicht
auszuschließen:

{items}

Bitte rufen Sie uns an, damit Ihnen Ihre Ärztin oder Ihr Arzt sagt, was das für Sie bedeutet. Wenn
es Ihnen nicht gut geht, warten Sie nicht auf einen Termin.

{facility}
";

impl Language {
    /// The service's own text, for a site to change.
    #[must_use]
    pub const fn letter(self) -> &'static str {
        match self {
            Self::English => ENGLISH,
            Self::German => GERMAN,
        }
    }
}

/// A letter's text with its fields found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Template<'a>(Vec<Piece<'a>>);

#[derive(Clone, Debug, PartialEq, Eq)]
enum Piece<'a> {
    Text(&'a str),
    Field(LetterField),
}

/// What is wrong with a letter's text.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TemplateFault {
    /// It is empty or too long.
    #[error("must have 1 to {MOST} characters")]
    Length,
    /// A control character besides line ends.
    #[error("must not hold control characters but line ends")]
    Control,
    /// A brace without its other one.
    #[error("has a brace without its other one at character {at}")]
    Brace {
        /// From 0.
        at: usize,
    },
    /// Braces around no known field.
    #[error("names the unknown field {name}; known are {}", known())]
    Unknown {
        /// What stands between the braces.
        name: String,
    },
}

fn known() -> String {
    let names = LetterField::ALL.iter().map(|field| field.as_str());
    names.collect::<Vec<_>>().join(", ")
}

impl<'a> Template<'a> {
    /// Finds the fields.
    ///
    /// # Errors
    /// [`TemplateFault`].
    pub fn read(text: &'a str) -> Result<Self, TemplateFault> {
        if !(1..=MOST).contains(&text.chars().count()) {
            return Err(TemplateFault::Length);
        }
        if text.contains(|c: char| c.is_control() && c != '\n') {
            return Err(TemplateFault::Control);
        }
        let mut pieces = Vec::new();
        let mut rest = text;
        while let Some(open) = rest.find(['{', '}']) {
            let at = text.chars().count() - rest[open..].chars().count();
            let behind = rest[open..].strip_prefix('{');
            let behind = behind.ok_or(TemplateFault::Brace { at })?;
            let (name, after) = behind.split_once('}').ok_or(TemplateFault::Brace { at })?;
            let field = name.parse().map_err(|_| TemplateFault::Unknown {
                name: name.chars().take(50).collect(),
            })?;
            pieces.push(Piece::Text(&rest[..open]));
            pieces.push(Piece::Field(field));
            rest = after;
        }
        pieces.push(Piece::Text(rest));
        Ok(Self(pieces))
    }

    /// The text with a value in the place of each field; a value is never read for fields itself,
    /// and a field without one is a hyphen.
    #[must_use]
    pub fn fill(&self, values: &BTreeMap<LetterField, String>) -> String {
        let pieces = self.0.iter().map(|piece| match piece {
            Piece::Text(text) => text,
            Piece::Field(field) => values.get(field).map_or("-", String::as_str),
        });
        pieces.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_filled_once_and_a_value_with_braces_stays_as_it_is() {
        let template = Template::read("{firm}: {reference}, {born_on}").expect("a template");
        let values = BTreeMap::from([
            (LetterField::Firm, "A {reference}".to_owned()),
            (LetterField::Reference, "F-1".to_owned()),
        ]);
        assert_eq!(template.fill(&values), "A {reference}: F-1, -");
    }

    #[test]
    fn what_is_no_field_is_refused_by_name_and_place() {
        let unknown = Template::read("Dear {patient}").expect_err("a fault");
        assert!(unknown.to_string().contains("patient;"), "{unknown}");
        assert_eq!(Template::read("é } {"), Err(TemplateFault::Brace { at: 2 }));
        assert_eq!(
            Template::read("a {firm"),
            Err(TemplateFault::Brace { at: 2 })
        );
        assert_eq!(Template::read(""), Err(TemplateFault::Length));
        assert_eq!(Template::read("a\tb"), Err(TemplateFault::Control));
    }

    #[test]
    fn the_services_own_texts_are_templates() {
        for language in Language::ALL {
            assert!(Template::read(language.letter()).is_ok());
        }
    }
}
