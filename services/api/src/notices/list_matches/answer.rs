//! The answer to what a notice hits.

use super::super::confirm_notice::MatchCounts;
use crate::cases::Patient;
use crate::where_used::{CylinderThrough, LoadThrough, MixThrough};
use jiff::civil::Date;
use lotwarden_domain::cases::{CaseStatus, Disposition};
use lotwarden_domain::notices::{MatchClass, Witness};
use lotwarden_store::moment::instant_text;
use lotwarden_store::notices as store;
use serde::Serialize;
use std::collections::BTreeMap;
use utoipa::ToSchema;
use uuid::Uuid;

/// What a notice hits.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeMatches {
    /// The first notice of the matter.
    notice_id: Uuid,
    /// The answer in numbers.
    counts: MatchCounts,
    /// The products it names here; empty when the catalogue has none of them.
    products: Vec<ProductNamed>,
    /// The lots in question.
    lots: Vec<LotHit>,
    /// The patients, in the order of their first item.
    patients: Vec<PatientReached>,
    /// The items on cases: by their scans, oldest first, then those that only another record has.
    items: Vec<ItemHit>,
    /// Items left out because their scans were taken back and no other record has them.
    struck: u64,
    /// Stock in question, by place.
    on_hand: Vec<StockHit>,
    /// The receipts that brought the items in.
    receipts: Vec<ReceiptHit>,
    /// Scans of them that were stopped: they did not go on the case.
    stopped: Vec<StoppedHit>,
    /// Mixes between the lots and the cases, a line for each lot.
    mixes: Vec<MixThrough>,
    /// Fills of gas between the lots and the cases.
    cylinders: Vec<CylinderThrough>,
    /// Sterilizer loads between the lots and the cases.
    loads: Vec<LoadThrough>,
}

/// A product that a notice names.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProductNamed {
    /// The product.
    id: Uuid,
    /// Its name.
    name: String,
    /// Who makes it.
    maker: String,
    /// The maker's model.
    model: String,
}

/// A lot that a notice hits.
#[derive(Debug, Serialize, ToSchema)]
pub struct LotHit {
    /// `affected`, `possible` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: MatchClass,
    /// The lot.
    id: Uuid,
    /// The product.
    product_id: Uuid,
    /// Its number; none for the items whose lot was not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    number: Option<String>,
    /// The last usable day on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    expires_on: Option<Date>,
}

/// A patient with items that a notice hits.
#[derive(Debug, Serialize, ToSchema)]
pub struct PatientReached {
    /// The patient, by id.
    id: Uuid,
    /// The worst class of the patient's items.
    #[schema(value_type = String, example = "affected")]
    class: MatchClass,
    /// How many items.
    items: usize,
    /// Who the patient is.
    #[serde(skip_serializing_if = "Option::is_none")]
    patient: Option<Patient>,
}

/// An item on a case that a notice hits.
#[derive(Debug, Serialize, ToSchema)]
pub struct ItemHit {
    /// `affected`, `possible` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: MatchClass,
    /// The case.
    case_id: Uuid,
    /// What was done.
    procedure: String,
    /// When the case was planned.
    #[schema(format = DateTime)]
    scheduled_for: String,
    /// The state of the case.
    #[schema(value_type = String, example = "completed")]
    status: CaseStatus,
    /// The patient, by id.
    patient_id: Uuid,
    /// Which record says that it was on the case: its `scan`; the `mix` that was made of it or the
    /// `gas` that flowed from it, where the scan was taken back; the immediate-use `load` that was
    /// run for the case. Without a scan that stands it cannot be excluded.
    #[schema(value_type = String, example = "scan")]
    witness: Witness,
    /// The scan that put it on the case, where one stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    scan_id: Option<Uuid>,
    /// The mixes it went into, the fill of gas it is and the load it came from.
    through_ids: Vec<Uuid>,
    /// The product.
    product_id: Uuid,
    /// The lot.
    lot_id: Uuid,
    /// The serialised piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// Its serial as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    serial: Option<String>,
    /// What became of it.
    #[schema(value_type = String, example = "used")]
    disposition: Disposition,
    /// When it was put on the case, or when the mix was made, the gas was recorded or the cycle
    /// started.
    #[schema(format = DateTime)]
    taken_at: String,
}

/// Stock that a notice hits.
#[derive(Debug, Serialize, ToSchema)]
pub struct StockHit {
    /// `affected`, `possible` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: MatchClass,
    /// The product.
    product_id: Uuid,
    /// The lot.
    lot_id: Uuid,
    /// The piece, where the notice names serials.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// The place.
    location_id: Uuid,
    /// Its name.
    location: String,
    /// Units of use.
    quantity: i32,
}

