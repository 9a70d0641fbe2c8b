//! The morning at the dock.

use jiff::ToSpan;
use jiff::civil::Date;
use serde_json::{Value, json};

use super::Day;
use super::client::text;
use crate::commands::demo::labels::Printed;
use crate::commands::demo::products::{
    BICARBONATE, CANNULA, CYLINDER, DemoProduct, FILTER, HANDPIECE, LIDOCAINE, PAD, SALINE,
    STOCKING,
};

/// What arrived, by the label of one unit.
pub struct Stock {
    /// Two handpieces.
    pub handpieces: [String; 2],
    /// Two cylinders.
    pub cylinders: [String; 2],
    /// A cannula.
    pub cannula: String,
    /// Its lot, as printed.
    pub cannula_lot: String,
    /// The diluent.
    pub saline: String,
    /// The local anaesthetic.
    pub lidocaine: String,
    /// The bicarbonate.
    pub bicarbonate: String,
    /// A filter with few days left.
    pub filter: String,
    /// A stocking.
    pub stocking: String,
    /// A pad.
    pub pad: String,
    /// A pad of the lot that is on hold.
    pub held_pad: String,
    /// The hold on that lot, and its version.
    pub hold: (String, i64),
    /// A pad from the bottom of a drawer, whose date is over.
    pub expired_pad: String,
}

/// One line at the dock: the label of what is delivered, and of a unit inside.
pub(super) struct Line {
    delivered: String,
    pub(super) unit: String,
}

impl Day {
    /// Receives the day's delivery, and puts one lot on hold.
    pub(super) fn receive(&mut self) -> anyhow::Result<Stock> {
        self.report.heading("Receiving")?;
        let far = self.today.checked_add(400.days())?;
        let soon = self.today.checked_add(20.days())?;
        let over = self.today.checked_sub(1.days())?;
        let piece = |product, end| self.line(product, end, Some(far));
        let handpieces = [piece(&HANDPIECE, "1")?, piece(&HANDPIECE, "2")?];
        let cylinders = [piece(&CYLINDER, "1")?, piece(&CYLINDER, "2")?];
        let cannula = self.line(&CANNULA, "", Some(far))?;
        let saline = self.line(&SALINE, "", Some(far))?;
        let lidocaine = self.line(&LIDOCAINE, "", Some(far))?;
        let bicarbonate = self.line(&BICARBONATE, "", Some(far))?;
        let filter = self.line(&FILTER, "", Some(soon))?;
        let stocking = self.line(&STOCKING, "", None)?;
        let pad = self.line(&PAD, "A", Some(far))?;
        let held = self.line(&PAD, "B", Some(far))?;
        let expired = self.line(&PAD, "Z", Some(over))?;

        self.dock("06:30", "a box of 10 cannulas", &[&cannula], "received")?;
        self.dock(
            "06:31",
            "two handpieces, each by its serial",
            &handpieces.each_ref(),
            "received",
        )?;
        self.dock(
            "06:33",
            "two gas cylinders",
            &cylinders.each_ref(),
            "received",
        )?;
        let mixture = [&saline, &lidocaine, &bicarbonate];
        self.dock(
            "06:35",
            "saline, lidocaine and bicarbonate",
            &mixture,
            "received",
        )?;
        self.dock("06:37", "a compression stocking", &[&stocking], "received")?;
        self.dock(
            "06:38",
            "a filter that has 20 days left",
            &[&filter],
            "received (short_dated)",
        )?;
        self.dock("06:40", "a box of 25 pads", &[&pad], "received")?;
        let lot = self.dock(
            "06:41",
            "a box of 25 pads of a second lot",
            &[&held],
            "received",
        )?;
        let hold = self.hold("06:50", &lot)?;
        self.dock(
            "06:55",
            "one more box of the lot on hold",
            &[&held],
            "received (on_hold)",
        )?;
        let [first, second] = handpieces;
        let [full, spare] = cylinders;
        Ok(Stock {
            handpieces: [first.unit, second.unit],
            cylinders: [full.unit, spare.unit],
            cannula: cannula.unit,
            cannula_lot: self.lot(&CANNULA, ""),
            saline: saline.unit,
            lidocaine: lidocaine.unit,
            bicarbonate: bicarbonate.unit,
            filter: filter.unit,
            stocking: stocking.unit,
            pad: pad.unit,
            held_pad: held.unit,
            hold,
            expired_pad: expired.unit,
        })
    }

    pub(super) fn lot(&self, product: &DemoProduct, end: &str) -> String {
        format!("{}{}{end}", product.lot_prefix, self.run)
    }

    /// A line of this run's own lot; a serialised product's end makes its serial.
    pub(super) fn line(
        &self,
        product: &DemoProduct,
        end: &str,
        expires_on: Option<Date>,
    ) -> anyhow::Result<Line> {
        let serialised = product.carries_serial();
        let lot = self.lot(product, if serialised { "" } else { end });
        let serial = serialised.then(|| format!("{lot}-{end}"));
        let printed = Printed {
            lot: Some(&lot),
            serial: serial.as_deref(),
            expires_on,
        };
        Ok(Line {
            delivered: product.delivery_label(printed)?,
            unit: product.unit_label(printed)?,
        })
    }

    /// Receives lines; gives the lot of the first one.
    pub(super) fn dock(
        &mut self,
        at: &str,
        what: &str,
        lines: &[&Line],
        expected: &str,
    ) -> anyhow::Result<String> {
        let who = self.people.materials.clone();
        let shelf = &self.places.shelf;
        let lines: Vec<Value> = lines
            .iter()
            .map(|line| json!({"text": line.delivered, "quantity": 1, "location_id": shelf}))
            .collect();
        let reply = self
            .client
            .post(&who, "/v1/receipts", &json!({"lines": lines}))?;
        let receipt = reply.expect(201)?;
        let lines = receipt["lines"].as_array().cloned().unwrap_or_default();
        let findings = lines.iter().filter_map(|line| line["findings"].as_array());
        let findings: Vec<&Value> = findings.flatten().collect();
        let worst = findings
            .first()
            .and_then(|finding| finding["slug"].as_str());
        let came = worst.map_or("received".to_owned(), |rule| format!("received ({rule})"));
        let counted = lines.iter().map(|line| {
            let word = |name: &str| line[name].as_str().unwrap_or("none").to_owned();
            let (product, lot) = (word("product_name"), word("lot"));
            format!("{} unit(s) of {product}, lot {lot}", line["units"])
        });
        let sentences = findings
            .iter()
            .filter_map(|finding| finding["sentence"].as_str().map(str::to_owned));
        let says: Vec<String> = counted.chain(sentences).collect();
        let what = format!("receives {what}");
        self.told((at, &who), &what, expected, (&came, &says))?;
        text(&receipt, "/lines/0/lot_id")
    }

    /// Puts a lot on hold.
    fn hold(&mut self, at: &str, lot: &str) -> anyhow::Result<(String, i64)> {
        let who = self.people.materials.clone();
        let reason = "Maker's letter: the pouches of this lot are being tested";
        let body = json!({"scope": "lot", "target_id": lot, "reason": reason});
        let reply = self.client.post(&who, "/v1/holds", &body)?;
        let what = format!("puts that lot on hold: {reason}");
        self.told(
            (at, &who),
            &what,
            "done",
            (&reply.word(), &reply.sentence()),
        )?;
        let hold = reply.expect(201)?;
        Ok((
            text(&hold, "/id")?,
            super::client::number(&hold, "/version")?,
        ))
    }
}
