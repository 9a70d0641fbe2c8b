//! The afternoon: where a lot went, and the proof that nothing of the record was changed.

use std::collections::BTreeSet;
use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use std::path::Path;
use std::process::Command;

use anyhow::Context;
use lotwarden_ledger::parcel;
use serde_json::{Value, json};

use super::Day;
use super::client::{number, text};
use super::receiving::Stock;
use super::scanning::OpenCase;
use crate::commands::demo::products::CANNULA;

/// Where the day's parcel is kept, in the data directory; each run writes it anew.
const PARCEL: &str = "demo-day.parcel";

impl Day {
    /// Asks where a lot went, keeps the head, exports and verifies.
    pub(super) fn evidence(&mut self, stock: &Stock, first: &OpenCase) -> anyhow::Result<()> {
        self.report.heading("The cannulas are asked about")?;
        self.where_used(stock, first)?;
        self.report.heading("Evidence")?;
        self.head()?;
        self.parcel()
    }

    fn where_used(&mut self, stock: &Stock, first: &OpenCase) -> anyhow::Result<()> {
        let lot = &stock.cannula_lot;
        let path = format!("/v1/where-used?identifier={}&lot={lot}", CANNULA.unit);
        let what = format!("asks where lot {lot} of the cannulas went");
        let who = self.people.circulator.clone();
        let reply = self.client.get(&who, &path)?;
        let came = (&*reply.word(), &*reply.sentence());
        self.told(("13:00", &who), &what, "refused (forbidden)", came)?;
        let who = self.people.compliance.clone();
        let reply = self.client.get(&who, &path)?;
        let answer = reply.expect(200)?;
        let items = answer["items"].as_array().cloned().unwrap_or_default();
        let affected: Vec<&Value> = items
            .iter()
            .filter(|item| item["class"] == "affected")
            .collect();
        let patients: BTreeSet<&str> = affected
            .iter()
            .filter_map(|item| item["patient_id"].as_str())
            .collect();
        let came = format!(
            "{} items affected, on {} patients",
            affected.len(),
            patients.len()
        );
        let expected = "3 items affected, on 2 patients";
        let says = told_of(&answer, &first.id);
        self.told(("13:05", &who), &what, expected, (&came, &says))
    }

    fn head(&mut self) -> anyhow::Result<()> {
        let who = self.people.compliance.clone();
        let head = self.client.get(&who, "/v1/ledger/head")?.expect(200)?;
        let says = [format!(
            "{} entries, head {}",
            number(&head, "/size")?,
            text(&head, "/hash")?
        )];
        let what = "writes the ledger's head into the paper log";
        self.told(("14:00", &who), what, "done", ("done", &says))
    }

    fn parcel(&mut self) -> anyhow::Result<()> {
        let who = self.people.compliance.clone();
        let body = json!({"reason": "Demonstration day"});
        let reply = self.client.post(&who, "/v1/ledger/parcels", &body)?;
        let came = (&*reply.word(), &*reply.sentence());
        self.told(
            ("14:10", &who),
            "exports the ledger as a parcel",
            "done",
            came,
        )?;
        let exported = reply.expect(201)?;
        let file = self.data_dir.join(PARCEL);
        let mut into = BufWriter::new(
            File::create(&file).with_context(|| format!("cannot write {}", file.display()))?,
        );
        let download = text(&exported, "/download")?;
        self.client.download(&who, &download, &mut into)?;
        into.flush()?;
        let (came, says) = verified(&file)?;
        let what = format!("verifies {}, offline", file.display());
        self.told(("14:15", &who), &what, "valid", (&came, &says))
    }
}

/// The affected items of an answer, in a line each.
fn told_of(answer: &Value, first_case: &str) -> Vec<String> {
    let items = answer["items"].as_array().cloned().unwrap_or_default();
    let line = |item: &Value| {
        let word = |value: &Value| value.as_str().unwrap_or("?").to_owned();
        let case = if item["case_id"] == first_case {
            "first case".to_owned()
        } else {
            word(&item["procedure"])
        };
        format!(
            "{}: {} ({}), {case}, {}",
            word(&item["class"]),
            word(&item["patient"]["name"]),
            word(&item["patient"]["record_number"]),
            word(&item["disposition"]),
        )
    };
    let mut says: Vec<String> = items.iter().map(line).collect();
    for stock in answer["on_hand"].as_array().into_iter().flatten() {
        let place = stock["location"].as_str().unwrap_or("?");
        says.push(format!("on hand: {} at {place}", stock["quantity"]));
    }
    says
}

/// Verifies with the program beside this one, or in this process where there is none.
fn verified(file: &Path) -> anyhow::Result<(String, Vec<String>)> {
    let beside = std::env::current_exe()?.with_file_name("lotwarden-verify");
    if !beside.is_file() {
        let reader = BufReader::new(File::open(file)?);
        let report = parcel::verify(reader, |_| ());
        return Ok(match report {
            Ok(report) => (
                "valid".to_owned(),
                vec![format!("{} entries", report.entries)],
            ),
            Err(fault) => ("not valid".to_owned(), vec![fault.to_string()]),
        });
    }
    let output = Command::new(&beside).arg("parcel").arg(file).output()?;
    let said = if output.status.success() {
        output.stdout
    } else {
        output.stderr
    };
    let said = String::from_utf8_lossy(&said);
    let mut lines = said.lines().map(|line| line.trim().to_owned());
    let first = lines.next().unwrap_or_default();
    let came = if output.status.success() {
        "valid"
    } else {
        "not valid"
    };
    let says: Vec<String> = match came {
        "valid" => lines.filter(|line| told(line)).collect(),
        _ => vec![first],
    };
    Ok((came.to_owned(), says))
}

/// The lines of a valid parcel's report that the day shows.
fn told(line: &str) -> bool {
    ["entries ", "time ", "cases ", "signatures ", "head "]
        .iter()
        .any(|start| line.starts_with(start))
}
