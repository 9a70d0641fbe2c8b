//! The answer to where an item was used.

use super::through::{CylinderThrough, LoadThrough, MixThrough};
use crate::cases::Patient;
use jiff::civil::Date;
use lotwarden_domain::cases::{CaseStatus, Disposition};
use lotwarden_store::moment::instant_text;
use lotwarden_store::where_used::{self as store, Class, Question};
use serde::Serialize;
use std::collections::BTreeSet;
use utoipa::ToSchema;
use uuid::Uuid;

/// Where an item was used and is.
#[derive(Debug, Serialize, ToSchema)]
pub struct WhereUsed {
    /// The identifiers that were looked for, agency first.
    #[schema(example = json!(["gs1:09520123456788"]))]
    identifiers: Vec<String>,
    /// The lot that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<String>,
    /// The serial that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    serial: Option<String>,
    /// The product; none when no product has the identifier.
    #[serde(skip_serializing_if = "Option::is_none")]
    product: Option<ProductAsked>,
    /// The lots in question.
    lots: Vec<LotInQuestion>,
    /// The answer in numbers.
    counts: ReachCounts,
    /// The items on cases, oldest first.
    items: Vec<ItemReached>,
    /// Scans of it that were stopped: it did not go on the case.
    stopped: Vec<StoppedScan>,
    /// Stock on hand, by place.
    on_hand: Vec<OnHand>,
    /// The receipts that brought it in.
    receipts: Vec<ReceiptInQuestion>,
    /// Mixes that hold it, a line for each lot.
    mixes: Vec<MixThrough>,
    /// Fills of gas that are it.
    cylinders: Vec<CylinderThrough>,
    /// Sterilizer loads that it went through.
    loads: Vec<LoadThrough>,
}

/// A product.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProductAsked {
    /// The product.
    id: Uuid,
    /// Its name.
    name: String,
    /// Who makes it.
    maker: String,
    /// The maker's model.
    model: String,
}

/// A lot in question.
#[derive(Debug, Serialize, ToSchema)]
pub struct LotInQuestion {
    /// `affected` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: Class,
    /// The lot.
    id: Uuid,
    /// Its number; none for the items whose lot was not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    number: Option<String>,
    /// The last usable day on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    expires_on: Option<Date>,
}

/// The answer in numbers.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReachCounts {
    /// Items whose record names what was asked for.
    affected: usize,
    /// Items whose record does not say.
    cannot_exclude: usize,
    /// Cases with either.
    cases: usize,
    /// Patients of those cases.
    patients: usize,
    /// Items left out because their scans were taken back.
    struck: u64,
}

/// An item on a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct ItemReached {
    /// `affected` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: Class,
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
    /// Who the patient is.
    #[serde(skip_serializing_if = "Option::is_none")]
    patient: Option<Patient>,
    /// The scan that put it on the case.
    scan_id: Uuid,
    /// The lot.
    lot_id: Uuid,
    /// The serialised piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// What became of it.
    #[schema(value_type = String, example = "used")]
    disposition: Disposition,
    /// When it was put on the case.
    #[schema(format = DateTime)]
    taken_at: String,
}

/// A scan of the item that was stopped.
#[derive(Debug, Serialize, ToSchema)]
pub struct StoppedScan {
    /// `affected` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: Class,
    /// The case.
    case_id: Uuid,
    /// The scan.
    scan_id: Uuid,
    /// The lot.
    lot_id: Uuid,
    /// The serialised piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// When, by the station's clock.
    #[schema(format = DateTime)]
    occurred_at: String,
    /// The rules it was stopped for, and the others that spoke.
    #[schema(example = json!(["on_hold"]))]
    findings: Vec<String>,
}

/// Stock in question.
#[derive(Debug, Serialize, ToSchema)]
pub struct OnHand {
    /// `affected` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: Class,
    /// The lot.
    lot_id: Uuid,
    /// The place.
    location_id: Uuid,
    /// The place's name.
    #[schema(example = "Shelf 3")]
    location: String,
    /// Units of use.
    quantity: i32,
}

