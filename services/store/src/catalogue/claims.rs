//! What becomes of the pieces of a product that is single-use from now on, or no longer.

use crate::recorder::{Failure, Writing};
use diesel::sql_types::{Array, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use lotwarden_domain::catalogue::UseClass;
use uuid::Uuid;

/// A product with its use class before and after.
pub(super) type Reclassed = (Uuid, UseClass, UseClass);

/// Has the newest standing use of each piece claim it where a piece serves one case only, and none
/// where it serves many: a label that came before its catalogue entry was taken for single-use.
pub(super) async fn follow_use_class(
    writing: &mut Writing<'_>,
    products: impl IntoIterator<Item = Reclassed>,
) -> Result<(), Failure> {
    let (mut one_case, mut many) = (Vec::new(), Vec::new());
    for (product, old, new) in products {
        match (old.one_case_only(), new.one_case_only()) {
            (false, true) => one_case.push(product),
            (true, false) => many.push(product),
            _ => {}
        }
    }
    let changes = [
        (
            one_case,
            "UPDATE uses SET claims_unit = true
             FROM (SELECT DISTINCT ON (u.unit_id) u.lot_id, u.scan_id
                FROM lots l JOIN uses u ON u.lot_id = l.id
                WHERE l.product_id = ANY ($1) AND u.unit_id IS NOT NULL AND u.struck_at IS NULL AND u.disposition <> 'returned'
                ORDER BY u.unit_id, u.taken_at DESC, u.scan_id DESC) newest
             WHERE uses.lot_id = newest.lot_id AND uses.scan_id = newest.scan_id",
        ),
        (
            many,
            "UPDATE uses SET claims_unit = false FROM lots l
             WHERE l.product_id = ANY ($1) AND uses.lot_id = l.id AND uses.claims_unit",
        ),
    ];
    for (products, change) in changes {
        if !products.is_empty() {
            diesel::sql_query(change)
                .bind::<Array<SqlUuid>, _>(products)
                .execute(writing.connection)
                .await?;
        }
    }
    Ok(())
}
