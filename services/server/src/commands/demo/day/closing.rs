//! Closing a case: the signature, an amendment beside the signed record, and the documents.

use std::fs;

use anyhow::Context;
use lotwarden_ledger::Hash;
use serde_json::json;

use super::Day;
use super::client::{Session, text};
use super::scanning::OpenCase;

/// Where the documents are kept when they are asked for, in the data directory.
const FOLDER: &str = "demo-documents";

impl Day {
    /// Signs and amends a case and asks for its documents.
    pub(super) fn closing(&mut self, case: &OpenCase) -> anyhow::Result<()> {
        self.report.heading("The third case is closed")?;
        self.sign("17:40", case)?;
        self.amend("17:50", case)?;
        let case = &case.id;
        let practitioner = self.people.practitioner.clone();
        let compliance = self.people.compliance.clone();
        for (at, name, path) in [
            ("17:55", "the patient's device record", "device-record"),
            ("17:56", "the chart record", "chart-record"),
            ("17:57", "the chart record as FHIR", "chart-bundle"),
            ("17:58", "the billing list", "billing-list?format=csv"),
            (
                "17:59",
                "the billing list as a workbook",
                "billing-list?format=xlsx",
            ),
        ] {
            let path = format!("/v1/cases/{case}/{path}");
            self.document((at, &practitioner), name, &path)?;
        }
        let days = format!("from={0}&to={0}", self.today);
        for (at, name, form) in [
            ("18:00", "the surgical log", "pdf"),
            ("18:01", "the surgical log as a table", "csv"),
        ] {
            let path = format!("/v1/surgical-log?{days}&format={form}");
            self.document((at, &compliance), name, &path)?;
        }
        Ok(())
    }

    /// The minutes of gas were read wrongly: the signed record stays, the amendment stands beside it.
    fn amend(&mut self, at: &str, case: &OpenCase) -> anyhow::Result<()> {
        let who = self.people.practitioner.clone();
        let path = format!("/v1/cases/{}", case.id);
        let record = self
            .client
            .get(&who, &format!("{path}/record"))?
            .expect(200)?;
        let parts = record["parts"].as_array().into_iter().flatten();
        let gas = parts.clone().find(|part| part["part"] == "gas_use");
        let gas = gas.context("the record has no gas")?;
        let body = json!({
            "part": "gas_use", "part_id": gas["part_id"], "field": "minutes", "old_value": "12",
            "new_value": "13", "reason": "The timer was read again", "meaning": "Correction reviewed",
            "password": who.password,
        });
        let what = "amends the signed record: 13 minutes of gas, not 12";
        let amended = self.does((at, &who), what, &format!("{path}/amendments"), &body)?;
        let hash = text(&amended, "/record_hash")?;
        self.report
            .beside(&format!("the signed record stays {hash}"))
    }

    fn document(
        &mut self,
        (at, who): (&str, &Session),
        name: &str,
        path: &str,
    ) -> anyhow::Result<()> {
        let mut bytes = Vec::new();
        self.client.download(who, path, &mut bytes)?;
        let mut says = vec![format!(
            "{} bytes, SHA-256 {}",
            bytes.len(),
            Hash::of(&bytes)
        )];
        if self.documents {
            let folder = self.data_dir.join(FOLDER);
            fs::create_dir_all(&folder)
                .with_context(|| format!("cannot make {}", folder.display()))?;
            let file = folder.join(file_name(path));
            fs::write(&file, &bytes).with_context(|| format!("cannot write {}", file.display()))?;
            says.push(format!("in {}", file.display()));
        }
        self.told(
            (at, who),
            &format!("asks for {name}"),
            "done",
            ("done", &says),
        )
    }
}

/// The last word of an address, with its form.
fn file_name(path: &str) -> String {
    let (path, query) = path.split_once('?').unwrap_or((path, ""));
    let name = path.rsplit('/').next().unwrap_or(path);
    let form = match (query.rsplit_once("format="), name) {
        (Some((_, form)), _) => form,
        (None, "chart-bundle") => "json",
        (None, _) => "pdf",
    };
    format!("{name}.{form}")
}
