//! The products that a notice names, with all their lots.

use super::{LotMatched, ProductMatched, Row};
use crate::database::StoreError;
use crate::notices::watch::{self, Watched};
use crate::recorder::statement::statement;
use diesel::sql_types::{Array, Date as SqlDate, Nullable, Text, Uuid as SqlUuid};
use diesel::{QueryableByName, sql_query};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::civil::Date;
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// What a notice can hit: its products, their lots, and the criteria.
#[derive(Debug, Default)]
pub(crate) struct Scope {
    pub(super) products: Vec<ProductMatched>,
    pub(super) watched: HashMap<Uuid, Watched>,
    /// Every lot of the products, in the order of their ids.
    pub(super) lots: BTreeMap<Uuid, LotOnRecord>,
    /// The lots whose items without a serial are hit, in the order of their ids.
    pub(super) hit: Vec<LotMatched>,
}

#[derive(Debug)]
pub(super) struct LotOnRecord {
    pub(super) product: Uuid,
    pub(super) number: Option<String>,
    pub(super) expires_on: Option<Date>,
}

#[derive(QueryableByName)]
struct ProductRow {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    maker: String,
    #[diesel(sql_type = Text)]
    model: String,
}

statement! {
    /// Every lot of products.
    LotsOf(products: Vec<Uuid> => Array<SqlUuid>) -> (SqlUuid, SqlUuid, Nullable<Text>, Nullable<SqlDate>),
    "SELECT l.id, l.product_id, l.number, l.expires_on FROM unnest($1) AS q (id),
     LATERAL (SELECT * FROM lots WHERE product_id = q.id OFFSET 0) l"
}

impl Scope {
    /// Reads it. Products are found through the catalogue as it stands.
    pub(super) async fn of(
        connection: &mut AsyncPgConnection,
        facility: Uuid,
        notice: Uuid,
    ) -> Result<Self, StoreError> {
        let rows: Vec<ProductRow> = sql_query(
            "SELECT p.id, p.name, p.maker, p.model FROM (
                SELECT i.product_id AS id FROM notice_names n, product_identifiers i
                WHERE n.notice_id = $2 AND i.facility_id = $1 AND i.agency = n.agency AND i.code = n.code
                UNION
                SELECT n.code::uuid FROM notice_names n WHERE n.notice_id = $2 AND n.agency = 'product'
                UNION
                SELECT p.id FROM notice_names n, products p WHERE n.notice_id = $2 AND n.agency = 'model'
                AND p.facility_id = $1 AND folded_model(p.model) = n.code AND p.model <> ''
             ) q JOIN products p ON p.id = q.id ORDER BY p.id",
        )
        .bind::<SqlUuid, _>(facility)
        .bind::<SqlUuid, _>(notice)
        .load(connection)
        .await?;
        let ids: Vec<Uuid> = rows.iter().map(|row| row.id).collect();
        let all = watch::of_products(connection, facility, ids.clone()).await?;
        let mut scope = Self::default();
        for (product, watched) in all {
            let own = watched.into_iter().find(|watched| watched.id == notice);
            scope.watched.extend(own.map(|own| (product, own)));
        }
        let named = rows
            .into_iter()
            .filter(|row| scope.watched.contains_key(&row.id));
        scope.products = named.map(ProductMatched::from).collect();
        type Row = (Uuid, Uuid, Option<String>, Option<jiff_diesel::Date>);
        let products = scope.watched.keys().copied().collect();
        let rows: Vec<Row> = LotsOf { products }.load(connection).await?;
        let lots = rows.into_iter().map(|(id, product, number, expires_on)| {
            let lot = LotOnRecord {
                product,
                number,
                expires_on: expires_on.map(|date| date.to_jiff()),
            };
            (id, lot)
        });
        scope.lots = lots.collect();
        scope.hit = scope.hit_lots();
        Ok(scope)
    }

    fn hit_lots(&self) -> Vec<LotMatched> {
        let hit = self.lots.iter().filter_map(|(id, lot)| {
            let class = self.class(Row {
                product: lot.product,
                lot: *id,
                unit: None,
            })?;
            Some(LotMatched {
                id: *id,
                product: lot.product,
                number: lot.number.clone(),
                expires_on: lot.expires_on,
                class,
            })
        });
        hit.collect()
    }

    /// The products of which serials are named, so that each piece counts by itself.
    pub(super) fn by_piece(&self) -> Vec<Uuid> {
        let named = self.watched.iter().filter(|(_, one)| one.names_serials());
        named.map(|(product, _)| *product).collect()
    }

    /// Every lot, unless the notice leaves its items out whatever their serial.
    pub(super) fn lots_in_question(&self) -> Vec<Uuid> {
        let by_piece = self.by_piece();
        let is_hit = |id: &Uuid| self.hit.binary_search_by_key(id, |lot| lot.id).is_ok();
        let asked = self.lots.iter();
        let asked = asked.filter(|(id, lot)| by_piece.contains(&lot.product) || is_hit(id));
        asked.map(|(id, _)| *id).collect()
    }

    /// The number of a lot within the scope.
    pub(in crate::notices) fn number_of(&self, lot: Uuid) -> Option<&str> {
        self.lots.get(&lot)?.number.as_deref()
    }

    /// The product of a lot within the scope.
    pub(super) fn product_of(&self, lot: Uuid) -> Option<Uuid> {
        Some(self.lots.get(&lot)?.product)
    }
}

impl From<ProductRow> for ProductMatched {
    fn from(row: ProductRow) -> Self {
        Self {
            id: row.id,
            name: row.name,
            maker: row.maker,
            model: row.model,
        }
    }
}
