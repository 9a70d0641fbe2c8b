//! Sentences that stand once, with places for their values.

use std::collections::BTreeMap;
use std::fmt::Display;

/// Values by the names of their places.
pub(crate) type Values = BTreeMap<&'static str, String>;

/// Values as texts.
pub(crate) fn values(values: &[(&'static str, &dyn Display)]) -> Values {
    let values = values.iter();
    values
        .map(|(name, value)| (*name, value.to_string()))
        .collect()
}

/// A sentence with its values in the places `{name}`; `{name:day|days}` is the first word where the
/// value is 1, the second elsewhere.
pub(crate) fn filled(text: &str, values: &Values) -> String {
    // One pass over the text, so that a value with braces stays what it is.
    let mut sentence = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let (name, after) = after.split_once('}').unwrap_or((after, ""));
        sentence.push_str(before);
        let (name, words) = match name.split_once(':') {
            Some((name, words)) => (name, words.split_once('|')),
            None => (name, None),
        };
        let value = values.get(name).map_or("", String::as_str);
        sentence.push_str(match words {
            Some((one, _)) if value == "1" => one,
            Some((_, other)) => other,
            None => value,
        });
        rest = after;
    }
    sentence.push_str(rest);
    sentence
}

#[cfg(test)]
mod tests {
    use super::{filled, values};

    #[test]
    fn a_word_stands_for_one_or_for_more() {
        let said = |days: u32| {
            filled(
                "{days} {days:day is|days are} left.",
                &values(&[("days", &days)]),
            )
        };
        assert_eq!(said(1), "1 day is left.");
        assert_eq!(said(0), "0 days are left.");
        assert_eq!(said(21), "21 days are left.");
    }
}
