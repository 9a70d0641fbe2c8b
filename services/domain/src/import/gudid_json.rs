//! Device records as JSON.

use super::device::{Device, DeviceIdentifier};
use super::json_fields::{Fields, as_text};
use super::json_objects;
use super::record::{Problem, RecordFault, fault};
use super::{FileFault, Take};
use serde_json::{Map, Value};
use std::io::BufRead;

/// Reads records until the end of the file.
pub(super) fn read(reader: impl BufRead, take: Take<'_>) -> Result<(), FileFault> {
    json_objects::read(reader, &["results"], &mut |line, map| {
        let map = map.ok_or(fault(line, "record", Problem::Malformed("JSON object")));
        take(map.and_then(|map| device(line, map)?.record(line)))
    })
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
        identifiers: identifiers(&fields)?,
    })
}

/// The identifiers of a record.
fn identifiers(fields: &Fields<'_>) -> Result<Vec<DeviceIdentifier>, RecordFault> {
    let malformed = || {
        fault(
            fields.line,
            "identifiers",
            Problem::Malformed("list of identifiers"),
        )
    };
    let Some(value) = fields.value(&["ids", "identifiers"]) else {
        return Ok(Vec::new());
    };
    let all = value.as_array().ok_or_else(malformed)?.iter();
    all.map(|value| identifier(value).ok_or_else(malformed))
        .collect()
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
