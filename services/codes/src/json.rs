//! Readings as JSON, in the shape the command line and the service answer with.

use serde::ser::{Serialize, SerializeMap, SerializeSeq, Serializer};

use crate::{Elements, Identifier, LabelDate, Ndc, Reading, Unread, Warnings};

impl Serialize for Reading<'_> {
    /// `{form, elements, identifier, lot, serial, expires_on, manufactured_on, warnings, ...}`.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("form", self.form.as_str())?;
        map.serialize_entry("elements", &self.elements)?;
        map.serialize_entry("identifier", &self.identifier)?;
        map.serialize_entry("lot", &self.lot)?;
        map.serialize_entry("serial", &self.serial)?;
        map.serialize_entry("expires_on", &self.expires_on)?;
        map.serialize_entry("manufactured_on", &self.manufactured_on)?;
        map.serialize_entry("warnings", &self.warnings)?;
        map.serialize_entry(
            "expires_precision",
            &self.expires_on.map(|d| d.precision.as_str()),
        )?;
        map.serialize_entry("expires_at", &self.expires_on.and_then(printed_time))?;
        map.serialize_entry("quantity", &self.quantity)?;
        map.serialize_entry("link", &self.link)?;
        map.serialize_entry("ndc", &self.ndc)?;
        map.serialize_entry("symbology", &self.symbology.map(|s| s.to_string()))?;
        map.end()
    }
}

/// The printed time, with `Z` when the label's standard fixes it to UTC.
fn printed_time(date: LabelDate) -> Option<String> {
    let zone = if date.utc { "Z" } else { "" };
    date.time.map(|time| format!("{}T{time}{zone}", date.date))
}

impl Serialize for Unread {
    /// `{"error": {"code", "at", "message"}}`.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        struct Inner<'u>(&'u Unread);
        impl Serialize for Inner<'_> {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                let mut map = serializer.serialize_map(Some(3))?;
                map.serialize_entry("code", self.0.code.as_str())?;
                map.serialize_entry("at", &self.0.at)?;
                map.serialize_entry("message", &self.0.message)?;
                map.end()
            }
        }
        let mut map = serializer.serialize_map(Some(1))?;
        map.serialize_entry("error", &Inner(self))?;
        map.end()
    }
}

impl Serialize for Elements<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut list = serializer.serialize_seq(Some(self.len()))?;
        for pair in self.iter() {
            list.serialize_element(&pair)?;
        }
        list.end()
    }
}

impl Serialize for Identifier {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(2))?;
        map.serialize_entry("agency", self.agency.as_str())?;
        map.serialize_entry("code", self.code.as_str())?;
        map.end()
    }
}

impl Serialize for LabelDate {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.date)
    }
}

impl Serialize for Warnings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.iter().map(|w| w.as_str()))
    }
}

impl Serialize for Ndc {
    /// The candidates, each with hyphens; one when the code is decided.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.candidates().map(|c| c.to_string()))
    }
}
