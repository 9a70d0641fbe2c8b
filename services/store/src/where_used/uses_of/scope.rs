//! What a question covers: the product, the lots and the piece it can mean.

use super::{Class, LotFound, ProductFound, UnitFound};
use crate::database::StoreError;
use crate::schema::{lots, product_identifiers, products, receipt_lines, scans, units, uses};
use crate::where_used::Question;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::Text;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use uuid::Uuid;

/// The rows a question covers.
pub(in crate::where_used) struct Scope {
    pub(in crate::where_used) product: ProductFound,
    pub(in crate::where_used) lots: Vec<LotFound>,
    pub(in crate::where_used) unit: Option<UnitFound>,
}

type LotRow = (Uuid, Option<String>, jiff_diesel::NullableDate);

impl Scope {
    /// Reads it; none when no product has the identifier.
    pub(super) async fn of(
        connection: &mut AsyncPgConnection,
        question: &Question,
    ) -> Result<Option<Self>, StoreError> {
        let Some(product) = product(connection, question).await? else {
            return Ok(None);
        };
        let unit = match &question.serial {
            Some(serial) => unit(connection, product.id, serial).await?,
            None => None,
        };
        let mut scope = Self {
            product,
            lots: Vec::new(),
            unit,
        };
        for (id, number, expires_on) in scope.lot_rows(connection, question).await? {
            let class = scope.lot_class(question, id, number.as_deref());
            scope.lots.push(LotFound {
                id,
                number,
                expires_on: expires_on.to_jiff(),
                class,
            });
        }
        Ok(Some(scope))
    }

    /// Every lot the item can be recorded under.
    async fn lot_rows(
        &self,
        connection: &mut AsyncPgConnection,
        question: &Question,
    ) -> Result<Vec<LotRow>, StoreError> {
        let of_product = lots::table
            .filter(lots::product_id.eq(self.product.id))
            .select((lots::id, lots::number, lots::expires_on));
        let own = self.unit.as_ref().filter(|unit| unit.numbered);
        let number = match (&question.lot, own) {
            (Some(number), _) => Some(number.as_str()),
            (None, Some(_)) => None,
            (None, None) => return Ok(of_product.load(connection).await?),
        };
        // Apart, so that each goes by the index of lot numbers.
        let mut rows: Vec<LotRow> = of_product
            .filter(lots::number.is_null())
            .load(connection)
            .await?;
        if let Some(number) = number {
            let named = of_product.filter(lots::number.eq(number));
            rows.extend(named.load::<LotRow>(connection).await?);
        }
        if let Some(piece) = &self.unit {
            let mut ids = lots_of_piece(connection, piece).await?;
            ids.retain(|id| rows.iter().all(|row| row.0 != *id));
            let further = of_product.filter(lots::id.eq_any(ids));
            rows.extend(further.load::<LotRow>(connection).await?);
        }
        Ok(rows)
    }

    fn lot_class(&self, question: &Question, id: Uuid, number: Option<&str>) -> Class {
        let named = match (&question.lot, &question.serial) {
            (Some(lot), _) => number == Some(lot),
            (None, None) => true,
            (None, Some(_)) => self.unit.as_ref().is_some_and(|unit| unit.lot == id),
        };
        if named {
            Class::Affected
        } else {
            Class::CannotExclude
        }
    }

    /// Every lot covered.
    pub(in crate::where_used) fn all_lots(&self) -> Vec<Uuid> {
        self.lots.iter().map(|lot| lot.id).collect()
    }

    /// The piece asked for, when it is on record.
    pub(in crate::where_used) fn piece(&self) -> Option<Uuid> {
        self.unit.as_ref().map(|unit| unit.id)
    }

    /// The lots that the question names.
    pub(in crate::where_used) fn named_lots(&self) -> Vec<Uuid> {
        let named = self.lots.iter().filter(|lot| lot.class == Class::Affected);
        named.map(|lot| lot.id).collect()
    }

    /// How a use or piece of a lot relates to the question; none when its record excludes it.
    pub(in crate::where_used) fn class_of(
        &self,
        question: &Question,
        lot: Uuid,
        unit: Option<Uuid>,
    ) -> Option<Class> {
        let record = self.lots.iter().find(|record| record.id == lot);
        let number = record.and_then(|record| record.number.as_deref());
        let asked = question.lot.as_deref();
        if question.serial.is_none() {
            // A lot outside the scope came by the record of its piece, which names the lot asked for.
            return Some(record.map_or(Class::CannotExclude, |record| record.class));
        }
        if let Some(unit) = unit {
            let same = self.unit.as_ref().is_some_and(|asked| asked.id == unit);
            let agrees = asked.is_none() || number == asked;
            return same.then_some(if agrees {
                Class::Affected
            } else {
                Class::CannotExclude
            });
        }
        let possible = match (asked, &self.unit) {
            (Some(asked), _) => number.is_none_or(|number| number == asked),
            // The record of a piece excludes other lots only when it names its own.
            (None, Some(piece)) => number.is_none() || lot == piece.lot || !piece.numbered,
            (None, None) => true,
        };
        possible.then_some(Class::CannotExclude)
    }

    /// The lots whose uses can be of the piece asked for though they name no piece.
    pub(in crate::where_used) fn possible_lots(&self, question: &Question) -> Vec<Uuid> {
        let ids = self.lots.iter().map(|lot| lot.id);
        ids.filter(|lot| self.class_of(question, *lot, None).is_some())
            .collect()
    }
}

