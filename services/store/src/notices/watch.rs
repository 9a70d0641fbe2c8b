//! The confirmed notices that name a product or a code, ready to judge items.

use crate::database::StoreError;
use crate::recorder::statement::statement;
use diesel::sql_types::{Array, Bool, Nullable, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::civil::Date;
use lotwarden_domain::label::ProductCode;
use lotwarden_domain::notices::{MatchClass, Watch};
use lotwarden_domain::rules::NoticeFacts;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;
use uuid::Uuid;

statement! {
    /// The criteria that name products: by an identifier, by the product itself, by its model.
    OfProducts(facility: Uuid => SqlUuid, products: Vec<Uuid> => Array<SqlUuid>)
        -> (SqlUuid, SqlUuid, Text, Text, Text, Bool, Bool),
    "SELECT w.product, n.id, n.reference, n.firm, c.body, c.open, w.by_model
     FROM (
        SELECT m.product, m.notice_id, m.number, bool_and(m.by_model) AS by_model
        FROM (
            SELECT i.product_id AS product, n.notice_id, n.number, false AS by_model
            FROM unnest($2) AS q (id),
            LATERAL (SELECT * FROM product_identifiers WHERE product_id = q.id OFFSET 0) i,
            LATERAL (SELECT * FROM notice_names WHERE facility_id = $1 AND agency = i.agency AND code = i.code OFFSET 0) n
            UNION ALL
            SELECT q.id, n.notice_id, n.number, false FROM unnest($2) AS q (id),
            LATERAL (SELECT * FROM notice_names WHERE facility_id = $1 AND agency = 'product' AND code = q.id::text OFFSET 0) n
            UNION ALL
            SELECT p.id, n.notice_id, n.number, true FROM unnest($2) AS q (id),
            LATERAL (SELECT id, folded_model(model) AS model FROM products WHERE id = q.id AND model <> '' OFFSET 0) p,
            LATERAL (SELECT * FROM notice_names WHERE facility_id = $1 AND agency = 'model' AND code = p.model OFFSET 0) n
        ) m GROUP BY m.product, m.notice_id, m.number
     ) w,
     LATERAL (SELECT * FROM notice_criteria WHERE notice_id = w.notice_id AND number = w.number OFFSET 0) c,
     LATERAL (SELECT 1 FROM notices WHERE id = c.revision_id AND state <> 'withdrawn' OFFSET 0) r,
     LATERAL (SELECT * FROM notices WHERE id = w.notice_id AND state <> 'withdrawn' OFFSET 0) n
     ORDER BY n.id"
}
statement! {
    /// The criteria that name codes, whether the catalogue has them or not.
    OfCodes(facility: Uuid => SqlUuid, agency: Vec<&'static str> => Array<Text>, code: Vec<String> => Array<Text>)
        -> (Text, Text, SqlUuid, Text, Text, Text, Bool),
    "SELECT q.agency, q.code, n.id, n.reference, n.firm, c.body, c.open
     FROM unnest($2, $3) AS q (agency, code),
     LATERAL (SELECT * FROM notice_names WHERE facility_id = $1 AND agency = q.agency AND code = q.code OFFSET 0) w,
     LATERAL (SELECT * FROM notice_criteria WHERE notice_id = w.notice_id AND number = w.number OFFSET 0) c,
     LATERAL (SELECT 1 FROM notices WHERE id = c.revision_id AND state <> 'withdrawn' OFFSET 0) r,
     LATERAL (SELECT * FROM notices WHERE id = w.notice_id AND state <> 'withdrawn' OFFSET 0) n
     ORDER BY n.id"
}
statement! {
    /// What was cleared of notices under the criteria they have now.
    Clearances(notices: Vec<Uuid> => Array<SqlUuid>) -> (SqlUuid, Nullable<SqlUuid>, Nullable<SqlUuid>),
    "SELECT q.id, c.lot_id, c.unit_id FROM unnest($1) AS q (id),
     LATERAL (SELECT * FROM notice_clearances WHERE notice_id = q.id OFFSET 0) c
     WHERE c.criteria_count = (SELECT count(*) FROM notice_criteria WHERE notice_id = q.id)"
}

/// A notice with everything it names of one product, or of one code.
#[derive(Clone, Debug)]
pub(crate) struct Watched {
    pub(crate) id: Uuid,
    reference: String,
    firm: String,
    watch: Watch,
    cleared: Arc<Cleared>,
}

#[derive(Debug, Default)]
struct Cleared {
    lots: HashSet<Uuid>,
    units: HashSet<Uuid>,
}

/// An item as far as notices ask.
#[derive(Clone, Debug, Default)]
pub(crate) struct Item<'a> {
    /// Every lot that label or record names.
    pub(crate) lots: Vec<ItemLot<'a>>,
    /// The serialised piece.
    pub(crate) unit: Option<Uuid>,
    /// Its serial.
    pub(crate) serial: Option<&'a str>,
}

/// A lot that an item may be of.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ItemLot<'a> {
    pub(crate) id: Uuid,
    pub(crate) number: Option<&'a str>,
    /// What its record and its label say.
    pub(crate) expires_on: [Option<Date>; 2],
}

impl Watched {
    /// How the notice hits an item; nothing when it is surely another one, or was cleared. What is
    /// named as it stands is never cleared.
    pub(crate) fn hit(&self, item: &Item<'_>) -> Option<MatchClass> {
        let piece_cleared = item.unit.is_some_and(|id| self.cleared.units.contains(&id));
        let counts = |class: &MatchClass, cleared: bool| *class == MatchClass::Affected || !cleared;
        // An item of which no lot is known is not cleared by any.
        let mut lots = item.lots.iter().peekable();
        let lots_cleared =
            lots.peek().is_some() && lots.all(|lot| self.cleared.lots.contains(&lot.id));
        let by_lot = item.lots.iter().filter_map(|lot| {
            let cleared = piece_cleared || self.cleared.lots.contains(&lot.id);
            self.by_lot(lot).filter(|class| counts(class, cleared))
        });
        let cleared = piece_cleared || item.serial.is_none() && lots_cleared;
        let by_serial = self.watch.by_serial(item.serial);
        by_lot
            .max()
            .max(by_serial.filter(|class| counts(class, cleared)))
    }

