//! The answer of `lotwarden notices read`.

use super::{Expiry, Found, Proposal, Range, Reading, Span};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

impl Serialize for Reading {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let texts: Vec<_> = self.unread.iter().map(|piece| &piece.value).collect();
        let spans: Vec<_> = self.unread.iter().map(|piece| piece.span).collect();
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("proposals", &self.proposals)?;
        map.serialize_entry("unread", &texts)?;
        map.serialize_entry("unread_spans", &spans)?;
        map.end()
    }
}

impl Serialize for Proposal {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("lots", &Values(&self.lots))?;
        map.serialize_entry("serials", &Values(&self.serials))?;
        map.serialize_entry("ranges", &Values(&self.ranges))?;
        map.serialize_entry("identifiers", &Values(&self.identifiers))?;
        map.serialize_entry("catalogue_numbers", &Values(&self.catalogue_numbers))?;
        match &self.expiry {
            Some(expiry) => map.serialize_entry("expiry", &expiry.value)?,
            None => map.serialize_entry("expiry", &serde_json::Map::new())?,
        }
        map.serialize_entry("all", &self.all.is_some())?;
        map.serialize_entry("spans", &self.spans())?;
        map.end()
    }
}

/// Where a value of a list stands.
#[derive(Serialize)]
struct Place {
    field: &'static str,
    /// The place in the field's list, from 0.
    index: usize,
    at: usize,
    to: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    row: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    column: Option<usize>,
}

impl Proposal {
    fn spans(&self) -> Vec<Place> {
        let mut places = Vec::new();
        let mut add = |field, spans: &mut dyn Iterator<Item = Span>| {
            places.extend(spans.enumerate().map(|(index, span)| Place {
                field,
                index,
                at: span.at,
                to: span.to,
                row: span.cell.map(|cell| cell.row),
                column: span.cell.map(|cell| cell.column),
            }));
        };
        add("lots", &mut self.lots.iter().map(|f| f.span));
        add("serials", &mut self.serials.iter().map(|f| f.span));
        add("ranges", &mut self.ranges.iter().map(|f| f.span));
        add("identifiers", &mut self.identifiers.iter().map(|f| f.span));
        let numbers = &self.catalogue_numbers;
        add("catalogue_numbers", &mut numbers.iter().map(|f| f.span));
        add("expiry", &mut self.expiry.iter().map(|f| f.span));
        add("all", &mut self.all.iter().copied());
        places
    }
}

struct Values<'a, T>(&'a [Found<T>]);

impl<T: Serialize> Serialize for Values<'_, T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.iter().map(|found| &found.value))
    }
}

impl Serialize for Span {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        [self.at, self.to].serialize(serializer)
    }
}

impl Serialize for Expiry {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        if let Some(printed) = self.printed {
            map.serialize_entry("on", &printed.to_string())?;
        }
        map.serialize_entry("from", &self.from)?;
        map.serialize_entry("to", &self.to)?;
        map.end()
    }
}

impl Serialize for Range {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("of", &self.of())?;
        match self {
            Self::Between { from, to, .. } => {
                map.serialize_entry("from", from)?;
                map.serialize_entry("to", to)?;
            }
            Self::BeginsWith { start, .. } => map.serialize_entry("begins_with", start)?,
        }
        map.end()
    }
}
