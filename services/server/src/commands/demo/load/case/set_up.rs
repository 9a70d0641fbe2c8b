//! What is scanned before the procedure, in the order of the set-up table.

use anyhow::anyhow;
use lotwarden_domain::cases::Disposition;
use lotwarden_store::cases::StrikeScan;

use super::{Open, Twist};
use crate::commands::demo::labels::Printed;
use crate::commands::demo::products::CANNULA;

impl Open<'_, '_> {
    /// Scans what the case needs.
    pub(super) fn set_up(&mut self, number: usize, twist: Twist) -> anyhow::Result<()> {
        if twist == Twist::Unread {
            // Half of a label, torn at the fold.
            self.scan("]d20109521400010", false)?;
        }
        if twist == Twist::ReuseStopped
            && let Some(label) = self.past.last_handpiece.clone()
        {
            self.scan(&label, false)?;
        }
        let handpiece = self.handpiece()?;
        let first = self.scan(&handpiece, false)?;
        if twist == Twist::HandpieceFailed {
            self.becomes(&first, Disposition::Failed, "No cooling after connection")?;
            let second = self.handpiece()?;
            self.scan(&second, false)?;
        }
        if twist == Twist::ScannedTwice {
            self.scan(&handpiece, false)?;
        }
        self.cannulas(twist)?;
        let newest = self
            .past
            .deliveries
            .last_mut()
            .ok_or_else(|| anyhow!("no delivery"))?;
        let cylinder = newest
            .cylinders
            .pop_front()
            .ok_or_else(|| anyhow!("no cylinder left"))?;
        self.scan(&cylinder, false)?;
        self.mixture(twist)?;
        self.rest(number, twist)
    }

    fn handpiece(&mut self) -> anyhow::Result<String> {
        let newest = self
            .past
            .deliveries
            .last_mut()
            .ok_or_else(|| anyhow!("no delivery"))?;
        let label = newest
            .handpieces
            .pop_front()
            .ok_or_else(|| anyhow!("no handpiece left"))?;
        self.past.last_handpiece = Some(label.clone());
        Ok(label)
    }

    /// Two cannulas of one lot; the lot before where the newest one is on hold.
    fn cannulas(&mut self, twist: Twist) -> anyhow::Result<()> {
        let mut label = self.past.delivery(0)?.cannula.clone();
        if twist == Twist::HeldCannula {
            self.scan(&label, false)?;
            label = self.past.delivery(1)?.cannula.clone();
        }
        if twist == Twist::LotNotRead {
            self.scan(&CANNULA.unit_label(Printed::default())?, false)?;
        } else {
            self.scan(&label, false)?;
        }
        let second = self.scan(&label, true)?;
        if twist == Twist::OpenedUnused {
            self.becomes(
                &second,
                Disposition::OpenedUnused,
                "One puncture was enough",
            )?;
        }
        Ok(())
    }

    /// The ingredients of the local anaesthetic.
    fn mixture(&mut self, twist: Twist) -> anyhow::Result<()> {
        let newest = self.past.delivery(0)?;
        let (lidocaine, bicarbonate) = (newest.lidocaine.clone(), newest.bicarbonate.clone());
        let mut saline = newest.saline.clone();
        if twist == Twist::HeldSaline {
            self.scan(&saline, false)?;
            saline = self.past.delivery(1)?.saline.clone();
        }
        self.scan(&saline, false)?;
        self.scan(&lidocaine, false)?;
        if twist == Twist::Returned {
            let second = self.scan(&lidocaine, true)?;
            self.becomes(&second, Disposition::Returned, "Not needed, seal intact")?;
        }
        self.scan(&bicarbonate, false)?;
        Ok(())
    }

    /// Filter, stocking, dressings.
    fn rest(&mut self, number: usize, twist: Twist) -> anyhow::Result<()> {
        let newest = self.past.delivery(0)?;
        let (filter, stocking) = (newest.filter.clone(), newest.stocking.clone());
        let (pad, strip) = (newest.pad.clone(), newest.strip.clone());
        let mut filtered = false;
        if twist == Twist::ShortDated {
            let short = self
                .past
                .deliveries
                .get(2)
                .map(|one| one.short_filter.clone());
            let scanned = self.scan(&short.unwrap_or_default(), false)?;
            filtered = scanned.placed.is_some();
        }
        if !filtered {
            self.scan(&filter, false)?;
        }
        if twist == Twist::Struck {
            let wrong = self.scan(&stocking, false)?;
            let striking = StrikeScan {
                case: self.case.id,
                scan: wrong.id,
                reason: "Wrong stocking taken from the shelf; not opened".to_owned(),
            };
            self.past.loader.record(&self.circulator, striking)?;
        }
        if twist == Twist::NotInCatalogue {
            // A sample the maker's representative brought; nobody entered it.
            let sample = "]d20109521400019993".to_owned();
            let sample = format!("{sample}10TRIAL1");
            self.scan(&sample, false)?;
        }
        self.scan(&stocking, false)?;
        let pads = self.scan(&pad, false)?;
        if twist == Twist::Wasted {
            self.becomes(&pads, Disposition::Wasted, "Fell to the floor")?;
            self.scan(&pad, true)?;
        }
        if number % 6 == 3 {
            self.scan(&strip, false)?;
        }
        Ok(())
    }
}
