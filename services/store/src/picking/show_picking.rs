//! The picking list of a case, sorted by place.

use super::bins::{Stock, stock};
use crate::cases::{Case, find};
use crate::database::{Reading, StoreError};
use crate::facilities::Facility;
use crate::records::{ListItem, ListsOf, PreferenceList, on_cases};
use crate::schema::{lots, picks, products};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::civil::Date;
use lotwarden_domain::cases::PickKind;
use lotwarden_domain::catalogue::ProductKind;
use lotwarden_domain::picking::{Bin, Need, Pick, Wanted, pick};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use uuid::Uuid;

/// What is to be taken for a case.
#[derive(Clone, Debug)]
pub struct PickingList {
    /// The version of the case that this was computed from.
    pub version: i32,
    /// The list of the procedure; none when it has none.
    pub list: Option<Uuid>,
    /// What the list asks for.
    pub lines: Vec<PickingLine>,
    /// Where to take it from, by the places' names.
    pub from: Vec<PickFrom>,
}

/// A line of the list.
#[derive(Clone, Debug)]
pub struct PickingLine {
    /// The product's name, or the kind.
    pub name: String,
    /// The product; none for any product of a kind.
    pub product: Option<Uuid>,
    /// Whether a gas may be taken for it.
    pub(super) gas: bool,
    /// To open.
    pub open: i64,
    /// To have available and not open.
    pub hold: i64,
    /// Taken out or on the case already.
    pub taken: i64,
    /// What nothing can be taken for.
    pub short: i64,
}

/// So many of a lot from a place.
#[derive(Clone, Debug)]
pub struct PickFrom {
    /// The line it is for.
    pub line: usize,
    /// The place, by id and name.
    pub location: (Uuid, String),
    /// The product, by id and name.
    pub product: (Uuid, String),
    /// The lot, by id and number.
    pub lot: (Uuid, Option<String>),
    /// The last usable day.
    pub expires_on: Option<Date>,
    /// Units of use.
    pub quantity: i64,
    /// Whether it stands in for what the list asks for.
    pub substitute: bool,
}

/// A case with what its list asks for.
pub(super) struct Setup {
    pub(super) case: Case,
    pub(super) list: Option<PreferenceList>,
    pub(super) needs: Vec<Need>,
    pub(super) lines: Vec<PickingLine>,
}

impl Setup {
    /// The products that it may take.
    pub(super) fn products(&self) -> Vec<Uuid> {
        let items = self.list.iter().flat_map(|list| &list.items);
        items.flat_map(ListItem::products).collect()
    }

    /// The kinds that it may take any product of.
    pub(super) fn kinds(&self) -> Vec<ProductKind> {
        let kinds = self.list.iter().flat_map(|list| &list.kinds);
        kinds.map(|one| one.kind).collect()
    }

    /// Notes what nothing was taken for.
    pub(super) fn shorten(&mut self, picks: &[Pick]) {
        for (at, (line, need)) in self.lines.iter_mut().zip(&self.needs).enumerate() {
            let own = picks.iter().filter(|pick| pick.need == at);
            let taken: i64 = own.map(|pick| pick.quantity).sum();
            line.short = need.quantity - taken;
        }
    }
}

/// What cases still need by their lists, in a few queries however many there are.
pub(super) async fn setups(
    connection: &mut AsyncPgConnection,
    cases: Vec<Case>,
) -> Result<Vec<Setup>, StoreError> {
    let procedures: Vec<&str> = cases.iter().map(|case| case.procedure.as_str()).collect();
    let lists = ListsOf::procedures(connection, &procedures).await?;
    let ids: Vec<Uuid> = cases.iter().map(|case| case.id).collect();
    let mut taken = taken(connection, &ids).await?;
    let mut setups: Vec<Setup> = cases
        .into_iter()
        .map(|case| Setup {
            list: lists.of(&case.procedure, case.practitioner.0).cloned(),
            case,
            needs: Vec::new(),
            lines: Vec::new(),
        })
        .collect();
    let asked = setups.iter().flat_map(Setup::products);
    let asked: BTreeSet<Uuid> = asked
        .chain(taken.values().flat_map(BTreeMap::keys).copied())
        .collect();
    let rows: Vec<(Uuid, String, String)> = products::table
        .filter(products::id.eq_any(asked))
        .select((products::id, products::name, products::kind))
        .load(connection)
        .await?;
    let mut known = HashMap::new();
    for (id, name, kind) in rows {
        let kind: ProductKind = kind.parse().map_err(|_| StoreError::Unfit)?;
        known.insert(id, (name, kind));
    }
    for setup in &mut setups {
        let taken = taken.remove(&setup.case.id).unwrap_or_default();
        setup.fill(taken, &known);
    }
    Ok(setups)
}

