//! The shelf is counted and emptied, the firm answered, the matter closed.

use anyhow::Context;
use reqwest::Method;
use serde_json::{Value, json};

use super::super::Day;
use super::super::client::{Session, text};
use super::Matter;

impl Day {
    /// Counts, sends back, destroys.
    pub(super) fn shelf_work(&mut self, matter: &Matter) -> anyhow::Result<()> {
        self.report.heading("The shelf")?;
        let who = self.people.materials.clone();
        let count = |quarantined: u32| json!({"lot_id": matter.lot_id, "quarantined": quarantined, "left_in_place": 0});
        let step = ("counts", "counts 17 of the lot into the quarantine cage");
        self.work_step(("11:10", &who), matter, step, &count(17), "done")?;
        self.identity("11:11", matter, "does not close: 1 unaccounted")?;
        let step = ("counts", "finds one more behind the shelf and counts 18");
        self.work_step(("11:30", &who), matter, step, &count(18), "done")?;
        self.identity("11:31", matter, "closes")?;
        let dispose = |quantity: u32, how: &str, witness: Option<&str>| {
            json!({
                "lot_id": matter.lot_id, "location_id": self.places.shelf, "quantity": quantity,
                "how": how, "tracking": "Parcel DEMO-1 of the maker's carrier", "witness_id": witness,
            })
        };
        let (back, alone) = (
            dispose(17, "sent_back", None),
            dispose(1, "destroyed", None),
        );
        let seen = dispose(1, "destroyed", Some(&self.people.compliance.person));
        let step = ("disposals", "sends 17 back");
        self.work_step(("13:00", &who), matter, step, &back, "done")?;
        let step = ("disposals", "destroys the opened one, alone");
        self.work_step(("13:10", &who), matter, step, &alone, "refused (invalid)")?;
        let step = ("disposals", "destroys it before a witness");
        self.work_step(("13:15", &who), matter, step, &seen, "done")?;
        self.identity("13:16", matter, "closes")
    }

    /// Whether the numbers of the lot close.
    fn identity(&mut self, at: &str, matter: &Matter, expected: &str) -> anyhow::Result<()> {
        let who = self.people.materials.clone();
        let path = format!("/v1/notices/{}/work", matter.id);
        let work = self.client.get(&who, &path)?.expect(200)?;
        let lots = work["lots"].as_array().cloned().unwrap_or_default();
        let lot = lots.iter().find(|lot| lot["lot_id"] == matter.lot_id);
        let lot = lot.context("the work does not show the lot")?;
        let came = match lot["unaccounted"].as_i64() {
            Some(0) => "closes".to_owned(),
            Some(count) => format!("does not close: {count} unaccounted"),
            None => "cannot be computed".to_owned(),
        };
        let says = format!(
            "received {} = quarantined {} + used {} + wasted {} + sent back {} + destroyed {} + unaccounted {}",
            lot["received"],
            lot["quarantined"],
            lot["used"],
            lot["wasted"],
            lot["returned"],
            lot["destroyed"],
            lot["unaccounted"]
        );
        self.told(
            (at, &who),
            "looks at the lot's numbers",
            expected,
            (&came, &[says]),
        )
    }

    /// Answers the firm.
    pub(super) fn answer(&mut self, matter: &Matter) -> anyhow::Result<()> {
        self.report.heading("The answer and the close")?;
        let who = self.people.materials.clone();
        let body = json!({
            "adverse_events": false, "contact_name": "Materials manager",
            "contact_title": "Materials", "contact_phone": "+1 555 0100", "sent_by": "Form by mail",
        });
        let step = (
            "answers",
            "answers the maker, by lot and without any patient",
        );
        self.work_step(("16:00", &who), matter, step, &body, "done")?;
        Ok(())
    }

    /// Ends the tasks; two persons sign.
    pub(super) fn close(&mut self, matter: &Matter) -> anyhow::Result<()> {
        let (materials, compliance) = (
            self.people.materials.clone(),
            self.people.compliance.clone(),
        );
        self.sign_close(("16:10", &materials), matter, "refused (work-open)")?;
        self.end_tasks("16:20", matter)?;
        self.sign_close(("16:30", &materials), matter, "open")?;
        self.sign_close(("16:31", &materials), matter, "refused (work-open)")?;
        self.sign_close(("16:40", &compliance), matter, "closed")
    }

    fn end_tasks(&mut self, at: &str, matter: &Matter) -> anyhow::Result<()> {
        let who = self.people.materials.clone();
        let path = format!("/v1/notices/{}/work", matter.id);
        let work = self.client.get(&who, &path)?.expect(200)?;
        let tasks = work["tasks"].as_array().cloned().unwrap_or_default();
        let mut ended = 0;
        for task in tasks.iter().filter(|task| task["kind"] != "closing") {
            let path = format!("/v1/notice-tasks/{}", text(task, "/id")?);
            let body = json!({"owner_id": who.person, "due_at": task["due_at"], "state": "done"});
            let version = task["version"].as_i64().unwrap_or_default();
            let target = (Method::PUT, path.as_str());
            let reply = self.client.change(&who, target, version, Some(&body))?;
            reply.expect(200)?;
            ended += 1;
        }
        let came = format!("{ended} done");
        self.told((at, &who), "ends the tasks", "6 done", (&came, &[]))
    }

    /// Signs the closing; tells the notice's state after it.
    fn sign_close(
        &mut self,
        (at, who): (&str, &Session),
        matter: &Matter,
        expected: &str,
    ) -> anyhow::Result<()> {
        let meaning = "The work is done and I reviewed its record";
        let body = json!({"meaning": meaning, "password": who.password});
        let reply = self.change_notice(who, matter, "close", &body)?;
        let state = reply.body["state"].as_str().map(str::to_owned);
        let came = match reply.status {
            200..=299 => state.unwrap_or_default(),
            _ => reply.word(),
        };
        let says: Vec<String> = match reply
            .body
            .pointer("/signature/name")
            .and_then(Value::as_str)
        {
            Some(name) => vec![format!("signed by {name}")],
            None => reply.sentence(),
        };
        let what = format!("signs: {meaning}");
        self.told((at, who), &what, expected, (&came, &says))
    }
}
