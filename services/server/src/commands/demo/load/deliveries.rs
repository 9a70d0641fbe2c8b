//! What is delivered every fourth day of work, and the labels to take from it.

use std::collections::VecDeque;

use anyhow::anyhow;
use jiff::Span;
use jiff::civil::Date;
use lotwarden_domain::label::{Circumstances, Label};
use lotwarden_store::stock::{ReceiptLine, RecordReceipt, StockReceipt};
use uuid::Uuid;

use super::Loader;
use super::site::Site;
use crate::commands::demo::labels::Printed;
use crate::commands::demo::products::{
    BICARBONATE, CANNULA, CYLINDER, DemoProduct, FILTER, HANDPIECE, LIDOCAINE, PAD, SALINE,
    STOCKING, STRIP,
};

/// Pieces with a serial in one delivery: more than its cases need.
const PIECES: u32 = 8;
/// The delivery that brings two filters which expire soon.
const SHORT_DATED: u32 = 2;

/// One delivery: the unit labels of what came.
pub struct Delivery {
    /// Handpieces by serial.
    pub handpieces: VecDeque<String>,
    /// Cylinders by serial.
    pub cylinders: VecDeque<String>,
    /// A cannula.
    pub cannula: String,
    /// A vial of the local anaesthetic.
    pub lidocaine: String,
    /// A vial of bicarbonate.
    pub bicarbonate: String,
    /// A bag of diluent.
    pub saline: String,
    /// A filter.
    pub filter: String,
    /// A filter of the lot that expires two weeks after the delivery.
    pub short_filter: String,
    /// A stocking.
    pub stocking: String,
    /// A pad.
    pub pad: String,
    /// A strip.
    pub strip: String,
    receipt: StockReceipt,
}

impl Delivery {
    /// The id of the lot a product came in.
    pub fn lot_id(&self, product: &DemoProduct) -> anyhow::Result<Uuid> {
        let lines = &self.receipt.lines;
        let line = lines.iter().find(|line| line.product_name == product.name);
        line.map(|line| line.lot)
            .ok_or_else(|| anyhow!("no {} was delivered", product.name))
    }

    /// The number of the lot a product came in, as printed.
    pub fn lot_number(&self, product: &DemoProduct) -> anyhow::Result<String> {
        let lines = &self.receipt.lines;
        let line = lines.iter().find(|line| line.product_name == product.name);
        line.and_then(|line| line.lot_number.clone())
            .ok_or_else(|| anyhow!("no {} was delivered", product.name))
    }
}

impl Loader {
    /// Takes in the delivery of a day.
    pub fn receive(&self, site: &Site, day: Date, number: u32) -> anyhow::Result<Delivery> {
        let mut boxes = Boxes {
            day,
            shelf: site.shelf,
            lines: Vec::new(),
        };
        let short = Printed {
            lot: Some(&format!("{}S", boxes.lot(&FILTER))),
            serial: None,
            expires_on: Some(day.checked_add(Span::new().try_days(14)?)?),
        };
        let short_filter = FILTER.unit_label(short)?;
        if number == SHORT_DATED {
            boxes.line(short_filter.clone(), 2)?;
        }
        let (handpieces, cylinders) = (
            boxes.pieces(&HANDPIECE, number)?,
            boxes.pieces(&CYLINDER, number)?,
        );
        let cannula = boxes.take_in(&CANNULA, 3)?;
        let lidocaine = boxes.take_in(&LIDOCAINE, 1)?;
        let bicarbonate = boxes.take_in(&BICARBONATE, 1)?;
        let saline = boxes.take_in(&SALINE, 1)?;
        let filter = boxes.take_in(&FILTER, 8)?;
        let stocking = boxes.take_in(&STOCKING, 8)?;
        let pad = boxes.take_in(&PAD, 1)?;
        let strip = boxes.take_in(&STRIP, 1)?;
        let lines = boxes.lines;
        let receipt = self.record(&site.materials, RecordReceipt { lines })?;
        Ok(Delivery {
            handpieces,
            cylinders,
            cannula,
            lidocaine,
            bicarbonate,
            saline,
            filter,
            short_filter,
            stocking,
            pad,
            strip,
            receipt,
        })
    }
}

/// The lines of a delivery while they are scanned.
struct Boxes {
    day: Date,
    shelf: Uuid,
    lines: Vec<ReceiptLine>,
}

impl Boxes {
    fn line(&mut self, text: String, packages: u32) -> anyhow::Result<()> {
        let label = Label::read(&text, Circumstances::on(self.day))
            .map_err(|unread| anyhow!(unread.message))?;
        self.lines.push(ReceiptLine {
            text: Some(text),
            label,
            packages,
            location: self.shelf,
        });
        Ok(())
    }

    /// Scans each piece of a serialised product; gives their labels.
    fn pieces(&mut self, product: &DemoProduct, number: u32) -> anyhow::Result<VecDeque<String>> {
        let (lot, expires_on) = (self.lot(product), self.expiry(product)?);
        let first = number * PIECES + 1;
        let mut labels = VecDeque::new();
        for piece in first..first + PIECES {
            let serial = format!("{}{piece:05}", product.lot_prefix);
            let text = product.unit_label(Printed {
                lot: Some(&lot),
                serial: Some(&serial),
                expires_on,
            })?;
            self.line(text.clone(), 1)?;
            labels.push_back(text);
        }
        Ok(labels)
    }

    /// Scans the boxes of a product; gives the label of a unit inside.
    fn take_in(&mut self, product: &DemoProduct, packages: u32) -> anyhow::Result<String> {
        let lot = self.lot(product);
        let printed = Printed {
            lot: Some(&lot),
            serial: None,
            expires_on: self.expiry(product)?,
        };
        self.line(product.delivery_label(printed)?, packages)?;
        product.unit_label(printed)
    }

    fn lot(&self, product: &DemoProduct) -> String {
        format!("{}{}", product.lot_prefix, self.day.strftime("%y%m%d"))
    }

    fn expiry(&self, product: &DemoProduct) -> anyhow::Result<Option<Date>> {
        let Some(months) = product.months else {
            return Ok(None);
        };
        Ok(Some(self.day.checked_add(Span::new().try_months(months)?)?))
    }
}
