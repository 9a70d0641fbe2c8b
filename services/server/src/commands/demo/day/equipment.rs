//! Equipment through the third case: what is due at its setup, the energy it gave, and the cases
//! that a calibration out of tolerance asks for.

use anyhow::bail;
use jiff::ToSpan;
use serde_json::{Value, json};

use super::Day;
use super::client::text;
use super::scanning::{OpenCase, Scanned, verdict};

/// The equipment of the day, by asset number.
pub struct Instruments {
    generator: Piece,
    camera: Piece,
    evacuator: Piece,
}

struct Piece {
    id: String,
    asset_number: String,
}

impl Day {
    /// Registers a generator, a thermometer and a smoke evacuator of this run.
    pub(super) fn register(&mut self) -> anyhow::Result<Instruments> {
        let generator = self.piece_of_equipment("Generator 2", "generator", None)?;
        let camera =
            self.piece_of_equipment("Skin camera", "thermometer", Some("infrared_camera"))?;
        let evacuator = self.piece_of_equipment("Smoke evacuator", "smoke_evacuator", None)?;
        let who = self.people.materials.clone();
        let calibrated = self.today.checked_sub(200.days())?;
        let service = json!({
            "kind": "calibration", "done_on": calibrated.to_string(), "as_found": "in_tolerance",
            "due_on": self.today.checked_add(165.days())?.to_string(),
            "done_by": "Brindlemoor service (invented)", "certificate": "C-0117",
        });
        let path = format!("/v1/equipment/{}/services", camera.id);
        let what = "notes the camera's calibration with its certificate";
        self.does(("12:24", &who), what, &path, &service)?;
        let filter = json!({"filter": "UF-2611", "life_cases": 1});
        let path = format!("/v1/equipment/{}/filters", evacuator.id);
        let what = "puts a fresh filter into the evacuator, good for one case";
        self.does(("12:26", &who), what, &path, &filter)?;
        Ok(Instruments {
            generator,
            camera,
            evacuator,
        })
    }

    fn piece_of_equipment(
        &mut self,
        name: &str,
        kind: &str,
        thermometer: Option<&str>,
    ) -> anyhow::Result<Piece> {
        let who = self.people.materials.clone();
        let prefix: String = kind.chars().take(3).collect();
        let asset_number = format!("EQ-{}-{}", prefix.to_uppercase(), self.run);
        let mut body = json!({
            "asset_number": asset_number, "kind": kind, "name": name, "location_id": self.places.room,
        });
        if let Some(kind) = thermometer {
            body["thermometer_type"] = Value::from(kind);
        }
        let what = format!("registers {name} as {asset_number}");
        let added = self.does(("12:22", &who), &what, "/v1/equipment", &body)?;
        Ok(Piece {
            id: text(&added, "/id")?,
            asset_number,
        })
    }

    /// Sets the equipment up on a case by its asset numbers; the evacuator comes out as told.
    pub(super) fn set_up(
        &mut self,
        at: &str,
        case: &OpenCase,
        with: &Instruments,
        evacuator: &str,
    ) -> anyhow::Result<()> {
        let who = self.people.circulator.clone();
        let path = format!("/v1/cases/{}/equipment", case.id);
        for (piece, expected) in [
            (&with.generator, "taken"),
            (&with.camera, "taken"),
            (&with.evacuator, evacuator),
        ] {
            let body = json!({"code": piece.asset_number});
            let used = self.client.post(&who, &path, &body)?.expect(201)?;
            let (came, says) = verdict(&used);
            let what = format!("scans {}", text(&used, "/described")?);
            self.told((at, &who), &what, expected, (&came, &says))?;
        }
        Ok(())
    }

