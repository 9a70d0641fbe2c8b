//! What the documents of a case and of a facility's days are made from.

mod list_surgeries;
mod show_document;

pub use list_surgeries::{MOST_SURGERIES, Surgery, list_surgeries};
pub use show_document::{Identified, ShowDocument, ShowDocumentRefusal};

use crate::cases::{
    Amendment, Part, Recorded, ScanItem, Signature, amended_parts, amendments_of_case,
    record_of_case, signatures_of,
};
use crate::catalogue::{Product, products_by_id};
use crate::database::{Reading, StoreError};
use crate::facilities::Facility;
use crate::records::{CountedLimit, Retention, limits_of, retention};
use crate::where_used::{self, Through};
use diesel_async::AsyncPgConnection;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lotwarden_domain::label::{Circumstances, Label, ProductCode};
use lotwarden_ledger::Hash;
use std::collections::BTreeSet;
use uuid::Uuid;

/// A case with everything that its documents show, without the patient's identity.
#[derive(Clone, Debug)]
pub struct CaseFile {
    /// The facility, by id and name.
    pub facility: (Uuid, String),
    /// The facility's zone.
    pub zone: TimeZone,
    /// Everything on record.
    pub recorded: Recorded,
    /// The hash of the record as it stands.
    pub record_hash: Hash,
    /// Its signatures, oldest first.
    pub signatures: Vec<Signature>,
    /// Its amendments, oldest first.
    pub amendments: Vec<Amendment>,
    /// The record part by part, amended.
    pub parts: Vec<Part>,
    /// The items on the case, in the order they were scanned.
    pub items: Vec<Item>,
    /// For each entry of the energy log the site's settings and end points that counted for it.
    pub energy_limits: Vec<Vec<CountedLimit>>,
    /// The mixes, fills and loads that went into it.
    pub through: Through,
    /// Until when its record is kept.
    pub retention: Retention,
}

/// An item on a case.
#[derive(Clone, Debug)]
pub struct Item {
    /// The scan that put it there.
    pub scan: ScanItem,
    /// Its product.
    pub product: Product,
    /// The identifier on its label, else one of the product's.
    pub code: Option<ProductCode>,
    /// The day of manufacture on its label.
    pub manufactured_on: Option<Date>,
    /// The zones that energy, gas or a mix of it is on record for.
    pub zones: BTreeSet<String>,
}

impl CaseFile {
    /// The civil day and time of an instant at the facility.
    #[must_use]
    pub fn local(&self, at: Timestamp) -> String {
        let local = at.to_zoned(self.zone.clone());
        local.strftime("%Y-%m-%d %H:%M %Z").to_string()
    }

    /// The day of the case at the facility: when it started, else when it is planned.
    #[must_use]
    pub fn day(&self) -> Date {
        let case = &self.recorded.case;
        let at = case.started_at.unwrap_or(case.scheduled_for);
        at.to_zoned(self.zone.clone()).date()
    }

    /// Whether an amendment concerns a part of the record.
    #[must_use]
    pub fn is_amended(&self, part: Uuid) -> bool {
        let mut amended = self.amendments.iter();
        amended.any(|amendment| amendment.correction.part_id == part)
    }
}

/// Reads a case for a document without identity; none when there is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn show_case_file(
    reading: &mut Reading,
    facility: &Facility,
    case: Uuid,
) -> Result<Option<CaseFile>, StoreError> {
    let mut snapshot = reading.snapshot();
    snapshot
        .run(async |connection: &mut AsyncPgConnection| file_of(connection, facility, case).await)
        .await
}

async fn file_of(
    connection: &mut AsyncPgConnection,
    facility: &Facility,
    case: Uuid,
) -> Result<Option<CaseFile>, StoreError> {
    let Some(recorded) = record_of_case(connection, case).await? else {
        return Ok(None);
    };
    let amendments = amendments_of_case(connection, case).await?;
    let through = where_used::of_case(connection, case).await?;
    Ok(Some(CaseFile {
        facility: (facility.id, facility.name.clone()),
        zone: facility.zone.clone(),
        record_hash: recorded.current_hash()?,
        signatures: signatures_of(connection, &recorded).await?,
        parts: amended_parts(&recorded, &amendments),
        items: items(connection, facility, &recorded, &through).await?,
        energy_limits: limits_of(connection, &recorded.energy).await?,
        retention: retention(connection, &facility.zone, &recorded.case).await?,
        amendments,
        recorded,
        through,
    }))
}

async fn items(
    connection: &mut AsyncPgConnection,
    facility: &Facility,
    recorded: &Recorded,
    through: &Through,
) -> Result<Vec<Item>, StoreError> {
    let on_case = |scan: &&ScanItem| scan.on_case.is_some() && scan.strike.is_none();
    let scans: Vec<&ScanItem> = recorded.scans.iter().filter(on_case).collect();
    let ids: Vec<Uuid> = scans
        .iter()
        .filter_map(|scan| scan.product.as_ref().map(|(id, _)| *id))
        .collect();
    let products = products_by_id(connection, &ids).await?;
    let item = |scan: &&ScanItem| {
        let of = |product: &&Product| {
            scan.product
                .as_ref()
                .is_some_and(|(id, _)| *id == product.id)
        };
        let product = products.iter().find(of)?.clone();
        let on = Circumstances::on(facility.day(scan.received_at));
        let text = scan.text.as_deref().unwrap_or_default();
        let label = Label::read(text, on).ok();
        let known = product.identifiers.iter().map(|known| &known.code);
        let own: Vec<&ProductCode> = label.iter().flat_map(Label::codes).collect();
        let named = known.clone().find(|known| own.contains(known));
        Some(Item {
            code: named.or(known.clone().next()).cloned(),
            manufactured_on: label.and_then(|label| label.manufactured_on),
            zones: zones(recorded, through, scan),
            scan: (*scan).clone(),
            product,
        })
    };
    Ok(scans.iter().filter_map(item).collect())
}

fn zones(recorded: &Recorded, through: &Through, scan: &ScanItem) -> BTreeSet<String> {
    let energy = recorded.energy.iter();
    let energy = energy.filter(|entry| entry.new.handpiece == scan.id);
    let lot = scan.lot.as_ref().map(|(lot, ..)| *lot);
    let unit = scan.unit.as_ref().map(|(unit, _)| *unit);
    let fills = through.cylinders.iter();
    let fills = fills.filter(|fill| Some(fill.lot) == lot && fill.unit == unit);
    let fills: Vec<Uuid> = fills.map(|fill| fill.id).collect();
    let gas = recorded.gas.iter();
    let gas = gas.filter(|gas| fills.contains(&gas.recorded.cylinder));
    let holds = |mix: &&crate::mixes::Mix| mix.ingredients.iter().any(|each| each.scan == scan.id);
    let mixes = recorded.mixes.iter().filter(holds);
    let doses = mixes.flat_map(|mix| &mix.doses).filter(|dose| dose.given);
    energy
        .map(|entry| &entry.new.zone)
        .chain(gas.map(|gas| &gas.recorded.zone))
        .chain(doses.map(|dose| &dose.zone))
        .cloned()
        .collect()
}
