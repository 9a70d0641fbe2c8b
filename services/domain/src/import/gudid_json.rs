//! Device records as JSON: one a line, an array, or the `results` of an openFDA answer.

use super::device::{Device, DeviceIdentifier};
use super::lines::{Counted, Line, first_character};
use super::record::{Problem, RecordFault, fault};
use super::{FileFault, Take};
use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};
use std::fmt;
use std::io::BufRead;
use std::ops::ControlFlow;

/// Reads records until the end of the file.
pub(super) fn read(mut reader: impl BufRead, take: Take<'_>) -> Result<(), FileFault> {
    let first = reader.fill_buf()?;
    if first.starts_with(b"\xef\xbb\xbf") {
        reader.consume(3);
    }
    if is_document(reader.fill_buf()?) {
        read_document(reader, take)
    } else {
        read_lines(reader, take)
    }
}

/// An array, an object that runs over several lines, or openFDA's envelope.
fn is_document(first: &[u8]) -> bool {
    if first_character(first) == Some(b'[') {
        return true;
    }
    let inside = first
        .iter()
        .position(|b| *b == b'{')
        .map_or(first, |at| &first[at + 1..]);
    let line_ends = inside
        .iter()
        .find(|b| !matches!(b, b' ' | b'\t' | b'\r'))
        .is_some_and(|b| *b == b'\n');
    let inside = inside.trim_ascii_start();
    line_ends || inside.starts_with(b"\"meta\"") || inside.starts_with(b"\"results\"")
}

fn read_lines(mut reader: impl BufRead, take: Take<'_>) -> Result<(), FileFault> {
    let mut text = Vec::new();
    let mut line = 0;
    while reader.read_until(b'\n', &mut text)? > 0 {
        line += 1;
        if !text.trim_ascii().is_empty() {
            let record = serde_json::from_slice(&text)
                .map_err(|_| fault(line, "record", Problem::Malformed("JSON object")))
                .and_then(|map| device(line, &map)?.record(line));
            if take(record).is_break() {
                return Ok(());
            }
        }
        text.clear();
    }
    Ok(())
}

fn read_document(reader: impl BufRead, take: Take<'_>) -> Result<(), FileFault> {
    let (reader, line) = Counted::new(reader);
    let mut stopped = false;
    let document = Document {
        take,
        line,
        stopped: &mut stopped,
    };
    let mut source = serde_json::Deserializer::from_reader(reader);
    match document.deserialize(&mut source) {
        Err(_) if stopped => Ok(()),
        Err(error) if error.is_io() => Err(FileFault::Io(error.into())),
        Err(error) => Err(FileFault::Broken {
            form: "JSON",
            line: error.line() as u64,
        }),
        Ok(()) => source.end().map_err(|error| FileFault::Broken {
            form: "JSON",
            line: error.line() as u64,
        }),
    }
}

/// Hands on each record as it is read, so that a file of any length takes little memory.
struct Document<'a, 'b> {
    take: Take<'a>,
    line: Line,
    stopped: &'b mut bool,
}

impl<'de> DeserializeSeed<'de> for Document<'_, '_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Document<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an array of device records, or an object with the member results")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut records: A) -> Result<(), A::Error> {
        while let Some(record) = records.next_element::<Value>()? {
            let line = self.line.number();
            let record = match &record {
                Value::Object(map) => device(line, map).and_then(|device| device.record(line)),
                _ => Err(fault(line, "record", Problem::Malformed("JSON object"))),
            };
            if let ControlFlow::Break(()) = (self.take)(record) {
                *self.stopped = true;
                return Err(A::Error::custom("no more records are wanted"));
            }
        }
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut members: A) -> Result<(), A::Error> {
        let Self {
            take,
            line,
            stopped,
        } = self;
        let mut found = false;
        while let Some(name) = members.next_key::<String>()? {
            if name == "results" {
                found = true;
                members.next_value_seed(Document {
                    take: &mut *take,
                    line: line.clone(),
                    stopped: &mut *stopped,
                })?;
            } else {
                members.next_value::<IgnoredAny>()?;
            }
        }
        if found {
            Ok(())
        } else {
            Err(A::Error::missing_field("results"))
        }
    }
}

