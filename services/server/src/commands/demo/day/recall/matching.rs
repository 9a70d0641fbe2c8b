//! Confirming the notice, and what meets it from then on.

use serde_json::{Value, json};

use super::super::Day;
use super::super::client::text;
use super::Matter;
use crate::commands::demo::products::BICARBONATE;

impl Day {
    /// A person confirms what the letter names.
    pub(super) fn confirm(&mut self, matter: &Matter) -> anyhow::Result<()> {
        let who = self.people.materials.clone();
        let criteria = json!([{"identifiers": [BICARBONATE.unit], "lots": [matter.lot]}]);
        let body = json!({"criteria": criteria, "settles_unread": true});
        let reply = self.change_notice(&who, matter, "confirm", &body)?;
        let number = |pointer: &str| reply.body.pointer(pointer).and_then(Value::as_i64);
        let counts = |name: &str| number(&format!("/counts/{name}")).unwrap_or_default();
        let came = format!(
            "{}: {} affected, {} on the shelf, {} hold",
            reply.word(),
            counts("affected"),
            counts("on_hand"),
            number("/held").unwrap_or_default()
        );
        let what = format!("confirms that it names lot {} and nothing else", matter.lot);
        let expected = "done: 2 affected, 8 on the shelf, 1 hold";
        self.told(("09:45", &who), &what, expected, (&came, &reply.sentence()))
    }

    /// What comes later meets the notice; gives the one patient who was reached.
    pub(super) fn met(&mut self, matter: &Matter) -> anyhow::Result<String> {
        self.report.heading("From then on")?;
        let case = self.case_after("10:00")?;
        let one = ("a vial of the lot", matter.label.as_str());
        self.scan("10:05", &case, one, "stop (recalled)")?;
        let far = self.today.checked_add(jiff::Span::new().try_days(400)?)?;
        let line = self.line(&BICARBONATE, "R", Some(far))?;
        self.dock(
            "10:20",
            "one more box of it",
            &[&line],
            "received (recalled)",
        )?;
        let who = self.people.compliance.clone();
        let path = format!("/v1/notices/{}/matches", matter.id);
        let reply = self.client.get(&who, &path)?;
        let patients = reply.body["patients"].as_array().map_or(0, Vec::len);
        let stopped = reply.body["stopped"].as_array().map_or(0, Vec::len);
        let came = format!(
            "{}: {patients} patient, {stopped} scan stopped",
            reply.word()
        );
        let what = "asks which patients the lot reached; the ledger keeps that somebody asked";
        let expected = "done: 1 patient, 1 scan stopped";
        self.told(("10:30", &who), what, expected, (&came, &reply.sentence()))?;
        text(&reply.expect(200)?, "/patients/0/id")
    }
}