/// The lot on the record of a piece, and those it was received, used or stopped under.
async fn lots_of_piece(
    connection: &mut AsyncPgConnection,
    piece: &UnitFound,
) -> Result<Vec<Uuid>, StoreError> {
    let used = uses::table
        .filter(uses::unit_id.eq(piece.id))
        .select(uses::lot_id);
    let received = receipt_lines::table
        .filter(receipt_lines::unit_id.eq(piece.id))
        .select(receipt_lines::lot_id);
    let stopped = scans::table
        .filter(scans::unit_id.eq(piece.id))
        .filter(scans::verdict.eq(sql::<Text>("'stop'")))
        .filter(scans::lot_id.is_not_null())
        .select(scans::lot_id.assume_not_null());
    let mut lots: Vec<Uuid> = used.union(received).union(stopped).load(connection).await?;
    lots.push(piece.lot);
    Ok(lots)
}

async fn product(
    connection: &mut AsyncPgConnection,
    question: &Question,
) -> Result<Option<ProductFound>, StoreError> {
    type Row = (String, String, Uuid, String, String, String);
    let codes: Vec<&str> = question
        .codes
        .iter()
        .map(|code| code.code.as_str())
        .collect();
    let agencies: Vec<&str> = question.codes.iter().map(|code| code.agency).collect();
    let rows: Vec<Row> = product_identifiers::table
        .inner_join(products::table.on(products::id.eq(product_identifiers::product_id)))
        .filter(product_identifiers::agency.eq_any(agencies))
        .filter(product_identifiers::code.eq_any(codes))
        .select((
            product_identifiers::agency,
            product_identifiers::code,
            products::id,
            products::name,
            products::maker,
            products::model,
        ))
        .load(connection)
        .await?;
    let found = question.codes.iter().find_map(|asked| {
        rows.iter()
            .find(|(agency, code, ..)| *agency == asked.agency && *code == asked.code)
    });
    Ok(found.map(|(_, _, id, name, maker, model)| ProductFound {
        id: *id,
        name: name.clone(),
        maker: maker.clone(),
        model: model.clone(),
    }))
}

async fn unit(
    connection: &mut AsyncPgConnection,
    product: Uuid,
    serial: &str,
) -> Result<Option<UnitFound>, StoreError> {
    let row: Option<(Uuid, Uuid, Option<Uuid>, Option<String>)> = units::table
        .inner_join(lots::table.on(lots::id.eq(units::lot_id)))
        .filter(units::product_id.eq(product))
        .filter(units::serial.eq(serial))
        .select((units::id, units::lot_id, units::location_id, lots::number))
        .first(connection)
        .await
        .optional()?;
    Ok(row.map(|(id, lot, location, number)| UnitFound {
        id,
        lot,
        location,
        numbered: number.is_some(),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOT_A: Uuid = Uuid::from_u128(1);
    const LOT_B: Uuid = Uuid::from_u128(2);
    const BLANK: Uuid = Uuid::from_u128(3);
    const PIECE: Uuid = Uuid::from_u128(4);
    const OTHER: Uuid = Uuid::from_u128(5);

    fn classes(lot: Option<&str>, serial: Option<&str>, unit: Option<Uuid>) -> [Option<Class>; 7] {
        let question = Question {
            codes: Vec::new(),
            lot: lot.map(str::to_owned),
            serial: serial.map(str::to_owned),
        };
        let mut scope = Scope {
            product: ProductFound {
                id: Uuid::nil(),
                name: String::new(),
                maker: String::new(),
                model: String::new(),
            },
            lots: Vec::new(),
            unit: unit.map(|id| UnitFound {
                id,
                lot: LOT_A,
                location: None,
                numbered: true,
            }),
        };
        for (id, number) in [(LOT_A, Some("A")), (LOT_B, Some("B")), (BLANK, None)] {
            let class = scope.lot_class(&question, id, number);
            scope.lots.push(LotFound {
                id,
                number: number.map(str::to_owned),
                expires_on: None,
                class,
            });
        }
        [
            (LOT_A, Some(PIECE)),
            (LOT_B, Some(PIECE)),
            (LOT_A, Some(OTHER)),
            (LOT_A, None),
            (LOT_B, None),
            (BLANK, None),
            (BLANK, Some(PIECE)),
        ]
        .map(|(lot, unit)| scope.class_of(&question, lot, unit))
    }

    const AFFECTED: Option<Class> = Some(Class::Affected);
    const PERHAPS: Option<Class> = Some(Class::CannotExclude);

    #[test]
    fn a_question_by_serial_keeps_what_no_record_excludes() {
        let by_serial = classes(None, Some("1"), Some(PIECE));
        assert_eq!(
            by_serial,
            [AFFECTED, AFFECTED, None, PERHAPS, None, PERHAPS, AFFECTED]
        );
        let by_both = classes(Some("A"), Some("1"), Some(PIECE));
        assert_eq!(
            by_both,
            [AFFECTED, PERHAPS, None, PERHAPS, None, PERHAPS, PERHAPS]
        );
    }

    #[test]
    fn a_piece_never_seen_can_be_any_use_without_a_serial() {
        let unknown = classes(None, Some("1"), None);
        assert_eq!(unknown, [None, None, None, PERHAPS, PERHAPS, PERHAPS, None]);
    }

    #[test]
    fn a_question_by_product_affects_every_use() {
        assert_eq!(classes(None, None, None), [AFFECTED; 7]);
    }
}
