//! The practitioner decides, the patient is told, and that is checked.

use serde_json::json;

use super::super::Day;
use super::Matter;

impl Day {
    /// Decides, tells, checks.
    pub(super) fn tell_patient(&mut self, matter: &Matter, patient: &str) -> anyhow::Result<()> {
        self.report.heading("The patient")?;
        let (practitioner, circulator, compliance) = (
            self.people.practitioner.clone(),
            self.people.circulator.clone(),
            self.people.compliance.clone(),
        );
        let body = json!({
            "patient_id": patient, "decision": "notify",
            "reason": "Both vials of this case are of this lot",
        });
        let step = ("reviews", "decides that the patient is told");
        self.work_step(("11:00", &practitioner), matter, step, &body, "done")?;
        let attempt =
            |result: &str| json!({"patient_id": patient, "method": "telephone", "result": result});
        let step = ("outreach", "telephones; nobody answers");
        self.work_step(
            ("11:20", &circulator),
            matter,
            step,
            &attempt("no_answer"),
            "done",
        )?;
        let step = ("outreach", "telephones again and reaches the patient");
        self.work_step(
            ("15:20", &circulator),
            matter,
            step,
            &attempt("reached"),
            "done",
        )?;
        let step = (
            "samples",
            "draws the patients to check, level A: all of them",
        );
        let body = json!({"level": "A"});
        self.work_step(("15:40", &compliance), matter, step, &body, "done")?;
        let step = ("checks", "asks the one drawn: told, and understood");
        let body = json!({"patient_id": patient, "effective": true});
        self.work_step(("15:50", &compliance), matter, step, &body, "done")?;
        let step = (
            "disclosures",
            "puts on record what the maker was told of the patient",
        );
        let body = json!({
            "patient_id": patient, "disclosed_on": self.today.to_string(),
            "to": "Saltwick Remedies (invented)", "address": "1 Quay Street, Saltwick",
            "what": "Lot and day of the procedure", "purpose": "Report to the maker, who asked for it",
        });
        self.work_step(("15:55", &compliance), matter, step, &body, "done")?;
        Ok(())
    }
}
