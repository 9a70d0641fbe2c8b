//! Members of a JSON record.

use super::record::{Problem, RecordFault, fault};
use serde_json::{Map, Value};

/// A record's members by name.
pub(super) struct Fields<'a> {
    /// The line the record ends on, from 1.
    pub(super) line: u64,
    pub(super) map: &'a Map<String, Value>,
}

impl Fields<'_> {
    /// The first member of these names that is there and not null.
    pub(super) fn value(&self, names: &[&str]) -> Option<&Value> {
        let mut values = names.iter().filter_map(|name| self.map.get(*name));
        values.find(|value| !value.is_null())
    }

    /// A text or number; empty when it is not there.
    pub(super) fn text(&self, field: &'static str, names: &[&str]) -> Result<String, RecordFault> {
        match self.value(names) {
            None => Ok(String::new()),
            Some(value) => {
                as_text(value).ok_or(fault(self.line, field, Problem::Malformed("text")))
            }
        }
    }

    /// A yes or no; no when it is not there.
    pub(super) fn flag(&self, field: &'static str, names: &[&str]) -> Result<bool, RecordFault> {
        match self.value(names) {
            None => Ok(false),
            Some(Value::Bool(flag)) => Ok(*flag),
            Some(Value::String(text)) if text == "true" => Ok(true),
            Some(Value::String(text)) if text == "false" || text.is_empty() => Ok(false),
            Some(_) => Err(fault(self.line, field, Problem::NotAFlag)),
        }
    }
}

/// A text, or a number as it is written.
pub(super) fn as_text(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    }
}
