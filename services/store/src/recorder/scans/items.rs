//! The rows a label names, found or made.

use super::{Batch, Item};
use crate::catalogue::entries::Met;
use crate::loads::Processed;
use crate::moment::{date, new_id};
use crate::recorder::job::{Failure, ScanJob};
use crate::recorder::world::{LotRow, ProductRow, UnitRow};
use lotwarden_domain::catalogue::{LabelCarries, UseClass};
use lotwarden_domain::label::{Label, ProductCode};
use uuid::Uuid;

impl Batch<'_> {
    pub(super) fn unit(&self, product: Option<Uuid>, label: &Label) -> Option<&UnitRow> {
        let key = (product?, self.world.serial(label)?.clone());
        self.world.units.get(&key)?.as_ref()
    }

    /// Finds the rows a label names, and makes the ones that were never met.
    pub(super) fn item(&mut self, job: &ScanJob, label: &Label) -> Result<Item, Failure> {
        let Some(code) = &label.code else {
            return Ok(Item::default());
        };
        let product = match self.world.product_of(label) {
            Some(product) => product,
            None => self.add_product(job, code)?,
        };
        let known = self.unit(Some(product), label);
        let (on_record, mut item) = match known {
            Some(unit) => (
                Some(unit.lot),
                Item {
                    unit: Some(unit.id),
                    claim: unit.claim,
                    ..Item::default()
                },
            ),
            None => (None, Item::default()),
        };
        item.product = Some(product);
        let lot = match on_record {
            Some(lot) if label.lot.is_none() => lot,
            _ => self.lot(product, label),
        };
        item.lot = Some(lot);
        item.other_lot = on_record.filter(|other| *other != lot);
        if let (Some(serial), None) = (self.world.serial(label), item.unit) {
            item.unit = Some(self.add_unit(product, lot, serial));
        }
        Ok(item)
    }

    fn add_product(&mut self, job: &ScanJob, code: &ProductCode) -> Result<Uuid, Failure> {
        let id = new_id(self.at);
        let name = format!("Not in the catalogue: {code}");
        let new = &mut self.writes.newcomers;
        new.product.push(id);
        new.product_name.push(name.clone());
        new.agency.push(code.agency);
        new.code.push(code.code.clone());
        new.code_product.push(id);
        let data = Met {
            catalogued: false,
            identifiers: [code.to_string()],
            name: &name,
        };
        self.entry(job, "add_product", format!("product:{id}"), None, &data)?;
        self.world.codes.insert(code.clone(), Some((id, false)));
        let row = ProductRow {
            name,
            catalogued: false,
            use_class: UseClass::SingleUse,
            carries: LabelCarries::default(),
            holds: Vec::new(),
            cylinders: Vec::new(),
            vials: Vec::new(),
            sterilized: None,
            notices: Vec::new(),
        };
        self.world.products.insert(id, row);
        Ok(id)
    }

    fn lot(&mut self, product: Uuid, label: &Label) -> Uuid {
        let key = (product, label.lot.clone());
        if let Some(Some(lot)) = self.world.lot_numbers.get(&key) {
            return *lot;
        }
        let id = new_id(self.at);
        // The row without a number stands for many pieces, which share no date.
        let dates = label
            .lot
            .as_ref()
            .map(|_| (label.expires_on, label.manufactured_on));
        let (expires_on, manufactured_on) = dates.unwrap_or_default();
        let new = &mut self.writes.newcomers;
        new.lot.push(id);
        new.lot_product.push(product);
        new.lot_number.push(label.lot.clone());
        new.expires_on.push(date(expires_on));
        new.manufactured_on.push(date(manufactured_on));
        let row = LotRow {
            number: label.lot.clone(),
            expires_on,
            levels: Vec::new(),
            loose: Some(Vec::new()),
        };
        self.world.lots.insert(id, row);
        self.world.lot_numbers.insert(key, Some(id));
        id
    }

    fn add_unit(&mut self, product: Uuid, lot: Uuid, serial: &str) -> Uuid {
        let id = new_id(self.at);
        let new = &mut self.writes.newcomers;
        new.unit.push(id);
        new.unit_product.push(product);
        new.unit_lot.push(lot);
        new.serial.push(serial.to_owned());
        let row = UnitRow {
            id,
            lot,
            location: None,
            processed: Processed::default(),
            claim: None,
        };
        self.world
            .units
            .insert((product, serial.to_owned()), Some(row));
        id
    }
}
