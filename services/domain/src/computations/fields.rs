//! Reads the fields of an object and keeps every fault.

use serde_json::{Map, Value};

use super::fault::{Fault, FaultCode, Faults};
use super::parse::Wrong;

/// A name that a caller gave, where it can be that of a field; `?` for any other, which may be a
/// person's and is not repeated.
#[must_use]
pub fn shown(name: &str) -> &str {
    let letters = |b: u8| b.is_ascii_lowercase() || b == b'_';
    let field = (1..=40).contains(&name.len()) && name.bytes().all(letters);
    if field { name } else { "?" }
}

/// An object that is being read. What was not asked for when it is finished is unknown.
pub struct Fields<'a> {
    object: &'a Map<String, Value>,
    path: String,
    known: Vec<&'static str>,
    faults: Vec<Fault>,
}

impl<'a> Fields<'a> {
    /// Begins to read an object at a path; empty for the outermost.
    pub fn of(value: &'a Value, path: &str) -> Result<Self, Faults> {
        match value {
            Value::Object(object) => Ok(Self {
                object,
                path: path.to_owned(),
                known: Vec::new(),
                faults: Vec::new(),
            }),
            _ => Err(Faults(vec![Fault {
                code: FaultCode::NotAnObject,
                field: path.to_owned(),
                message: "give a JSON object with named fields".to_owned(),
            }])),
        }
    }

    /// Whether a field is given; null counts as not given.
    pub fn has(&self, name: &str) -> bool {
        self.object.get(name).is_some_and(|value| !value.is_null())
    }

    /// The value of a field that may be left out; none also where it is faulty.
    pub fn optional<T>(
        &mut self,
        name: &'static str,
        parse: impl Fn(&Value) -> Result<T, Wrong>,
    ) -> Option<T> {
        self.known.push(name);
        let value = self.object.get(name).filter(|value| !value.is_null())?;
        parse(value)
            .map_err(|wrong| self.fault(wrong.code, name, wrong.message))
            .ok()
    }

    /// The value of a field that is needed; none where it is missing or faulty.
    pub fn needed<T>(
        &mut self,
        name: &'static str,
        parse: impl Fn(&Value) -> Result<T, Wrong>,
    ) -> Option<T> {
        if !self.has(name) {
            self.known.push(name);
            self.fault(
                FaultCode::Missing,
                name,
                "is missing; it is never taken as zero",
            );
            return None;
        }
        self.optional(name, parse)
    }

    /// The objects of a list that may be left out, each with its path.
    pub fn list(&mut self, name: &'static str) -> Option<Vec<(&'a Value, String)>> {
        self.known.push(name);
        let value = self.object.get(name).filter(|value| !value.is_null())?;
        match value.as_array() {
            Some(items) if !items.is_empty() => Some(
                items
                    .iter()
                    .enumerate()
                    .map(|(index, item)| (item, self.at(&format!("{name}[{index}]"))))
                    .collect(),
            ),
            _ => {
                self.fault(
                    FaultCode::NotAList,
                    name,
                    "give a list of at least one object",
                );
                None
            }
        }
    }

    /// Notes a fault of a field of this object.
    pub fn fault(&mut self, code: FaultCode, name: &str, message: impl Into<String>) {
        let field = self.at(name);
        self.faults.push(Fault {
            code,
            field,
            message: message.into(),
        });
    }

    /// Takes over what another object's reading came to.
    pub fn take<T>(&mut self, read: Result<T, Faults>) -> Option<T> {
        read.map_err(|faults| self.faults.extend(faults.0)).ok()
    }

    /// The path of a field of this object.
    fn at(&self, name: &str) -> String {
        if self.path.is_empty() {
            name.to_owned()
        } else {
            format!("{}.{name}", self.path)
        }
    }

    /// Ends the reading with what was read; none stands for a faulty or missing field.
    pub fn finish<T>(mut self, read: Option<T>) -> Result<T, Faults> {
        let unknown: Vec<_> = self
            .object
            .keys()
            .filter(|name| !self.known.contains(&name.as_str()))
            .cloned()
            .collect();
        let message = format!(
            "is not known here; the fields are {}",
            self.known.join(", ")
        );
        for name in unknown {
            self.fault(FaultCode::UnknownField, shown(&name), message.clone());
        }
        match read {
            Some(read) if self.faults.is_empty() => Ok(read),
            _ => Err(Faults(self.faults)),
        }
    }
}
