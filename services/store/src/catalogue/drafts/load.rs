//! Reading the products that an operation speaks of.

use super::{Before, Draft, Drafts, Owned};
use crate::catalogue::{ProductDescription, stored_code};
use crate::database::StoreError;
use diesel::QueryableByName;
use diesel::sql_types::{Array, Bool, Integer, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::catalogue::LabelCarries;
use lotwarden_domain::label::ProductCode;
use std::collections::BTreeSet;
use uuid::Uuid;

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = Text)]
    agency: String,
    #[diesel(sql_type = Text)]
    code: String,
    #[diesel(sql_type = Text)]
    level: String,
    #[diesel(sql_type = Integer)]
    quantity: i32,
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    maker: String,
    #[diesel(sql_type = Text)]
    model: String,
    #[diesel(sql_type = Text)]
    kind: String,
    #[diesel(sql_type = Text)]
    use_class: String,
    #[diesel(sql_type = Bool)]
    carries_lot: bool,
    #[diesel(sql_type = Bool)]
    carries_serial: bool,
    #[diesel(sql_type = Bool)]
    carries_expiry: bool,
    #[diesel(sql_type = Bool)]
    catalogued: bool,
    #[diesel(sql_type = Integer)]
    version: i32,
}

impl Drafts {
    /// Reads the products that have any of the codes.
    pub(in crate::catalogue) async fn load(
        connection: &mut AsyncPgConnection,
        facility: Uuid,
        codes: BTreeSet<&ProductCode>,
    ) -> Result<Self, StoreError> {
        let agencies: Vec<&str> = codes.iter().map(|code| code.agency).collect();
        let texts: Vec<&str> = codes.iter().map(|code| code.code.as_str()).collect();
        let rows: Vec<Row> = diesel::sql_query(
            "SELECT i.agency, i.code, i.level, i.quantity, p.id, p.name, p.maker, p.model, p.kind, p.use_class,
                    p.carries_lot, p.carries_serial, p.carries_expiry, p.catalogued, p.version
             FROM unnest($2, $3) AS q (agency, code)
             JOIN product_identifiers i ON i.facility_id = $1 AND i.agency = q.agency AND i.code = q.code
             JOIN products p ON p.id = i.product_id",
        )
        .bind::<SqlUuid, _>(facility)
        .bind::<Array<Text>, _>(agencies)
        .bind::<Array<Text>, _>(texts)
        .load(connection)
        .await?;
        let mut drafts = Self::default();
        for row in rows {
            drafts.take(row)?;
        }
        Ok(drafts)
    }

    fn take(&mut self, row: Row) -> Result<(), StoreError> {
        let owned = Owned {
            product: row.id,
            level: row.level.parse().map_err(|_| StoreError::Unfit)?,
            quantity: row.quantity.try_into().map_err(|_| StoreError::Unfit)?,
        };
        self.owners
            .insert(stored_code(&row.agency, row.code)?, owned);
        if self.products.contains_key(&row.id) {
            return Ok(());
        }
        let description = ProductDescription {
            name: row.name,
            maker: row.maker,
            model: row.model,
            kind: row.kind.parse().map_err(|_| StoreError::Unfit)?,
            use_class: row.use_class.parse().map_err(|_| StoreError::Unfit)?,
            carries: LabelCarries {
                lot: row.carries_lot,
                serial: row.carries_serial,
                expiry: row.carries_expiry,
            },
        };
        let draft = Draft {
            now: description.clone(),
            before: Some(Before {
                description,
                catalogued: row.catalogued,
                version: row.version,
            }),
            catalogued: row.catalogued,
            identifiers: Vec::new(),
            repackaged: Vec::new(),
            touched: false,
        };
        self.products.insert(row.id, draft);
        Ok(())
    }
}
