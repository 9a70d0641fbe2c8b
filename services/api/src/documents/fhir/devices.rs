//! Devices with their UDI, and their use.

use super::reference;
use crate::documents::sections::was_used;
use lotwarden_domain::cases::Disposition;
use lotwarden_store::documents::{CaseFile, Item};
use lotwarden_store::moment::instant_text;
use serde_json::{Value, json};

/// The issuer of a device identifier (FHIR R4, Device.udiCarrier.issuer; from memory). NDC and IFA
/// codes are no UDI.
fn issuer(agency: &str) -> Option<&'static str> {
    match agency {
        "gs1" => Some("http://hl7.org/fhir/NamingSystem/gs1-di"),
        "hibcc" => Some("http://hl7.org/fhir/NamingSystem/hibcc"),
        "iccbba" => Some("http://hl7.org/fhir/NamingSystem/iccbba-other"),
        _ => None,
    }
}

pub(super) fn device(file: &CaseFile, item: &Item) -> Value {
    let description = &item.product.description;
    let mut resource = json!({
        "resourceType": "Device",
        "deviceName": [{"name": description.name, "type": "user-friendly-name"}],
        "type": {"text": description.kind},
        "owner": reference(file.facility.0),
    });
    if was_used(item) {
        resource["patient"] = reference(file.recorded.case.patient);
    }
    if let Some(code) = &item.code {
        let mut carrier = json!({"deviceIdentifier": code.code});
        if let Some(issuer) = issuer(code.agency) {
            carrier["issuer"] = json!(issuer);
            carrier["jurisdiction"] = json!("http://hl7.org/fhir/NamingSystem/fda-udi");
        }
        // A scanner that names its symbology read a symbol; otherwise nobody knows.
        let scanned = item.scan.symbology.is_some();
        carrier["entryType"] = json!(if scanned { "barcode" } else { "unknown" });
        resource["udiCarrier"] = json!([carrier]);
    }
    for (member, text) in [
        ("manufacturer", &description.maker),
        ("modelNumber", &description.model),
    ] {
        if !text.is_empty() {
            resource[member] = json!(text);
        }
    }
    if let Some((_, number, expires_on)) = &item.scan.lot {
        if let Some(number) = number {
            resource["lotNumber"] = json!(number);
        }
        if let Some(day) = expires_on {
            resource["expirationDate"] = json!(day);
        }
    }
    if let Some((_, serial)) = &item.scan.unit {
        resource["serialNumber"] = json!(serial);
    }
    if let Some(day) = item.manufactured_on {
        resource["manufactureDate"] = json!(day);
    }
    resource
}

/// The use of a device on the patient; none when it was wasted, returned or not used.
pub(super) fn statement(file: &CaseFile, item: &Item) -> Option<Value> {
    let piece = item.scan.on_case.as_ref().filter(|_| was_used(item))?;
    let case = &file.recorded.case;
    let mut resource = json!({
        "resourceType": "DeviceUseStatement",
        "status": if case.ended_at.is_some() { "completed" } else { "active" },
        "subject": reference(case.patient),
        "timingDateTime": instant_text(piece.taken_at),
        "device": reference(item.scan.id),
        "derivedFrom": [reference(case.id)],
    });
    if !item.zones.is_empty() {
        resource["bodySite"] = json!({"text": crate::documents::sections::zones(item)});
    }
    if piece.disposition == Disposition::Failed {
        let why = piece.reason.as_deref().unwrap_or("no reason recorded");
        resource["note"] = json!([{"text": format!("Failed in use: {why}")}]);
    }
    Some(resource)
}
