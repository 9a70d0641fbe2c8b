//! A case as a Bundle of HL7 FHIR R4 (4.0.1): Procedure, Device, DeviceUseStatement,
//! MedicationAdministration, Patient, Practitioner, Organization and Provenance.

mod devices;
mod medications;
mod provenance;

use crate::documents::energy;
use crate::documents::sections::exact;
use lotwarden_domain::cases::Verdict;
use lotwarden_domain::catalogue::ProductKind;
use lotwarden_ledger::Hash;
use lotwarden_store::Receipt;
use lotwarden_store::documents::{CaseFile, Identified, Item};
use lotwarden_store::moment::instant_text;
use rust_decimal::Decimal;
use serde_json::{Number, Value, json};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The Bundle of a case; the receipt is the entry of this copy.
pub(super) fn bundle(found: &Identified, receipt: Receipt) -> Value {
    let file = &found.file;
    let mut entries = vec![
        patient(found),
        organization(file),
        entry(file.recorded.case.id, procedure(file)),
    ];
    entries.extend(practitioners(file));
    for item in file.items.iter().filter(|item| is_device(item)) {
        entries.push(entry(item.scan.id, devices::device(file, item)));
        if let Some(statement) = devices::statement(file, item) {
            entries.push(entry(derived("use", item.scan.id), statement));
        }
    }
    let given = medications::administrations(file);
    entries.extend(given.into_iter().map(|(id, resource)| entry(id, resource)));
    let provenance = provenance::of_record(file);
    entries.extend(
        provenance
            .into_iter()
            .map(|(id, resource)| entry(id, resource)),
    );
    json!({
        "resourceType": "Bundle",
        "type": "collection",
        "identifier": {
            "system": "urn:lotwarden:ledger",
            "value": format!("{}/{}", file.facility.0, receipt.position),
        },
        "entry": entries,
    })
}

fn entry(id: Uuid, mut resource: Value) -> Value {
    resource["id"] = json!(id);
    json!({"fullUrl": url(id), "resource": resource})
}

fn url(id: Uuid) -> String {
    format!("urn:uuid:{id}")
}

fn reference(id: Uuid) -> Value {
    json!({"reference": url(id)})
}

/// An id for a resource that has no record of its own: always the same for the same record.
fn derived(what: &str, id: Uuid) -> Uuid {
    let hash = Hash::of(format!("{what}:{id}").as_bytes());
    let mut bytes = [0; 16];
    for (byte, own) in bytes.iter_mut().zip(hash.as_bytes()) {
        *byte = *own;
    }
    uuid::Builder::from_random_bytes(bytes).into_uuid()
}

/// A decimal as a JSON number: at most 15 digits, which JSON readers keep.
fn decimal(amount: Decimal) -> Value {
    let number: Result<Number, _> = serde_json::from_str(&exact(amount));
    number.map_or(Value::Null, Value::Number)
}

/// Least identity: the record number and the day of birth, the two that tell a patient apart.
fn patient(found: &Identified) -> Value {
    let (id, patient) = &found.patient;
    let mut resource = json!({
        "resourceType": "Patient",
        "identifier": [{
            "use": "usual",
            "type": {"coding": [{
                "system": "http://terminology.hl7.org/CodeSystem/v2-0203", "code": "MR",
            }]},
            "value": patient.record_number,
            "assigner": {"reference": url(found.file.facility.0)},
        }],
    });
    if let Some(day) = patient.born_on {
        resource["birthDate"] = json!(day);
    }
    entry(*id, resource)
}

fn organization(file: &CaseFile) -> Value {
    let resource = json!({"resourceType": "Organization", "name": file.facility.1});
    entry(file.facility.0, resource)
}

/// The practitioner of the case and whoever signed or amended its record.
fn practitioners(file: &CaseFile) -> Vec<Value> {
    let case = &file.recorded.case;
    let mut people = BTreeMap::from([case.practitioner.clone()]);
    for signature in &file.signatures {
        people.insert(signature.person, signature.name.clone());
    }
    for amendment in &file.amendments {
        let correction = &amendment.correction;
        people.insert(correction.person, correction.name.clone());
    }
    let people = people.into_iter();
    people
        .map(|(id, name)| {
            entry(
                id,
                json!({"resourceType": "Practitioner", "name": [{"text": name}]}),
            )
        })
        .collect()
}

fn procedure(file: &CaseFile) -> Value {
    let case = &file.recorded.case;
    let mut resource = json!({
        "resourceType": "Procedure",
        "status": case.status,
        "code": {"text": case.procedure},
        "subject": reference(case.patient),
        "performer": [{
            "actor": reference(case.practitioner.0),
            "onBehalfOf": reference(file.facility.0),
        }],
        "location": {"display": case.location.1},
    });
    if let Some(start) = case.started_at {
        let mut period = json!({"start": instant_text(start)});
        if let Some(end) = case.ended_at {
            period["end"] = json!(instant_text(end));
        }
        resource["performedPeriod"] = period;
    }
    let used = file.items.iter().filter(|item| is_device(item));
    let used = used.filter(|item| super::sections::was_used(item));
    let used: Vec<Value> = used.map(|item| reference(item.scan.id)).collect();
    if !used.is_empty() {
        resource["usedReference"] = json!(used);
    }
    let notes = notes(file);
    if !notes.is_empty() {
        resource["note"] = json!(notes);
    }
    resource
}

/// The energy log, the gas and the equipment that was set up, as notes of the procedure.
fn notes(file: &CaseFile) -> Vec<Value> {
    let energy = file.recorded.energy.iter().zip(&file.energy_limits);
    let energy = energy.map(|(entry, limits)| {
        let new = &entry.new;
        let skin = new.max_skin_celsius.map(|celsius| {
            let instrument = entry.instrument.as_deref().unwrap_or_default();
            format!(
                ", highest skin temperature {} °C by {instrument}",
                exact(celsius)
            )
        });
        let outside = match energy::outside(limits) {
            none if none.is_empty() => none,
            some => format!("; outside the site's limits: {some}"),
        };
        let text = format!(
            "Energy in {}: {}, {} %, {} {}, {} s{}{outside}",
            new.zone,
            entry.generator,
            exact(new.power_percent),
            new.passes,
            if new.passes == 1 { "pass" } else { "passes" },
            exact(new.active_seconds),
            skin.unwrap_or_default()
        );
        json!({"time": instant_text(entry.at), "text": text})
    });
    let gas = file.recorded.gas.iter().map(|gas| {
        let text = format!("Gas in {}: {} L", gas.recorded.zone, exact(gas.litre));
        json!({"time": instant_text(gas.at), "text": text})
    });
    let equipment = file.recorded.equipment.iter();
    let equipment = equipment
        .filter(|used| used.struck.is_none() && used.verdict != Verdict::Stop)
        .map(|used| {
            let text = format!("Equipment: {}", used.described);
            json!({"time": instant_text(used.at), "text": text})
        });
    energy.chain(gas).chain(equipment).collect()
}

/// Whether an item is a device; drugs and diluents are medications.
fn is_device(item: &Item) -> bool {
    let kind = item.product.description.kind;
    !matches!(kind, ProductKind::Drug | ProductKind::Diluent)
}
