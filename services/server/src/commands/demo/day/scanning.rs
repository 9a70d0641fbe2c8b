//! Scanning on a case, and the other steps of a case.

use reqwest::Method;
use serde_json::{Value, json};

use super::Day;
use super::client::{Session, number, text};
use super::report::Step;

/// A case the day works on.
pub struct OpenCase {
    /// The case's id.
    pub id: String,
}

/// A scan that was recorded.
pub struct Scanned {
    /// The scan's id.
    pub id: String,
}

impl Day {
    /// Reports a step whose answer says itself whether it was done.
    pub(super) fn told(
        &mut self,
        (at, who): (&str, &Session),
        what: &str,
        expected: &str,
        (came, says): (&str, &[String]),
    ) -> anyhow::Result<()> {
        let role = who.role.clone();
        self.report.step(&Step {
            at,
            who: &role,
            what,
            expected,
            came,
            says,
        })
    }

    /// Opens a case for a patient that nobody is.
    pub(super) fn open_case(
        &mut self,
        at: &str,
        number: u32,
        procedure: &str,
    ) -> anyhow::Result<OpenCase> {
        let who = self.people.circulator.clone();
        let planned = self.today.at(8 + 3 * i8::try_from(number)?, 0, 0, 0);
        let planned = planned.in_tz(crate::commands::demo::ZONE)?.timestamp();
        let body = json!({
            "patient": {
                "record_number": format!("DEMO-{}-{number}", self.run),
                "name": format!("Example Visitor {number}"),
            },
            "procedure": procedure,
            "location_id": self.places.room,
            "practitioner_id": self.people.practitioner.person,
            "scheduled_for": planned.to_string(),
        });
        let reply = self.client.post(&who, "/v1/cases", &body)?;
        let what = format!("opens a case: {procedure}");
        self.told(
            (at, &who),
            &what,
            "done",
            (&reply.word(), &reply.sentence()),
        )?;
        let case = reply.expect(201)?;
        Ok(OpenCase {
            id: text(&case, "/id")?,
        })
    }

    /// Scans a label on a case.
    pub(super) fn scan(
        &mut self,
        at: &str,
        case: &OpenCase,
        (what, label): (&str, &str),
        expected: &str,
    ) -> anyhow::Result<Scanned> {
        self.scan_piece(at, case, (what, label), expected, false)
    }

    /// Scans a label that is on the case already, for a further piece.
    pub(super) fn scan_another(
        &mut self,
        at: &str,
        case: &OpenCase,
        (what, label): (&str, &str),
        expected: &str,
    ) -> anyhow::Result<Scanned> {
        self.scan_piece(at, case, (what, label), expected, true)
    }

    fn scan_piece(
        &mut self,
        at: &str,
        case: &OpenCase,
        (what, label): (&str, &str),
        expected: &str,
        another: bool,
    ) -> anyhow::Result<Scanned> {
        let who = self.people.circulator.clone();
        let path = format!("/v1/cases/{}/scans", case.id);
        let station = &self.places.station;
        let body = json!({"text": label, "station_id": station, "another_piece": another});
        let reply = self.client.post(&who, &path, &body)?;
        let scan = reply.expect(201)?;
        let (came, says) = verdict(&scan);
        let what = format!("scans {what}");
        self.told((at, &who), &what, expected, (&came, &says))?;
        Ok(Scanned {
            id: text(&scan, "/id")?,
        })
    }

    /// Takes a scan back.
    pub(super) fn strike(
        &mut self,
        at: &str,
        case: &OpenCase,
        scan: &Scanned,
        reason: &str,
    ) -> anyhow::Result<()> {
        let who = self.people.circulator.clone();
        let path = format!("/v1/cases/{}/scans/{}/strike", case.id, scan.id);
        let reply = self.client.post(&who, &path, &json!({"reason": reason}))?;
        let what = format!("strikes the last scan: {reason}");
        self.told(
            (at, &who),
            &what,
            "done",
            (&reply.word(), &reply.sentence()),
        )
    }

    /// Says what became of an item.
    pub(super) fn becomes(
        &mut self,
        at: &str,
        case: &OpenCase,
        scan: &Scanned,
        (disposition, reason): (&str, &str),
    ) -> anyhow::Result<()> {
        let who = self.people.circulator.clone();
        let path = format!("/v1/cases/{}/scans/{}/disposition", case.id, scan.id);
        let body = json!({"disposition": disposition, "reason": reason});
        let target = (Method::PUT, path.as_str());
        let reply = self.client.change(&who, target, 1, Some(&body))?;
        let what = format!("notes one item as {disposition}: {reason}");
        self.told(
            (at, &who),
            &what,
            "done",
            (&reply.word(), &reply.sentence()),
        )
    }

    /// Takes the case to its next state.
    pub(super) fn turn(&mut self, at: &str, case: &OpenCase, verb: &str) -> anyhow::Result<()> {
        let who = self.people.circulator.clone();
        let path = format!("/v1/cases/{}/{verb}", case.id);
        let version = self.version(case)?;
        let target = (Method::POST, path.as_str());
        let reply = self.client.change(&who, target, version, None)?;
        let what = format!("{verb}s the case");
        self.told(
            (at, &who),
            &what,
            "done",
            (&reply.word(), &reply.sentence()),
        )
    }

    /// The case's version, which a change has to name.
    pub(super) fn version(&self, case: &OpenCase) -> anyhow::Result<i64> {
        let path = format!("/v1/cases/{}", case.id);
        let shown = self.client.get(&self.people.circulator, &path)?;
        number(&shown.expect(200)?, "/version")
    }
}

/// The verdict with its worst rule, and every sentence.
pub(super) fn verdict(scan: &Value) -> (String, Vec<String>) {
    let verdict = scan["verdict"].as_str().unwrap_or("?");
    let findings = scan["findings"].as_array().cloned().unwrap_or_default();
    let came = match findings.first().and_then(|worst| worst["slug"].as_str()) {
        Some(rule) => format!("{verdict} ({rule})"),
        None => verdict.to_owned(),
    };
    let mut says: Vec<String> = findings
        .iter()
        .filter_map(|finding| finding["sentence"].as_str().map(str::to_owned))
        .collect();
    if let Some(message) = scan.pointer("/unread/message").and_then(Value::as_str) {
        says.push(message.to_owned());
    }
    (came, says)
}
