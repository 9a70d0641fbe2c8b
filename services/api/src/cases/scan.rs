//! A scan as the API shows it.

use super::Named;
use jiff::civil::Date;
use lotwarden_domain::cases::{Disposition, Verdict};
use lotwarden_store::cases as store;
use lotwarden_store::moment::instant_text;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// One reading of one label on a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct Scan {
    /// The scan.
    pub(super) id: Uuid,
    /// The case.
    pub(super) case_id: Uuid,
    /// The station.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) station_id: Option<Uuid>,
    /// Who scanned.
    #[schema(example = "person:019353a4-7bb0-7c3e-8f54-0b6d1c2a9e10")]
    pub(super) actor: String,
    /// When, by the station's clock.
    #[schema(format = DateTime)]
    pub(super) occurred_at: String,
    /// When it reached the service.
    #[schema(format = DateTime)]
    pub(super) received_at: String,
    /// Its station held it and delivered it later.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    #[schema(required = false)]
    pub(super) delivered_late: bool,
    /// `taken`, `look`, `stop` or `unread`.
    #[schema(value_type = String, example = "taken")]
    pub(super) verdict: Verdict,
    /// Every finding, worst first.
    #[schema(value_type = Vec<Finding>)]
    pub(super) findings: serde_json::Value,
    /// The symbology identifier, when it came apart from the characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) symbology: Option<String>,
    /// The characters as scanned. Those of an unread scan, which may be a wristband, stay sealed
    /// unless they are asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) text: Option<String>,
    /// The form of the label.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "gs1_element_string")]
    pub(super) form: Option<String>,
    /// The product.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) product: Option<Named>,
    /// The lot on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) lot: Option<LotOnRecord>,
    /// The serialised piece on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) unit: Option<UnitOnRecord>,
    /// What it put on the case; none when nothing is on the case by this scan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) item: Option<ItemOnCase>,
    /// The first scan of the same label on this case, for a repeated reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) first_scan_id: Option<Uuid>,
    /// That it was taken back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) strike: Option<Strike>,
    /// The position of its ledger entry.
    #[schema(example = 4711)]
    pub(super) position: u64,
}

/// What one rule says about a scan.
#[derive(Debug, Serialize, ToSchema)]
pub struct Finding {
    /// The rule.
    #[schema(example = "expires_soon")]
    slug: String,
    /// `look` or `stop`.
    #[schema(example = "look")]
    severity: String,
    /// Which of the rule's sentences it is; none where the rule has one alone.
    #[schema(example = "days")]
    variant: Option<String>,
    /// The values in the sentence, by name: a page says it in its own language with them.
    #[schema(value_type = Option<Object>, example = json!({"days": "12", "day": "2026-12-06"}))]
    data: Option<serde_json::Value>,
    /// One plain sentence for the person at the station.
    #[schema(example = "Expires in 12 days (2026-12-06).")]
    sentence: String,
    /// Where the rule comes from.
    source: String,
}

/// A lot as it is on record.
#[derive(Debug, Serialize, ToSchema)]
pub struct LotOnRecord {
    /// The lot.
    pub(super) id: Uuid,
    /// Its number, exactly as printed; none for items whose lot was not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "L2611A")]
    pub(super) number: Option<String>,
    /// The last usable day on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    pub(super) expires_on: Option<Date>,
}

/// A serialised piece as it is on record.
#[derive(Debug, Serialize, ToSchema)]
pub struct UnitOnRecord {
    /// The piece.
    pub(super) id: Uuid,
    /// Its serial, exactly as printed.
    #[schema(example = "SN-000417")]
    pub(super) serial: String,
}

/// An item on a case and what became of it.
#[derive(Debug, Serialize, ToSchema)]
pub struct ItemOnCase {
    /// `used`, `wasted`, `opened_unused`, `returned` or `failed`.
    #[schema(value_type = String, example = "used")]
    pub(super) disposition: Disposition,
    /// Why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) reason: Option<String>,
    /// The place whose stock it left.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) drawn_from_id: Option<Uuid>,
    /// When it was put on the case.
    #[schema(format = DateTime)]
    pub(super) taken_at: String,
    /// Counts its changes; what `If-Match` names when its disposition is set.
    #[schema(example = 1)]
    pub(super) version: i32,
}

/// The taking back of a scan.
#[derive(Debug, Serialize, ToSchema)]
pub struct Strike {
    /// Who.
    by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
    /// Why.
    reason: String,
}

impl From<&store::ScanItem> for Scan {
    fn from(scan: &store::ScanItem) -> Self {
        let lot = scan.lot.clone();
        Self {
            id: scan.id,
            case_id: scan.case,
            station_id: scan.station,
            actor: scan.actor.clone(),
            occurred_at: instant_text(scan.occurred_at),
            received_at: instant_text(scan.received_at),
            delivered_late: scan.delivered_late,
            verdict: scan.verdict,
            findings: scan.findings.clone(),
            symbology: scan.symbology.clone(),
            text: scan.text.clone(),
            form: scan.form.clone(),
            product: scan.product.as_ref().map(Named::from),
            lot: lot.map(|(id, number, expires_on)| LotOnRecord {
                id,
                number,
                expires_on,
            }),
            unit: scan
                .unit
                .clone()
                .map(|(id, serial)| UnitOnRecord { id, serial }),
            item: scan.on_case.as_ref().map(ItemOnCase::from),
            first_scan_id: scan.first_scan,
            strike: scan.strike.as_ref().map(|strike| Strike {
                by: strike.by.clone(),
                at: instant_text(strike.at),
                reason: strike.reason.clone(),
            }),
            position: scan.position,
        }
    }
}

impl From<&store::UseOnCase> for ItemOnCase {
    fn from(item: &store::UseOnCase) -> Self {
        Self {
            disposition: item.disposition,
            reason: item.reason.clone(),
            drawn_from_id: item.drawn_from,
            taken_at: instant_text(item.taken_at),
            version: item.version,
        }
    }
}
