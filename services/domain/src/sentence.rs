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

/// A sentence with its values in the places `{name}`.
pub(crate) fn filled(text: &str, values: &Values) -> String {
    // One pass over the text, so that a value with braces stays what it is.
    let mut sentence = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let (name, after) = after.split_once('}').unwrap_or((after, ""));
        sentence.push_str(before);
        sentence.push_str(values.get(name).map_or("", String::as_str));
        rest = after;
    }
    sentence.push_str(rest);
    sentence
}