/// A line of a receipt that brought in an item.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReceiptHit {
    /// `affected`, `possible` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: MatchClass,
    /// The receipt.
    receipt_id: Uuid,
    /// When.
    #[schema(format = DateTime)]
    received_at: String,
    /// The lot.
    lot_id: Uuid,
    /// The piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// The place it was put.
    location_id: Uuid,
    /// Units of use received.
    quantity: i32,
}

/// A scan of an item that was stopped.
#[derive(Debug, Serialize, ToSchema)]
pub struct StoppedHit {
    /// `affected`, `possible` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: MatchClass,
    /// The scan.
    scan_id: Uuid,
    /// The case.
    case_id: Uuid,
    /// The lot.
    lot_id: Uuid,
    /// The piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// When, by the station's clock.
    #[schema(format = DateTime)]
    occurred_at: String,
}

impl NoticeMatches {
    /// What was found, in the words of the API.
    pub fn of(found: &store::MatchList) -> Self {
        let matches = &found.matches;
        Self {
            notice_id: found.root,
            counts: matches.counts().into(),
            products: matches.products.iter().map(ProductNamed::from).collect(),
            lots: matches.lots.iter().map(LotHit::from).collect(),
            patients: patients(found),
            items: matches.items.iter().map(ItemHit::from).collect(),
            struck: matches.struck,
            on_hand: matches.on_hand.iter().map(StockHit::from).collect(),
            receipts: found.receipts.iter().map(ReceiptHit::from).collect(),
            stopped: found.stopped.iter().map(StoppedHit::from).collect(),
            mixes: found.through.mixes.iter().map(MixThrough::from).collect(),
            cylinders: found
                .through
                .cylinders
                .iter()
                .map(CylinderThrough::from)
                .collect(),
            loads: found.through.loads.iter().map(LoadThrough::from).collect(),
        }
    }
}

fn patients(found: &store::MatchList) -> Vec<PatientReached> {
    let mut reached: Vec<PatientReached> = Vec::new();
    let mut places: BTreeMap<Uuid, usize> = BTreeMap::new();
    for item in &found.matches.items {
        let place = *places.entry(item.patient).or_insert(reached.len());
        match reached.get_mut(place) {
            Some(known) => {
                known.class = known.class.max(item.class);
                known.items += 1;
            }
            None => reached.push(PatientReached {
                id: item.patient,
                class: item.class,
                items: 1,
                patient: found.patients.get(&item.patient).map(Patient::from),
            }),
        }
    }
    reached
}

impl From<&store::ProductMatched> for ProductNamed {
    fn from(product: &store::ProductMatched) -> Self {
        Self {
            id: product.id,
            name: product.name.clone(),
            maker: product.maker.clone(),
            model: product.model.clone(),
        }
    }
}

impl From<&store::LotMatched> for LotHit {
    fn from(lot: &store::LotMatched) -> Self {
        Self {
            class: lot.class,
            id: lot.id,
            product_id: lot.product,
            number: lot.number.clone(),
            expires_on: lot.expires_on,
        }
    }
}

impl From<&store::ItemMatched> for ItemHit {
    fn from(item: &store::ItemMatched) -> Self {
        Self {
            class: item.class,
            case_id: item.case,
            procedure: item.procedure.clone(),
            scheduled_for: instant_text(item.scheduled_for),
            status: item.status,
            patient_id: item.patient,
            witness: item.witness,
            scan_id: item.scan,
            through_ids: item.through.clone(),
            product_id: item.product,
            lot_id: item.lot,
            unit_id: item.unit,
            serial: item.serial.clone(),
            disposition: item.disposition,
            taken_at: instant_text(item.taken_at),
        }
    }
}

impl From<&store::OnHandMatched> for StockHit {
    fn from(stock: &store::OnHandMatched) -> Self {
        Self {
            class: stock.class,
            product_id: stock.product,
            lot_id: stock.lot,
            unit_id: stock.unit,
            location_id: stock.location.0,
            location: stock.location.1.clone(),
            quantity: stock.quantity,
        }
    }
}

impl From<&store::ReceiptMatched> for ReceiptHit {
    fn from(line: &store::ReceiptMatched) -> Self {
        Self {
            class: line.class,
            receipt_id: line.receipt,
            received_at: instant_text(line.received_at),
            lot_id: line.lot,
            unit_id: line.unit,
            location_id: line.location,
            quantity: line.quantity,
        }
    }
}

impl From<&store::StoppedMatched> for StoppedHit {
    fn from(scan: &store::StoppedMatched) -> Self {
        Self {
            class: scan.class,
            scan_id: scan.scan,
            case_id: scan.case,
            lot_id: scan.lot,
            unit_id: scan.unit,
            occurred_at: instant_text(scan.occurred_at),
        }
    }
}
