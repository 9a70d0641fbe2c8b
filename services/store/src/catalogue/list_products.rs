//! Reading products.

use super::{Product, ProductRow, stored_code};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{product_identifiers, products};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::catalogue::NewIdentifier;
use lotwarden_domain::label::ProductCode;
use std::collections::HashMap;
use uuid::Uuid;

/// Which products are asked for.
#[derive(Clone, Debug, Default)]
pub struct ProductFilter {
    /// Only those that have one of these identifiers; none asks for all.
    pub codes: Vec<ProductCode>,
    /// Only those with this text in name, maker or model, in any case.
    pub text: Option<String>,
    /// Only those described, or only those met by a label and not described yet.
    pub catalogued: Option<bool>,
}

/// Lists products in the order they were added.
///
/// # Errors
/// [`StoreError`].
pub async fn list(
    reading: &mut Reading,
    filter: &ProductFilter,
    after: After,
) -> Result<Page<Product>, StoreError> {
    let mut query = products::table
        .filter(products::id.gt(after.start()))
        .order(products::id)
        .limit(after.fetch())
        .select(ProductRow::as_select())
        .into_boxed();
    if !filter.codes.is_empty() {
        let owners = owners(reading, &filter.codes).await?;
        let ids: Vec<Uuid> = owners.into_iter().map(|(_, id)| id).collect();
        query = query.filter(products::id.eq_any(ids));
    }
    if let Some(text) = &filter.text {
        let pattern = containing(text);
        query = query.filter(
            products::name
                .ilike(pattern.clone())
                .or(products::maker.ilike(pattern.clone()))
                .or(products::model.ilike(pattern)),
        );
    }
    if let Some(catalogued) = filter.catalogued {
        query = query.filter(products::catalogued.eq(catalogued));
    }
    let rows: Vec<ProductRow> = query.load(reading.connection()).await?;
    let page = Page::of(rows, after, |row| row.id);
    let ids: Vec<Uuid> = page.items.iter().map(|row| row.id).collect();
    let mut identifiers = identifiers(reading.connection(), &ids).await?;
    let items = page.items.into_iter().map(|row| {
        let own = identifiers.remove(&row.id).unwrap_or_default();
        row.with(own)
    });
    Ok(Page {
        items: items.collect::<Result<_, _>>()?,
        next: page.next,
    })
}

/// Shows one product; none when there is no such product.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<Product>, StoreError> {
    by_id(reading.connection(), id).await
}

/// Shows the product that has an identifier.
///
/// # Errors
/// [`StoreError`].
pub async fn product_by_code(
    reading: &mut Reading,
    code: &ProductCode,
) -> Result<Option<Product>, StoreError> {
    let key = (reading.facility(), code.agency, &code.code);
    let id: Option<Uuid> = product_identifiers::table
        .find(key)
        .select(product_identifiers::product_id)
        .first(reading.connection())
        .await
        .optional()?;
    match id {
        Some(id) => by_id(reading.connection(), id).await,
        None => Ok(None),
    }
}

/// Chooses among the forms that one typed code can stand in the catalogue as: the first that it
/// has, else the first; none only when there is no form.
///
/// # Errors
/// [`StoreError`].
pub async fn known_form(
    reading: &mut Reading,
    forms: &[ProductCode],
) -> Result<Option<ProductCode>, StoreError> {
    let known = owners(reading, forms).await?;
    let has = |form: &&ProductCode| known.iter().any(|(code, _)| code == *form);
    let chosen = forms.iter().find(has).or(forms.first());
    Ok(chosen.cloned())
}

async fn owners(
    reading: &mut Reading,
    codes: &[ProductCode],
) -> Result<Vec<(ProductCode, Uuid)>, StoreError> {
    use product_identifiers as columns;
    let agencies: Vec<&str> = codes.iter().map(|code| code.agency).collect();
    let texts: Vec<&str> = codes.iter().map(|code| code.code.as_str()).collect();
    let rows: Vec<(String, String, Uuid)> = columns::table
        .filter(columns::facility_id.eq(reading.facility()))
        .filter(columns::agency.eq_any(agencies))
        .filter(columns::code.eq_any(texts))
        .select((columns::agency, columns::code, columns::product_id))
        .load(reading.connection())
        .await?;
    let owners = rows
        .into_iter()
        .map(|(agency, code, product)| Ok((stored_code(&agency, code)?, product)));
    let mut owners = owners.collect::<Result<Vec<_>, StoreError>>()?;
    owners.retain(|(code, _)| codes.contains(code));
    Ok(owners)
}

/// Reads one product on any connection.
pub(super) async fn by_id(
    connection: &mut AsyncPgConnection,
    id: Uuid,
) -> Result<Option<Product>, StoreError> {
    let row: Option<ProductRow> = products::table
        .find(id)
        .select(ProductRow::as_select())
        .first(connection)
        .await
        .optional()?;
    let Some(row) = row else {
        return Ok(None);
    };
    let mut identifiers = identifiers(connection, &[id]).await?;
    let own = identifiers.remove(&id).unwrap_or_default();
    row.with(own).map(Some)
}

/// Reads products on any connection.
pub(crate) async fn by_ids(
    connection: &mut AsyncPgConnection,
    ids: &[Uuid],
) -> Result<Vec<Product>, StoreError> {
    let rows: Vec<ProductRow> = products::table
        .filter(products::id.eq_any(ids))
        .select(ProductRow::as_select())
        .load(connection)
        .await?;
    let mut identifiers = identifiers(connection, ids).await?;
    let product = |row: ProductRow| {
        let own = identifiers.remove(&row.id).unwrap_or_default();
        row.with(own)
    };
    rows.into_iter().map(product).collect()
}

async fn identifiers(
    connection: &mut AsyncPgConnection,
    products: &[Uuid],
) -> Result<HashMap<Uuid, Vec<NewIdentifier>>, StoreError> {
    use product_identifiers as columns;
    type Row = (Uuid, String, String, String, i32, bool);
    let rows: Vec<Row> = columns::table
        .filter(columns::product_id.eq_any(products))
        .order((columns::agency, columns::code))
        .select((
            columns::product_id,
            columns::agency,
            columns::code,
            columns::level,
            columns::quantity,
            columns::check_digit_right,
        ))
        .load(connection)
        .await?;
    let mut all: HashMap<Uuid, Vec<NewIdentifier>> = HashMap::new();
    for (product, agency, code, level, quantity, check_digit_right) in rows {
        let identifier = NewIdentifier {
            code: stored_code(&agency, code)?,
            level: level.parse().map_err(|_| StoreError::Unfit)?,
            quantity: quantity.try_into().map_err(|_| StoreError::Unfit)?,
            check_digit_right,
        };
        all.entry(product).or_default().push(identifier);
    }
    Ok(all)
}

/// The pattern of texts that contain the given one as it is.
fn containing(text: &str) -> String {
    let mut pattern = String::with_capacity(text.len() + 2);
    pattern.push('%');
    for character in text.chars() {
        if matches!(character, '%' | '_' | '\\') {
            pattern.push('\\');
        }
        pattern.push(character);
    }
    pattern.push('%');
    pattern
}

#[cfg(test)]
mod tests {
    use super::containing;

    // LIKE's own characters and its escape: PostgreSQL manual, 9.7.1.
    #[test]
    fn a_searched_text_stands_for_itself() {
        assert_eq!(containing(r"50%_a\b"), r"%50\%\_a\\b%");
    }
}
