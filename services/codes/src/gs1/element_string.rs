//! Element strings as scanners deliver them.

use std::borrow::Cow;

use super::lint::is_set82;
use super::table::{self, Ai, Set};
use super::{add_identity, associations, check_value};
use crate::{Context, Elements, Form, Reading, Unread, UnreadCode, Warning, Warnings, wedge};

/// More elements than any label holds; it bounds the work of the pairwise checks.
const MOST_ELEMENTS: usize = 64;

/// What is known about an element string before its first element.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Start {
    /// FNC1 was written out at the start, so the separator is known too.
    Fnc1,
    /// The symbology says that element strings follow, or nothing says anything.
    Unmarked,
}

/// Reads the element string that begins at this byte.
pub(crate) fn read_element_string<'a>(
    input: &'a str,
    start: usize,
    mark: Start,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let mut reading = Reading::new(Form::Gs1ElementString);
    let splitter = Splitter::new(input, start, mark, context);
    splitter.split(&mut reading)?;
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

/// Cuts an element string into its elements.
pub(crate) struct Splitter<'a, 'c> {
    input: &'a str,
    start: usize,
    context: &'c Context,
    /// A real separator stands in the data, so the scanner sends it.
    keeps_separators: bool,
    /// Other characters may stand for the separator.
    substitutes: bool,
}

impl<'a, 'c> Splitter<'a, 'c> {
    pub(crate) fn new(input: &'a str, start: usize, mark: Start, context: &'c Context) -> Self {
        let data = &input.as_bytes()[start..];
        let keeps_separators = mark == Start::Fnc1 || data.iter().any(|b| matches!(b, 0x1D | b'^'));
        let substitutes = !keeps_separators && context.separators.outside_set();
        Self {
            input,
            start,
            context,
            keeps_separators,
            substitutes,
        }
    }

    /// Appends every element to the reading, with warnings about separators.
    pub(crate) fn split(&self, reading: &mut Reading<'a>) -> Result<(), Unread> {
        let bytes = self.input.as_bytes();
        let mut at = self.skip_separators(self.start, &mut reading.warnings);
        if at == bytes.len() {
            return Err(Unread::new(UnreadCode::Empty, at));
        }
        while at < bytes.len() {
            let ai =
                table::find(&bytes[at..]).ok_or(Unread::new(UnreadCode::UnknownElement, at))?;
            if reading.elements.len() == MOST_ELEMENTS {
                return Err(Unread::new(UnreadCode::TooManyElements, at));
            }
            let value_at = at + ai.first.len();
            let end = if ai.fixed {
                value_at + ai.width()
            } else {
                self.value_end(value_at, ai, &mut reading.warnings)
            };
            let value = self.value(value_at, end)?;
            push(
                &mut reading.elements,
                &mut reading.warnings,
                &self.input[at..value_at],
                value,
                value_at,
                ai,
                self.context,
            )?;
            at = self.skip_separators(end, &mut reading.warnings);
        }
        let replaced = reading.warnings.contains(Warning::SeparatorSubstituted);
        if !self.keeps_separators
            && !replaced
            && wedge::looks_glued(&reading.elements, self.context.date)
        {
            reading.warnings.add(Warning::SeparatorSuspect);
        }
        Ok(())
    }

    fn value(&self, start: usize, end: usize) -> Result<&'a str, Unread> {
        if end > self.input.len() {
            return Err(Unread::new(UnreadCode::WrongLength, self.input.len()));
        }
        self.input
            .get(start..end)
            .ok_or(Unread::new(UnreadCode::WrongCharacter, start))
    }

    /// Where a value of variable length ends: at a separator or at the end of the data.
    fn value_end(&self, start: usize, ai: &Ai, warnings: &mut Warnings) -> usize {
        let bytes = self.input.as_bytes();
        // The set of 39 characters has one that the set of 82 has not.
        let hash = ai.parts.iter().any(|part| part.set == Set::Set39);
        let separators = &self.context.separators;
        let none_configured = separators.configured().is_empty();
        let configured = |at: usize| {
            let rest = self.input.get(at..);
            rest.is_some_and(|rest| wedge::configured(rest, separators).is_some())
        };
        let mut at = start;
        while let Some(&byte) = bytes.get(at) {
            let own = is_set82(byte) || (hash && byte == b'#');
            let ends = if own {
                !none_configured && configured(at)
            } else {
                self.separator(at, warnings).is_some()
            };
            if ends {
                break;
            }
            at += 1;
        }
        at
    }

    fn skip_separators(&self, mut at: usize, warnings: &mut Warnings) -> usize {
        while let Some(length) = self.separator(at, warnings) {
            at += length;
        }
        at
    }

    /// The length of the separator that begins here.
    fn separator(&self, at: usize, warnings: &mut Warnings) -> Option<usize> {
        let rest = self.input.get(at..).filter(|rest| !rest.is_empty())?;
        if rest.starts_with('\u{1D}') {
            return Some(1);
        }
        if let Some(length) = wedge::configured(rest, &self.context.separators) {
            return Some(length);
        }
        let first = rest.chars().next()?;
        if first.is_ascii() && is_set82(first as u8) {
            return None;
        }
        if let Some(length) = wedge::spelt(rest) {
            if !rest.starts_with('^') || length > 1 {
                warnings.add(Warning::SeparatorSubstituted);
            }
            return Some(length);
        }
        // Between two elements such a character can be nothing but the separator, because no
        // GS1 value holds it; anywhere else it stays a wrong character.
        let length = first.len_utf8();
        if self.substitutes && first != ' ' && table::find(&rest.as_bytes()[length..]).is_some() {
            warnings.add(Warning::SeparatorSubstituted);
            return Some(length);
        }
        None
    }
}

/// Checks a value and appends it.
pub(crate) fn push<'a>(
    elements: &mut Elements<'a>,
    warnings: &mut Warnings,
    key: &'a str,
    value: impl Into<Cow<'a, str>>,
    value_at: usize,
    ai: &Ai,
    context: &Context,
) -> Result<(), Unread> {
    let value = value.into();
    if value.is_empty() {
        return Err(Unread::new(UnreadCode::EmptyElement, value_at));
    }
    let tolerated = check_value(ai, value.as_bytes(), context.check_digits)
        .map_err(|fault| Unread::new(fault.code, value_at + fault.at))?;
    if tolerated {
        warnings.add(Warning::WrongCheckDigit);
    }
    elements.push(key, value);
    Ok(())
}