/// A line of a receipt.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReceiptInQuestion {
    /// `affected` or `cannot_exclude`.
    #[schema(value_type = String, example = "affected")]
    class: Class,
    /// The receipt.
    receipt_id: Uuid,
    /// When.
    #[schema(format = DateTime)]
    received_at: String,
    /// The lot.
    lot_id: Uuid,
    /// The place it was put.
    location_id: Uuid,
    /// Units of use received.
    quantity: i32,
    /// Whether some of the lot is still at that place.
    open: bool,
}

impl WhereUsed {
    /// The answer in the words of the API.
    #[must_use]
    pub fn of(question: &Question, found: &store::WhereUsed) -> Self {
        let uses = &found.uses;
        Self {
            identifiers: question.codes.iter().map(ToString::to_string).collect(),
            lot: question.lot.clone(),
            serial: question.serial.clone(),
            product: uses.product.as_ref().map(ProductAsked::from),
            lots: uses.lots.iter().map(LotInQuestion::from).collect(),
            counts: ReachCounts::of(uses),
            items: uses
                .items
                .iter()
                .map(|item| ItemReached::of(item, found))
                .collect(),
            stopped: found.stopped.iter().map(StoppedScan::from).collect(),
            on_hand: found.on_hand.iter().map(OnHand::from).collect(),
            receipts: found.receipts.iter().map(ReceiptInQuestion::from).collect(),
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

impl ReachCounts {
    fn of(uses: &store::UsesFound) -> Self {
        let affected = uses
            .items
            .iter()
            .filter(|item| item.class == Class::Affected)
            .count();
        let cases: BTreeSet<Uuid> = uses.items.iter().map(|item| item.case).collect();
        let patients: BTreeSet<Uuid> = uses.items.iter().map(|item| item.patient).collect();
        Self {
            affected,
            cannot_exclude: uses.items.len() - affected,
            cases: cases.len(),
            patients: patients.len(),
            struck: uses.struck,
        }
    }
}

impl ItemReached {
    fn of(item: &store::ItemUsed, found: &store::WhereUsed) -> Self {
        Self {
            class: item.class,
            case_id: item.case,
            procedure: item.procedure.clone(),
            scheduled_for: instant_text(item.scheduled_for),
            status: item.status,
            patient_id: item.patient,
            patient: found.patients.get(&item.patient).map(Patient::from),
            scan_id: item.scan,
            lot_id: item.lot,
            unit_id: item.unit,
            disposition: item.disposition,
            taken_at: instant_text(item.taken_at),
        }
    }
}

impl From<&store::ProductFound> for ProductAsked {
    fn from(product: &store::ProductFound) -> Self {
        Self {
            id: product.id,
            name: product.name.clone(),
            maker: product.maker.clone(),
            model: product.model.clone(),
        }
    }
}

impl From<&store::LotFound> for LotInQuestion {
    fn from(lot: &store::LotFound) -> Self {
        Self {
            class: lot.class,
            id: lot.id,
            number: lot.number.clone(),
            expires_on: lot.expires_on,
        }
    }
}

impl From<&store::Stopped> for StoppedScan {
    fn from(scan: &store::Stopped) -> Self {
        let findings = scan.findings.as_array().into_iter().flatten();
        let slugs = findings.filter_map(|finding| finding["slug"].as_str());
        Self {
            class: scan.class,
            case_id: scan.case,
            scan_id: scan.scan,
            lot_id: scan.lot,
            unit_id: scan.unit,
            occurred_at: instant_text(scan.occurred_at),
            findings: slugs.map(str::to_owned).collect(),
        }
    }
}

impl From<&store::OnHand> for OnHand {
    fn from(stock: &store::OnHand) -> Self {
        Self {
            class: stock.class,
            lot_id: stock.lot,
            location_id: stock.location.0,
            location: stock.location.1.clone(),
            quantity: stock.quantity,
        }
    }
}

impl From<&store::ReceiptLine> for ReceiptInQuestion {
    fn from(line: &store::ReceiptLine) -> Self {
        Self {
            class: line.class,
            receipt_id: line.receipt,
            received_at: instant_text(line.received_at),
            lot_id: line.lot,
            location_id: line.location,
            quantity: line.quantity,
            open: line.open,
        }
    }
}