/// The record of a JSON object; the short member names are those of a compact extract, the long
/// ones openFDA's.
fn device(line: u64, map: &Map<String, Value>) -> Result<Device, RecordFault> {
    let fields = Fields { line, map };
    Ok(Device {
        brand_name: fields.text("brandName", &["brand", "brand_name"])?,
        version_model_number: fields
            .text("versionModelNumber", &["model", "version_or_model_number"])?,
        catalog_number: fields.text("catalogNumber", &["catalog", "catalog_number"])?,
        company_name: fields.text("companyName", &["company", "company_name"])?,
        device_description: fields.text("deviceDescription", &["desc", "device_description"])?,
        device_count: fields.text("deviceCount", &["count", "device_count_in_base_package"])?,
        version_status: fields.text("publicVersionStatus", &["public_version_status"])?,
        single_use: fields.flag("singleUse", &["su", "is_single_use"])?,
        lot_batch: fields.flag("lotBatch", &["lot", "has_lot_or_batch_number"])?,
        serial_number: fields.flag("serialNumber", &["serial", "has_serial_number"])?,
        expiration_date: fields.flag("expirationDate", &["exp", "has_expiration_date"])?,
        identifiers: fields.identifiers()?,
    })
}

struct Fields<'a> {
    line: u64,
    map: &'a Map<String, Value>,
}

impl Fields<'_> {
    fn value(&self, names: &[&str]) -> Option<&Value> {
        let mut values = names.iter().filter_map(|name| self.map.get(*name));
        values.find(|value| !value.is_null())
    }

    fn text(&self, field: &'static str, names: &[&str]) -> Result<String, RecordFault> {
        match self.value(names) {
            None => Ok(String::new()),
            Some(value) => {
                as_text(value).ok_or(fault(self.line, field, Problem::Malformed("text")))
            }
        }
    }

    fn flag(&self, field: &'static str, names: &[&str]) -> Result<bool, RecordFault> {
        match self.value(names) {
            None => Ok(false),
            Some(Value::Bool(flag)) => Ok(*flag),
            Some(Value::String(text)) if text == "true" => Ok(true),
            Some(Value::String(text)) if text == "false" || text.is_empty() => Ok(false),
            Some(_) => Err(fault(self.line, field, Problem::NotAFlag)),
        }
    }

    fn identifiers(&self) -> Result<Vec<DeviceIdentifier>, RecordFault> {
        let malformed = || {
            fault(
                self.line,
                "identifiers",
                Problem::Malformed("list of identifiers"),
            )
        };
        let Some(value) = self.value(&["ids", "identifiers"]) else {
            return Ok(Vec::new());
        };
        let all = value.as_array().ok_or_else(malformed)?.iter();
        all.map(|value| identifier(value).ok_or_else(malformed))
            .collect()
    }
}

/// `[code, type, agency, contained code, quantity, ...]`, or an object of openFDA.
fn identifier(value: &Value) -> Option<DeviceIdentifier> {
    let texts: [Option<&Value>; 5] = match value {
        Value::Array(parts) => std::array::from_fn(|at| parts.get(at)),
        // openFDA calls GUDID's containsDINumber unit_of_use_id.
        Value::Object(map) => [
            "id",
            "type",
            "issuing_agency",
            "unit_of_use_id",
            "quantity_per_package",
        ]
        .map(|name| map.get(name)),
        _ => return None,
    };
    let text = |at: usize| match texts.get(at).copied().flatten() {
        None | Some(Value::Null) => Some(String::new()),
        Some(value) => as_text(value),
    };
    Some(DeviceIdentifier {
        device_id: text(0)?,
        kind: text(1)?,
        agency: text(2)?,
        contains: text(3)?,
        quantity: text(4)?,
    })
}

fn as_text(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    }
}