impl Setup {
    /// Compares the list with what was taken out or is on the case.
    fn fill(
        &mut self,
        mut left: BTreeMap<Uuid, i64>,
        known: &HashMap<Uuid, (String, ProductKind)>,
    ) {
        let Some(list) = &self.list else {
            return;
        };
        let kind_of = |id: &Uuid| known.get(id).map(|(_, kind)| *kind);
        let items = list.items.iter().map(|item| {
            let wanted = Wanted::Product {
                product: item.product,
                alternatives: item.alternatives.clone(),
            };
            let name = known.get(&item.product).map(|(name, _)| name.clone());
            let mut any = std::iter::once(&item.product).chain(&item.alternatives);
            let gas = any.any(|id| kind_of(id) == Some(ProductKind::Gas));
            let name = name.unwrap_or_default();
            (
                wanted,
                (name, Some(item.product), gas),
                (item.open, item.hold),
            )
        });
        let kinds = list.kinds.iter().map(|one| {
            let gas = one.kind == ProductKind::Gas;
            let shown = (one.kind.to_string(), None, gas);
            (Wanted::Kind(one.kind), shown, (one.open, one.hold))
        });
        for (wanted, (name, product, gas), (open, hold)) in items.chain(kinds) {
            let (open, hold) = (i64::from(open), i64::from(hold));
            let mut missing = open + hold;
            // What was taken counts for one line only.
            for (id, count) in &mut left {
                if kind_of(id).is_some_and(|kind| wanted.rank(*id, kind).is_some()) {
                    let here = missing.min(*count);
                    *count -= here;
                    missing -= here;
                }
            }
            self.lines.push(PickingLine {
                name,
                product,
                gas,
                open,
                hold,
                taken: open + hold - missing,
                short: 0,
            });
            self.needs.push(Need {
                wanted,
                quantity: missing,
            });
        }
    }
}

/// How many of each product were taken out for each case, or are on it without having been.
async fn taken(
    connection: &mut AsyncPgConnection,
    cases: &[Uuid],
) -> Result<HashMap<Uuid, BTreeMap<Uuid, i64>>, StoreError> {
    let rows: Vec<(Uuid, Uuid, String, i32)> = picks::table
        .inner_join(lots::table.on(lots::id.eq(picks::lot_id)))
        .filter(picks::case_id.eq_any(cases))
        .select((
            picks::case_id,
            lots::product_id,
            picks::kind,
            picks::quantity,
        ))
        .load(connection)
        .await?;
    let mut out: HashMap<Uuid, BTreeMap<Uuid, i64>> = HashMap::new();
    for (case, product, kind, quantity) in rows {
        let kind: PickKind = kind.parse().map_err(|_| StoreError::Unfit)?;
        *out.entry(case).or_default().entry(product).or_default() += match kind {
            PickKind::Picked => i64::from(quantity),
            PickKind::Returned => -i64::from(quantity),
        };
    }
    for (case, product, count) in on_cases(connection, cases).await? {
        let out = out.entry(case).or_default().entry(product).or_default();
        *out = count.max(*out);
    }
    for products in out.values_mut() {
        products.retain(|_, count| *count > 0);
    }
    Ok(out)
}

/// Shows what is to be taken for a case and from where, first expired first out; none when there
/// is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn show_picking(
    reading: &mut Reading,
    facility: &Facility,
    case: Uuid,
) -> Result<Option<PickingList>, StoreError> {
    let connection = reading.connection();
    let Some(case) = find(connection, case).await? else {
        return Ok(None);
    };
    let day = facility.day(case.scheduled_for);
    let mut setups = setups(connection, vec![case]).await?;
    let mut setup = setups.pop().ok_or(StoreError::Unfit)?;
    let (products, kinds) = (setup.products(), setup.kinds());
    let stock = stock(connection, facility.id, products, &kinds, day).await?;
    let mut bins: Vec<Bin> = stock.iter().map(|one| one.bin.clone()).collect();
    let picks = pick(&setup.needs, &mut bins);
    setup.shorten(&picks);
    let mut from: Vec<PickFrom> = picks
        .iter()
        .filter_map(|pick| Some(taken_from(pick, stock.get(pick.bin)?)))
        .collect();
    let order = |one: &PickFrom| {
        (
            one.location.1.clone(),
            one.product.1.clone(),
            one.expires_on,
        )
    };
    from.sort_by_key(order);
    Ok(Some(PickingList {
        version: setup.case.version,
        list: setup.list.map(|list| list.id),
        lines: setup.lines,
        from,
    }))
}

fn taken_from(pick: &Pick, stock: &Stock) -> PickFrom {
    PickFrom {
        line: pick.need,
        location: (stock.location, stock.bin.place.clone()),
        product: (stock.bin.product, stock.product_name.clone()),
        lot: (stock.lot, stock.lot_number.clone()),
        expires_on: stock.bin.expires_on,
        quantity: pick.quantity,
        substitute: pick.substitute,
    }
}
