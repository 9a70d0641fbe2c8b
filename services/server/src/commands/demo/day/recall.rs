//! `lotwarden demo recall`: one notice from the letter to its close.

mod answering;
mod matching;
mod patients;

use reqwest::Method;
use serde_json::{Value, json};

use super::Day;
use super::client::{Session, number, text};
use super::scanning::OpenCase;
use crate::commands::demo::products::BICARBONATE;

/// The notice while it is worked on.
struct Matter {
    id: String,
    /// The lot it names.
    lot: String,
    /// Its row.
    lot_id: String,
    /// The label of one unit of it.
    label: String,
}

impl Day {
    /// Plays one notice: what was there before it, the letter, and the work to its close.
    pub(super) fn recall(&mut self) -> anyhow::Result<()> {
        let (lot, lot_id, label) = self.before()?;
        let id = self.letter(&lot)?;
        let matter = Matter {
            id,
            lot,
            lot_id,
            label,
        };
        self.confirm(&matter)?;
        let patient = self.met(&matter)?;
        self.tell_patient(&matter, &patient)?;
        self.shelf_work(&matter)?;
        self.answer(&matter)?;
        self.close(&matter)
    }

    /// A box of vials, two of which are used.
    fn before(&mut self) -> anyhow::Result<(String, String, String)> {
        self.report.heading("Before the notice")?;
        let far = self.today.checked_add(jiff::Span::new().try_days(400)?)?;
        let line = self.line(&BICARBONATE, "R", Some(far))?;
        let lot = self.lot(&BICARBONATE, "R");
        let lot_id = self.dock(
            "06:30",
            "a box of 10 vials of bicarbonate",
            &[&line],
            "received",
        )?;
        let case = self.open_case("07:05", 3, "Cooled vein closure, left leg")?;
        self.scan("07:20", &case, ("a vial", &line.unit), "taken")?;
        self.scan_another("07:21", &case, ("a second one", &line.unit), "taken")?;
        self.turn("08:00", &case, "start")?;
        self.turn("08:50", &case, "complete")?;
        Ok((lot, lot_id, line.unit))
    }

    /// The letter comes, twice.
    fn letter(&mut self, lot: &str) -> anyhow::Result<String> {
        self.report.heading("The letter")?;
        let who = self.people.materials.clone();
        let letter = json!({
            "firm": "Saltwick Remedies (invented)",
            "reference": format!("FSN-{}", self.run),
            "class": "II",
            "source": "letter",
            "product": BICARBONATE.name,
            "reason": "Stoppers of this lot may leak",
            "text": format!("UDI-DI {}, Lot {lot}. Please see the enclosed photograph.", BICARBONATE.unit),
        });
        let reply = self.client.post(&who, "/v1/notices", &letter)?;
        let lots = reply.body.pointer("/reading/proposals/0/lots");
        let lots = lots.and_then(Value::as_array).map_or(0, Vec::len);
        let unread = reply
            .body
            .pointer("/reading/unread")
            .and_then(Value::as_array);
        let unread = unread.cloned().unwrap_or_default();
        let says: Vec<String> = unread
            .iter()
            .filter_map(|piece| Some(format!("not understood: {}", piece.as_str()?)))
            .collect();
        let came = format!("{}, {lots} lot read", reply.word());
        let what = "takes in the maker's letter, pasted as it is";
        self.told(("09:30", &who), what, "done, 1 lot read", (&came, &says))?;
        let notice = reply.expect(201)?;
        let again = self.client.post(&who, "/v1/notices", &letter)?;
        let came = (again.word(), again.sentence());
        let what = "takes in the same letter from the distributor";
        let expected = "refused (already-done)";
        self.told(("09:40", &who), what, expected, (&came.0, &came.1))?;
        text(&notice, "/id")
    }

    /// One step of the work on the notice.
    fn work_step(
        &mut self,
        (at, who): (&str, &Session),
        matter: &Matter,
        (step, what): (&str, &str),
        body: &Value,
        expected: &str,
    ) -> anyhow::Result<Value> {
        let path = format!("/v1/notices/{}/{step}", matter.id);
        let reply = self.client.post(who, &path, body)?;
        let came = (reply.word(), reply.sentence());
        self.told((at, who), what, expected, (&came.0, &came.1))?;
        Ok(reply.body)
    }

    /// The notice's version, which a change has to name.
    fn notice_version(&self, matter: &Matter) -> anyhow::Result<i64> {
        let path = format!("/v1/notices/{}", matter.id);
        let shown = self.client.get(&self.people.materials, &path)?;
        number(&shown.expect(200)?, "/version")
    }

    fn change_notice(
        &self,
        who: &Session,
        matter: &Matter,
        step: &str,
        body: &Value,
    ) -> anyhow::Result<super::client::Reply> {
        let path = format!("/v1/notices/{}/{step}", matter.id);
        let version = self.notice_version(matter)?;
        let target = (Method::POST, path.as_str());
        self.client.change(who, target, version, Some(body))
    }

    /// A case that is set up after the notice.
    fn case_after(&mut self, at: &str) -> anyhow::Result<OpenCase> {
        self.open_case(at, 4, "Cooled vein closure, right leg")
    }
}