    /// Writes down an end point of the site, notes energy that lies outside it, and ends it again, so
    /// that the next run begins without it.
    pub(super) fn energy(
        &mut self,
        case: &OpenCase,
        handpiece: &Scanned,
        with: &Instruments,
    ) -> anyhow::Result<()> {
        let who = self.people.practitioner.clone();
        let end_point = json!({
            "value": "max_skin_celsius", "thermometer_type": "infrared_camera", "most": "36",
            "source": "Quillback Lane policy 22 (invented)",
        });
        let what = "writes down the site's end point for the skin, by infrared camera";
        let added = self.does(("14:30", &who), what, "/v1/energy-limits", &end_point)?;
        self.zone(case, handpiece, with)?;
        let path = format!("/v1/cases/{}/energy", case.id);
        let log = self.client.get(&who, &path)?.expect(200)?;
        let came = log
            .pointer("/entries/0/outside/0/source")
            .and_then(Value::as_str);
        let what = "asks which of the site's end points the zone lies outside of";
        let expected = "Quillback Lane policy 22 (invented)";
        self.told(
            ("14:45", &who),
            what,
            expected,
            (came.unwrap_or("none"), &[]),
        )?;
        let path = format!("/v1/energy-limits/{}/end", text(&added, "/id")?);
        let why = json!({"reason": "Shown; the demonstration ends it"});
        self.does(
            ("14:46", &who),
            "ends the end point with a reason",
            &path,
            &why,
        )?;
        Ok(())
    }

    /// Notes energy in one zone, and how long the evacuator ran.
    fn zone(
        &mut self,
        case: &OpenCase,
        handpiece: &Scanned,
        with: &Instruments,
    ) -> anyhow::Result<()> {
        let who = self.people.circulator.clone();
        let body = json!({
            "zone": "Calf, left", "handpiece_scan_id": handpiece.id, "generator_id": with.generator.id,
            "power_percent": "40", "passes": 6, "active_seconds": "240", "max_skin_celsius": "36.5",
            "instrument_id": with.camera.id, "emissivity": "0.98", "distance_cm": "30",
        });
        let path = format!("/v1/cases/{}/energy", case.id);
        let what = "notes the energy in one zone, with the generator and the camera";
        let noted = self.does(("14:40", &who), what, &path, &body)?;
        self.report.beside(&format!(
            "highest skin temperature {} C by {}",
            text(&noted, "/max_skin_celsius")?,
            text(&noted, "/instrument")?
        ))?;
        let run = json!({"case_id": case.id, "minutes": "35"});
        let path = format!("/v1/equipment/{}/runs", with.evacuator.id);
        self.does(
            ("14:55", &who),
            "notes 35 minutes of the evacuator",
            &path,
            &run,
        )?;
        Ok(())
    }

    /// A calibration finds the camera out of tolerance, and its cases are asked for.
    pub(super) fn out_of_tolerance(&mut self, with: &Instruments) -> anyhow::Result<()> {
        let who = self.people.materials.clone();
        let service = json!({
            "kind": "calibration", "done_on": self.today.to_string(), "as_found": "out_of_tolerance",
            "due_on": self.today.checked_add(365.days())?.to_string(),
            "done_by": "Brindlemoor service (invented)", "certificate": "C-0182",
        });
        let path = format!("/v1/equipment/{}/services", with.camera.id);
        let what = "notes that a calibration found the camera out of tolerance";
        let found = self.does(("10:00", &who), what, &path, &service)?;
        if found["findings"][0]["slug"] != "out_of_service" {
            bail!("a calibration out of tolerance left the camera in service");
        }
        let who = self.people.compliance.clone();
        let path = format!("/v1/equipment/{}/cases", with.camera.id);
        let answer = self.client.get(&who, &path)?.expect(200)?;
        let cases = answer["cases"].as_array().cloned().unwrap_or_default();
        let names = cases
            .iter()
            .filter_map(|case| case.pointer("/patient/name")?.as_str());
        let came = names.collect::<Vec<_>>().join(", ");
        let what = "asks which patients were measured with it";
        self.told(
            ("10:05", &who),
            what,
            "Example Visitor 3, Example Visitor 4",
            (&came, &[]),
        )
    }
}
