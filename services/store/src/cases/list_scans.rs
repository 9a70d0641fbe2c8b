//! Reading the scans of a case, each with what it put there and what became of it.

use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{lots, products, scans, strikes, units, uses};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::cases::{Disposition, Verdict};
use uuid::Uuid;

/// One reading of one label on a case.
#[derive(Clone, Debug)]
pub struct ScanItem {
    /// The scan.
    pub id: Uuid,
    /// The case.
    pub case: Uuid,
    /// The station.
    pub station: Option<Uuid>,
    /// Who scanned, as the ledger writes it.
    pub actor: String,
    /// When, by the station's clock.
    pub occurred_at: Timestamp,
    /// When it reached the service.
    pub received_at: Timestamp,
    /// Whether its station held it and delivered it later.
    pub delivered_late: bool,
    /// The symbology identifier.
    pub symbology: Option<String>,
    /// The characters as scanned; none for an unread scan, which may be a wristband and whose
    /// characters are sealed.
    pub text: Option<String>,
    /// The form of the label.
    pub form: Option<String>,
    /// The verdict.
    pub verdict: Verdict,
    /// Every finding, as it was told.
    pub findings: serde_json::Value,
    /// The product, by id and name.
    pub product: Option<(Uuid, String)>,
    /// The lot, with its number and last usable day as on record.
    pub lot: Option<(Uuid, Option<String>, Option<Date>)>,
    /// The serialised piece, by id and serial.
    pub unit: Option<(Uuid, String)>,
    /// The first scan of the same label on this case.
    pub first_scan: Option<Uuid>,
    /// The position of its ledger entry.
    pub position: u64,
    /// What it put on the case.
    pub on_case: Option<UseOnCase>,
    /// That it was taken back.
    pub strike: Option<Strike>,
}

/// An item on a case and what became of it.
#[derive(Clone, Debug)]
pub struct UseOnCase {
    /// What became of it.
    pub disposition: Disposition,
    /// Why.
    pub reason: Option<String>,
    /// The place whose stock it left.
    pub drawn_from: Option<Uuid>,
    /// When it was put on the case.
    pub taken_at: Timestamp,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// The taking back of a scan.
#[derive(Clone, Debug)]
pub struct Strike {
    /// Who, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Why.
    pub reason: String,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = scans)]
struct ScanRow {
    case_id: Uuid,
    id: Uuid,
    station_id: Option<Uuid>,
    actor: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    occurred_at: Timestamp,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    received_at: Timestamp,
    symbology: Option<String>,
    text: Option<String>,
    form: Option<String>,
    verdict: String,
    findings: serde_json::Value,
    first_scan_id: Option<Uuid>,
    position: i64,
    held_session_id: Option<Uuid>,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = uses)]
struct UseRow {
    disposition: String,
    disposition_reason: Option<String>,
    drawn_from: Option<Uuid>,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    taken_at: Timestamp,
    version: i32,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = strikes)]
struct StrikeRow {
    actor: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    struck_at: Timestamp,
    reason: String,
}

type LotRow = (Uuid, Option<String>, jiff_diesel::NullableDate);
type Row = (
    ScanRow,
    Option<UseRow>,
    Option<StrikeRow>,
    Option<(Uuid, String)>,
    Option<LotRow>,
    Option<(Uuid, String)>,
);

/// The select and joins of [`Row`]; a macro, because the type of the query would fill a page.
macro_rules! rows {
    () => {
        scans::table
            .left_join(
                uses::table.on(uses::scan_id
                    .eq(scans::id)
                    .and(uses::lot_id.nullable().eq(scans::lot_id))),
            )
            .left_join(strikes::table.on(strikes::scan_id.eq(scans::id)))
            .left_join(products::table.on(products::id.nullable().eq(scans::product_id)))
            .left_join(lots::table.on(lots::id.nullable().eq(scans::lot_id)))
            .left_join(units::table.on(units::id.nullable().eq(scans::unit_id)))
            .select((
                ScanRow::as_select(),
                Option::<UseRow>::as_select(),
                Option::<StrikeRow>::as_select(),
                (products::id, products::name).nullable(),
                (lots::id, lots::number, lots::expires_on).nullable(),
                (units::id, units::serial).nullable(),
            ))
    };
}

/// Lists the scans of a case in the order they were received.
///
/// # Errors
/// [`StoreError`].
pub async fn list_scans(
    reading: &mut Reading,
    case: Uuid,
    after: After,
) -> Result<Page<ScanItem>, StoreError> {
    let rows: Vec<Row> = rows!()
        .filter(scans::case_id.eq(case))
        .filter(scans::id.gt(after.start()))
        .order(scans::id)
        .limit(after.fetch())
        .load(reading.connection())
        .await?;
    let items = rows
        .into_iter()
        .map(ScanItem::of)
        .collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |scan| scan.id))
}

/// Shows one scan of a case; none when the case has no such scan.
///
/// # Errors
/// [`StoreError`].
pub async fn show_scan(
    reading: &mut Reading,
    case: Uuid,
    scan: Uuid,
) -> Result<Option<ScanItem>, StoreError> {
    find(reading.connection(), case, scan).await
}

pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    case: Uuid,
    scan: Uuid,
) -> Result<Option<ScanItem>, StoreError> {
    let row: Option<Row> = rows!()
        .filter(scans::case_id.eq(case))
        .filter(scans::id.eq(scan))
        .first(connection)
        .await
        .optional()?;
    row.map(ScanItem::of).transpose()
}

/// Every scan of a case, for its record.
pub(super) async fn all(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Vec<ScanItem>, StoreError> {
    let rows: Vec<Row> = rows!()
        .filter(scans::case_id.eq(case))
        .order(scans::id)
        .load(connection)
        .await?;
    rows.into_iter().map(ScanItem::of).collect()
}

impl ScanItem {
    fn of((scan, on_case, strike, product, lot, unit): Row) -> Result<Self, StoreError> {
        Ok(Self {
            id: scan.id,
            case: scan.case_id,
            station: scan.station_id,
            actor: scan.actor,
            occurred_at: scan.occurred_at,
            received_at: scan.received_at,
            delivered_late: scan.held_session_id.is_some(),
            symbology: scan.symbology,
            text: scan.text,
            form: scan.form,
            verdict: scan.verdict.parse().map_err(|_| StoreError::Unfit)?,
            findings: scan.findings,
            product,
            lot: lot.map(|(id, number, expires_on)| (id, number, expires_on.to_jiff())),
            unit,
            first_scan: scan.first_scan_id,
            position: scan.position.cast_unsigned(),
            on_case: on_case.map(UseOnCase::of).transpose()?,
            strike: strike.map(|row| Strike {
                by: row.actor,
                at: row.struck_at,
                reason: row.reason,
            }),
        })
    }
}

impl UseOnCase {
    fn of(row: UseRow) -> Result<Self, StoreError> {
        Ok(Self {
            disposition: row.disposition.parse().map_err(|_| StoreError::Unfit)?,
            reason: row.disposition_reason,
            drawn_from: row.drawn_from,
            taken_at: row.taken_at,
            version: row.version,
        })
    }
}