    fn by_lot(&self, lot: &ItemLot<'_>) -> Option<MatchClass> {
        let [one, other] = lot.expires_on;
        let hit = |day| self.watch.by_lot(lot.number, day);
        match (one, other) {
            (Some(one), Some(other)) if one != other => hit(Some(one)).max(hit(Some(other))),
            (day, other) => hit(day.or(other)),
        }
    }

    /// Whether an item without a serial may be one that is named.
    pub(crate) fn names_serials(&self) -> bool {
        self.watch.names_serials()
    }

    /// What the rules are told.
    pub(crate) fn facts(&self, class: MatchClass) -> NoticeFacts<'_> {
        NoticeFacts {
            reference: &self.reference,
            firm: &self.firm,
            class,
        }
    }
}

/// The notices that hit an item, each once with its worst class, in the order they came.
pub(crate) fn hits<'a>(
    watched: impl Iterator<Item = &'a Watched>,
    item: &Item<'_>,
) -> Vec<(&'a Watched, MatchClass)> {
    let mut worst: BTreeMap<Uuid, (&Watched, MatchClass)> = BTreeMap::new();
    for notice in watched {
        let Some(class) = notice.hit(item) else {
            continue;
        };
        let hit = worst.entry(notice.id).or_insert((notice, class));
        hit.1 = hit.1.max(class);
    }
    worst.into_values().collect()
}

/// One criterion as its row has it.
pub(super) struct Loaded {
    notice: Uuid,
    reference: String,
    firm: String,
    pub(super) body: String,
    pub(super) open: bool,
    by_model: bool,
}

/// The notices that name products.
pub(crate) async fn of_products(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    products: Vec<Uuid>,
) -> Result<HashMap<Uuid, Vec<Watched>>, StoreError> {
    type Row = (Uuid, Uuid, String, String, String, bool, bool);
    if products.is_empty() {
        return Ok(HashMap::new());
    }
    let rows: Vec<Row> = OfProducts { facility, products }.load(connection).await?;
    let loaded = rows.into_iter().map(|row| {
        let (product, notice, reference, firm, body, open, by_model) = row;
        let loaded = Loaded {
            notice,
            reference,
            firm,
            body,
            open,
            by_model,
        };
        (product, loaded)
    });
    gather(connection, loaded).await
}

/// The notices that name codes.
pub(crate) async fn of_codes(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    codes: &[ProductCode],
) -> Result<HashMap<ProductCode, Vec<Watched>>, StoreError> {
    type Row = (String, String, Uuid, String, String, String, bool);
    let agency = codes.iter().map(|code| code.agency).collect();
    let code = codes.iter().map(|code| code.code.clone()).collect();
    let rows: Vec<Row> = OfCodes {
        facility,
        agency,
        code,
    }
    .load(connection)
    .await?;
    let mut loaded = Vec::with_capacity(rows.len());
    for (agency, code, notice, reference, firm, body, open) in rows {
        let code = crate::catalogue::stored_code(&agency, code)?;
        let by_model = false;
        loaded.push((
            code,
            Loaded {
                notice,
                reference,
                firm,
                body,
                open,
                by_model,
            },
        ));
    }
    gather(connection, loaded.into_iter()).await
}

async fn gather<K: std::hash::Hash + Eq>(
    connection: &mut AsyncPgConnection,
    loaded: impl Iterator<Item = (K, Loaded)>,
) -> Result<HashMap<K, Vec<Watched>>, StoreError> {
    let loaded: Vec<(K, Loaded)> = loaded.collect();
    if loaded.is_empty() {
        return Ok(HashMap::new());
    }
    let ids: HashSet<Uuid> = loaded.iter().map(|(_, one)| one.notice).collect();
    let cleared = clearances(connection, ids.into_iter().collect()).await?;
    let mut watched: HashMap<K, Vec<Watched>> = HashMap::new();
    for (key, one) in loaded {
        let criteria = one.criteria()?;
        let of_key = watched.entry(key).or_default();
        match of_key.iter_mut().find(|known| known.id == one.notice) {
            Some(known) => known.watch.add(criteria, one.by_model),
            None => {
                let mut watch = Watch::default();
                watch.add(criteria, one.by_model);
                let cleared = cleared.get(&one.notice).cloned().unwrap_or_default();
                of_key.push(Watched {
                    id: one.notice,
                    reference: one.reference,
                    firm: one.firm,
                    watch,
                    cleared,
                });
            }
        }
    }
    Ok(watched)
}

async fn clearances(
    connection: &mut AsyncPgConnection,
    notices: Vec<Uuid>,
) -> Result<HashMap<Uuid, Arc<Cleared>>, StoreError> {
    type Row = (Uuid, Option<Uuid>, Option<Uuid>);
    let rows: Vec<Row> = Clearances { notices }.load(connection).await?;
    let mut cleared: HashMap<Uuid, Cleared> = HashMap::new();
    for (notice, lot, unit) in rows {
        let of_notice = cleared.entry(notice).or_default();
        of_notice.lots.extend(lot);
        of_notice.units.extend(unit);
    }
    let shared = cleared.into_iter().map(|(id, one)| (id, Arc::new(one)));
    Ok(shared.collect())
}
