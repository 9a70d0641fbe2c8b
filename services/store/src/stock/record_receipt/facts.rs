//! What is on record of the products, lots and pieces that a delivery names.

use super::ReceiptLine;
use crate::access::change_policy;
use crate::catalogue::stored_code;
use crate::database::StoreError;
use crate::notices::watch::{self, Watched};
use crate::schema::{holds, locations, lots, movements, units, uses};
use diesel::dsl::sum;
use diesel::prelude::*;
use diesel::sql_types::{Array, Bool, Integer, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::cases::HoldScope;
use lotwarden_domain::catalogue::{LabelCarries, UseClass};
use lotwarden_domain::label::ProductCode;
use lotwarden_domain::policy::SitePolicy;
use std::collections::{BTreeSet, HashMap};
use uuid::Uuid;

/// The rows by their natural keys.
pub(super) struct Known {
    pub(super) policy: SitePolicy,
    pub(super) places: HashMap<Uuid, String>,
    /// The product of each code, and the units of use in one package with it.
    pub(super) codes: HashMap<ProductCode, (Uuid, u32)>,
    pub(super) products: HashMap<Uuid, KnownProduct>,
    /// The confirmed notices that name a code, whether the catalogue has it or not.
    pub(super) noticed: HashMap<ProductCode, Vec<Watched>>,
    pub(super) lot_numbers: HashMap<(Uuid, Option<String>), Uuid>,
    pub(super) lots: HashMap<Uuid, KnownLot>,
    pub(super) units: HashMap<(Uuid, String), KnownUnit>,
}

pub(super) struct KnownProduct {
    pub(super) name: String,
    pub(super) catalogued: bool,
    pub(super) use_class: UseClass,
    pub(super) carries: LabelCarries,
    pub(super) holds: Vec<KnownHold>,
    /// The confirmed notices that name it.
    pub(super) notices: Vec<Watched>,
}

pub(super) struct KnownHold {
    pub(super) scope: HoldScope,
    pub(super) lot: Option<Uuid>,
    pub(super) unit: Option<Uuid>,
    pub(super) reason: String,
}

pub(super) struct KnownLot {
    pub(super) number: Option<String>,
    pub(super) expires_on: Option<Date>,
    pub(super) manufactured_on: Option<Date>,
}

pub(super) struct KnownUnit {
    pub(super) id: Uuid,
    pub(super) lot: Uuid,
    pub(super) location: Option<Uuid>,
    pub(super) claimed_at: Option<Timestamp>,
    /// Whether its movements leave it in stock.
    pub(super) in_stock: bool,
}

impl Known {
    pub(super) async fn load(
        connection: &mut AsyncPgConnection,
        facility: Uuid,
        lines: &[ReceiptLine],
    ) -> Result<Self, StoreError> {
        let policy = change_policy::current(connection).await?.settings;
        let places: Vec<(Uuid, String)> = locations::table
            .select((locations::id, locations::name))
            .load(connection)
            .await?;
        let mut known = Self {
            policy,
            places: places.into_iter().collect(),
            codes: HashMap::new(),
            products: HashMap::new(),
            noticed: HashMap::new(),
            lot_numbers: HashMap::new(),
            lots: HashMap::new(),
            units: HashMap::new(),
        };
        known.load_products(connection, facility, lines).await?;
        known.load_holds(connection).await?;
        known.load_notices(connection, facility, lines).await?;
        known.load_units(connection, lines).await?;
        known.load_lots(connection, lines).await?;
        known.load_standing(connection).await?;
        Ok(known)
    }

    async fn load_products(
        &mut self,
        connection: &mut AsyncPgConnection,
        facility: Uuid,
        lines: &[ReceiptLine],
    ) -> Result<(), StoreError> {
        let codes: BTreeSet<&ProductCode> =
            lines.iter().flat_map(|line| line.label.codes()).collect();
        let rows: Vec<ProductRow> = diesel::sql_query(
            "SELECT i.agency, i.code, i.quantity, p.id, p.name, p.catalogued, p.use_class,
                    p.carries_lot, p.carries_serial, p.carries_expiry
             FROM unnest($2, $3) AS q (agency, code)
             JOIN product_identifiers i ON i.facility_id = $1 AND i.agency = q.agency AND i.code = q.code
             JOIN products p ON p.id = i.product_id",
        )
        .bind::<SqlUuid, _>(facility)
        .bind::<Array<Text>, _>(codes.iter().map(|code| code.agency).collect::<Vec<_>>())
        .bind::<Array<Text>, _>(codes.iter().map(|code| code.code.as_str()).collect::<Vec<_>>())
        .load(connection)
        .await?;
        for row in rows {
            let quantity = row.quantity.try_into().map_err(|_| StoreError::Unfit)?;
            self.codes
                .insert(stored_code(&row.agency, row.code)?, (row.id, quantity));
            let product = KnownProduct {
                name: row.name,
                catalogued: row.catalogued,
                use_class: row.use_class.parse().map_err(|_| StoreError::Unfit)?,
                carries: LabelCarries {
                    lot: row.carries_lot,
                    serial: row.carries_serial,
                    expiry: row.carries_expiry,
                },
                holds: Vec::new(),
                notices: Vec::new(),
            };
            self.products.insert(row.id, product);
        }
        Ok(())
    }

    fn product_ids(&self) -> Vec<Uuid> {
        self.products.keys().copied().collect()
    }

    async fn load_holds(&mut self, connection: &mut AsyncPgConnection) -> Result<(), StoreError> {
        type Row = (Uuid, String, Option<Uuid>, Option<Uuid>, String);
        let rows: Vec<Row> = holds::table
            .filter(holds::product_id.eq_any(self.product_ids()))
            .filter(holds::lifted_at.is_null())
            .order(holds::id)
            .select((
                holds::product_id,
                holds::scope,
                holds::lot_id,
                holds::unit_id,
                holds::reason,
            ))
            .load(connection)
            .await?;
        for (product, scope, lot, unit, reason) in rows {
            let scope = scope.parse().map_err(|_| StoreError::Unfit)?;
            let product = self.products.get_mut(&product).ok_or(StoreError::Unfit)?;
            product.holds.push(KnownHold {
                scope,
                lot,
                unit,
                reason,
            });
        }
        Ok(())
    }

    async fn load_notices(
        &mut self,
        connection: &mut AsyncPgConnection,
        facility: Uuid,
        lines: &[ReceiptLine],
    ) -> Result<(), StoreError> {
        let codes: BTreeSet<&ProductCode> =
            lines.iter().flat_map(|line| line.label.codes()).collect();
        let codes: Vec<ProductCode> = codes.into_iter().cloned().collect();
        self.noticed = watch::of_codes(connection, facility, &codes).await?;
        let watched = watch::of_products(connection, facility, self.product_ids()).await?;
        for (product, notices) in watched {
            let product = self.products.get_mut(&product).ok_or(StoreError::Unfit)?;
            product.notices = notices;
        }
        Ok(())
    }

    async fn load_units(
        &mut self,
        connection: &mut AsyncPgConnection,
        lines: &[ReceiptLine],
    ) -> Result<(), StoreError> {
        let serials: BTreeSet<&str> = lines
            .iter()
            .filter_map(|line| line.label.serial.as_deref())
            .collect();
        if serials.is_empty() {
            return Ok(());
        }
        type Row = (
            Uuid,
            String,
            Uuid,
            Uuid,
            Option<Uuid>,
            jiff_diesel::NullableTimestamp,
        );
        let claiming = uses::unit_id
            .eq(units::id.nullable())
            .and(uses::claims_unit);
        let rows: Vec<Row> = units::table
            .left_join(uses::table.on(claiming))
            .filter(units::product_id.eq_any(self.product_ids()))
            .filter(units::serial.eq_any(serials))
            .select((
                units::product_id,
                units::serial,
                units::id,
                units::lot_id,
                units::location_id,
                uses::taken_at.nullable(),
            ))
            .load(connection)
            .await?;
        for (product, serial, id, lot, location, claimed_at) in rows {
            let unit = KnownUnit {
                id,
                lot,
                location,
                claimed_at: claimed_at.to_jiff(),
                in_stock: false,
            };
            self.units.insert((product, serial), unit);
        }
        Ok(())
    }

    async fn load_lots(
        &mut self,
        connection: &mut AsyncPgConnection,
        lines: &[ReceiptLine],
    ) -> Result<(), StoreError> {
        let numbers: BTreeSet<&str> = lines
            .iter()
            .filter_map(|line| line.label.lot.as_deref())
            .collect();
        let of_units: Vec<Uuid> = self.units.values().map(|unit| unit.lot).collect();
        type Row = (
            Uuid,
            Uuid,
            Option<String>,
            jiff_diesel::NullableDate,
            jiff_diesel::NullableDate,
        );
        let columns = (
            lots::id,
            lots::product_id,
            lots::number,
            lots::expires_on,
            lots::manufactured_on,
        );
        let named: Vec<Row> = lots::table
            .filter(lots::product_id.eq_any(self.product_ids()))
            .filter(lots::number.eq_any(numbers).or(lots::number.is_null()))
            .select(columns)
            .load(connection)
            .await?;
        let others: Vec<Row> = lots::table
            .filter(lots::id.eq_any(of_units))
            .select(columns)
            .load(connection)
            .await?;
        for (id, product, number, expires_on, manufactured_on) in named.into_iter().chain(others) {
            self.lot_numbers.insert((product, number.clone()), id);
            let lot = KnownLot {
                number,
                expires_on: expires_on.to_jiff(),
                manufactured_on: manufactured_on.to_jiff(),
            };
            self.lots.insert(id, lot);
        }
        Ok(())
    }

    /// Whether a piece stands in stock is the sum of its movements: a reusable one leaves its place
    /// with every case and no claim says so.
    async fn load_standing(
        &mut self,
        connection: &mut AsyncPgConnection,
    ) -> Result<(), StoreError> {
        if self.units.is_empty() {
            return Ok(());
        }
        let lots: Vec<Uuid> = self.lots.keys().copied().collect();
        let ids: Vec<Option<Uuid>> = self.units.values().map(|unit| Some(unit.id)).collect();
        let rows: Vec<(Option<Uuid>, Option<i64>)> = movements::table
            .filter(movements::lot_id.eq_any(lots))
            .filter(movements::unit_id.eq_any(ids))
            .group_by(movements::unit_id)
            .select((movements::unit_id, sum(movements::quantity)))
            .load(connection)
            .await?;
        let sums: HashMap<Option<Uuid>, Option<i64>> = rows.into_iter().collect();
        for unit in self.units.values_mut() {
            let left = sums.get(&Some(unit.id)).copied().flatten();
            unit.in_stock = left.is_some_and(|left| left > 0);
        }
        Ok(())
    }
}

#[derive(QueryableByName)]
struct ProductRow {
    #[diesel(sql_type = Text)]
    agency: String,
    #[diesel(sql_type = Text)]
    code: String,
    #[diesel(sql_type = Integer)]
    quantity: i32,
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Bool)]
    catalogued: bool,
    #[diesel(sql_type = Text)]
    use_class: String,
    #[diesel(sql_type = Bool)]
    carries_lot: bool,
    #[diesel(sql_type = Bool)]
    carries_serial: bool,
    #[diesel(sql_type = Bool)]
    carries_expiry: bool,
}
