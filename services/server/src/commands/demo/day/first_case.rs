//! The first case: set up, done, completed and signed.

use reqwest::Method;
use serde_json::json;

use super::Day;
use super::receiving::Stock;
use super::scanning::OpenCase;

impl Day {
    /// Plays the first case.
    pub(super) fn first_case(&mut self, stock: &Stock) -> anyhow::Result<OpenCase> {
        self.report.heading("First case")?;
        let case = self.open_case("07:05", 1, "Cooled vein closure, left leg")?;
        let one = &case;
        let handpiece = ("the handpiece", stock.handpieces[0].as_str());
        self.scan("07:20", one, handpiece, "taken")?;
        let cannula = ("a cannula", stock.cannula.as_str());
        self.scan("07:21", one, cannula, "taken")?;
        let again = ("the same label once more", stock.cannula.as_str());
        self.scan("07:21", one, again, "look (same_scan_again)")?;
        let second = ("it as a second piece", stock.cannula.as_str());
        let second = self.scan_another("07:22", one, second, "taken")?;
        self.scan(
            "07:23",
            one,
            ("the gas cylinder", &stock.cylinders[0]),
            "taken",
        )?;
        self.scan(
            "07:24",
            one,
            ("the saline of the mixture", &stock.saline),
            "taken",
        )?;
        self.scan("07:24", one, ("the lidocaine", &stock.lidocaine), "taken")?;
        self.scan(
            "07:25",
            one,
            ("the bicarbonate", &stock.bicarbonate),
            "taken",
        )?;
        self.scan(
            "07:26",
            one,
            ("the filter", &stock.filter),
            "look (expires_soon)",
        )?;
        let stocking = ("the compression stocking", stock.stocking.as_str());
        self.scan("07:27", one, stocking, "taken")?;
        self.scan("07:28", one, ("a torn label", "]d20109521400011"), "unread")?;
        let drawer = (
            "a pad from the bottom of a drawer",
            stock.expired_pad.as_str(),
        );
        self.scan("07:29", one, drawer, "stop (expired)")?;
        let held = ("a pad of the lot on hold", stock.held_pad.as_str());
        self.scan("07:30", one, held, "stop (on_hold)")?;
        let pad = self.scan(
            "07:31",
            one,
            ("a pad of the other lot", &stock.pad),
            "taken",
        )?;
        let wrong = ("a third cannula by mistake", stock.cannula.as_str());
        let wrong = self.scan_another("07:32", one, wrong, "taken")?;
        self.strike("07:33", one, &wrong, "Scanned by mistake, not opened")?;
        self.turn("08:10", one, "start")?;
        self.becomes("08:40", one, &pad, ("wasted", "Fell to the floor"))?;
        let replacement = ("another pad", stock.pad.as_str());
        self.scan_another("08:41", one, replacement, "taken")?;
        let unused = ("opened_unused", "One puncture was enough");
        self.becomes("09:50", one, &second, unused)?;
        self.turn("10:00", one, "complete")?;
        let late = ("one more cannula, after the end", stock.cannula.as_str());
        self.scan_another("10:05", one, late, "stop (case_closed)")?;
        self.sign("10:30", one)?;
        Ok(case)
    }

    /// The practitioner signs with the password once more (21 CFR 11.200).
    pub(super) fn sign(&mut self, at: &str, case: &OpenCase) -> anyhow::Result<()> {
        let who = self.people.practitioner.clone();
        let path = format!("/v1/cases/{}/sign", case.id);
        let meaning = "I performed the procedure and reviewed this record";
        let version = self.version(case)?;
        let body = json!({"meaning": meaning, "password": who.password});
        let target = (Method::POST, path.as_str());
        let reply = self.client.change(&who, target, version, Some(&body))?;
        let what = format!("signs: {meaning}");
        self.told(
            (at, &who),
            &what,
            "done",
            (&reply.word(), &reply.sentence()),
        )
    }
}
