//! Two cases with their whole record, and a positive indicator found two days later: a mix, a gas
//! cylinder, a reusable cannula set between its loads, and the list of patients it reached.

use anyhow::{Context, bail};
use jiff::ToSpan;
use lotwarden_codes::Agency;
use lotwarden_domain::catalogue::{NewIdentifier, PackagingLevel};
use lotwarden_domain::{Clock, SystemClock};
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::Day;
use super::client::{Session, number, text};
use super::receiving::Stock;
use super::scanning::OpenCase;

/// What the morning put in place for the two cases.
struct Ready {
    sterilizer: String,
    set_product: String,
    set: Piece,
    gas: Piece,
    cylinder: String,
    vial: Vial,
}

/// A reusable piece with its label.
struct Piece {
    label: String,
    unit: String,
    lot: String,
}

/// A multi-dose vial with its label.
struct Vial {
    label: String,
    id: String,
}

impl Day {
    /// Plays both cases and the day the indicator is read.
    pub(super) fn whole_record(&mut self, stock: &Stock) -> anyhow::Result<()> {
        self.report.heading("Checks of the day")?;
        self.checks()?;

        self.report.heading("Gas and sterile processing")?;
        let ready = self.make_ready()?;
        let instruments = self.register()?;
        self.load("12:40", &ready, "L1", Some("negative"))?;
        let suspect = self.load("13:20", &ready, "L2", None)?;

        self.report.heading("Third case, with its whole record")?;
        let procedure = "Cooled vein closure, both legs";
        let third = self.open_case("13:40", 3, procedure)?;
        self.picking(&third, procedure, &ready.set_product)?;
        let set = self.scan(
            "13:50",
            &third,
            ("the reusable cannula set", &ready.set.label),
            "taken",
        )?;
        self.scan(
            "13:51",
            &third,
            ("the helium cylinder", &ready.gas.label),
            "taken",
        )?;
        let handpiece = ("a handpiece", stock.handpieces[1].as_str());
        self.scan("13:52", &third, handpiece, "stop (already_used)")?;
        self.set_up("13:53", &third, &instruments, "taken")?;
        let mix = self.mix(&third, stock, &ready.vial)?;
        self.pause("14:05", &third)?;
        self.turn("14:10", &third, "start")?;
        self.give("14:20", &mix)?;
        self.energy(&third, &set, &instruments)?;
        let gas = json!({
            "case_id": third.id, "zone": "Calf, left", "litre_per_minute": "1.5", "minutes": "12",
        });
        let who = self.people.circulator.clone();
        let path = format!("/v1/cylinders/{}/uses", ready.cylinder);
        let flowed = self.does(
            ("14:50", &who),
            "notes helium: 12 minutes at 1.5 L/min",
            &path,
            &gas,
        )?;
        self.report.beside(&format!(
            "{} litres by flow and time",
            text(&flowed, "/litre")?
        ))?;
        self.turn("15:20", &third, "complete")?;

        self.report
            .heading("Fourth case, with the same cannula set")?;
        let fourth = self.open_case("15:30", 4, "Cooled vein closure, left leg")?;
        let again = (
            "the cannula set, not processed yet",
            ready.set.label.as_str(),
        );
        self.scan("15:35", &fourth, again, "stop (load_not_released)")?;
        self.load("16:30", &ready, "L3", None)?;
        let processed = ("the cannula set after its load", ready.set.label.as_str());
        self.scan("16:40", &fourth, processed, "taken")?;
        self.set_up("16:42", &fourth, &instruments, "look (filter_spent)")?;
        self.turn("16:45", &fourth, "start")?;
        self.turn("17:30", &fourth, "complete")?;
        self.closing(&third)?;

        self.report.heading("Two days later")?;
        self.positive("09:00", &suspect)?;
        let fifth = self.open_case("09:30", 5, "Cooled vein closure, right leg")?;
        let held = ("the cannula set", ready.set.label.as_str());
        self.scan("09:35", &fifth, held, "stop (load_failed)")?;
        self.patients("09:40", &suspect)?;
        self.out_of_tolerance(&instruments)
    }

    /// Products, pieces, a filled cylinder and a sterilizer, all of this run's own.
    fn make_ready(&mut self) -> anyhow::Result<Ready> {
        let who = self.people.materials.clone();
        let set = self.piece("Reusable cannula set, 1.5 mm", "cannula", "SET")?;
        let gas = self.piece("Helium, compressed", "gas", "HE")?;
        let limit = json!({"cycle_limit": 20, "source": "Maker's instructions (invented)"});
        let path = format!("/v1/products/{}/processing", set.0);
        self.does(
            ("12:10", &who),
            "notes the maker's limit of 20 cycles for the set",
            &path,
            &limit,
        )?;
        let filled = self.today.checked_sub(30.days())?;
        let mark = self.today.checked_sub(400.days())?;
        let fill = json!({
            "lot_id": gas.1.lot, "unit_id": gas.1.unit, "gas": "helium", "name_read_back": "Helium",
            "filled_on": filled.to_string(), "water_volume_litre": "4.7", "service_psi": "2015",
            "plus": false, "retest_month": mark.to_string(), "star": false,
            "gauge_accuracy_percent": "2", "gauge_full_scale_psi": "3000", "reserve_psi": "200",
            "expected_litre": "40",
        });
        let added = self.does(
            ("12:15", &who),
            "reads the helium label back and notes the fill",
            "/v1/cylinders",
            &fill,
        )?;
        let cylinder = text(&added, "/id")?;
        let gauge = json!({"gauge_psi": "1600", "celsius": "21.1", "litre_per_minute": "1.5"});
        let path = format!("/v1/cylinders/{cylinder}/gauge");
        let read = self.does(
            ("12:16", &who),
            "reads the gauge: 1,600 psi at 21.1 C",
            &path,
            &gauge,
        )?;
        let left = |member: &str| text(&read, &format!("/left/{member}"));
        let (low, high) = (left("litre_low")?, left("litre_high")?);
        self.report.beside(&format!(
            "{} litres above the reserve, between {low} and {high}",
            left("litre")?
        ))?;
        self.report.beside(&text(&read, "/caution")?)?;
        let name = format!("Autoclave {}", self.run);
        let body = json!({"name": name, "positive_policy": "recall_suspect"});
        let added = self.does(
            ("12:20", &who),
            "adds an autoclave, policy: recall every suspect load",
            "/v1/sterilizers",
            &body,
        )?;
        let vial = self.vial()?;
        Ok(Ready {
            vial,
            sterilizer: text(&added, "/id")?,
            set_product: set.0,
            set: set.1,
            gas: gas.1,
            cylinder,
        })
    }

    /// A multi-dose vial of lidocaine, punctured today.
    fn vial(&mut self) -> anyhow::Result<Vial> {
        let who = self.people.circulator.clone();
        let (product, piece) = self.piece("Lidocaine 1 %, vial of 50 mL", "drug", "LV")?;
        let facts = json!({
            "volume_ml": "50", "strengths": [{"substance": "lidocaine", "percent": "1"}],
            "source": "Label (invented)",
        });
        let materials = self.people.materials.clone();
        let path = format!("/v1/products/{product}/drug");
        let what = "notes what the vial's label prints: 1 %, 50 mL";
        self.does(("12:28", &materials), what, &path, &facts)?;
        let body = json!({"lot_id": piece.lot, "unit_id": piece.unit, "name": "A"});
        let what = "notes the first puncture of the vial";
        let opened = self.does(("13:45", &who), what, "/v1/vials", &body)?;
        let last = text(&opened, "/last_day")?;
        self.report.beside(&format!("usable through {last}"))?;
        Ok(Vial {
            label: piece.label,
            id: text(&opened, "/id")?,
        })
    }

    /// A reusable product of this run with one piece on the shelf: its id, and the piece.
    fn piece(&mut self, name: &str, kind: &str, prefix: &str) -> anyhow::Result<(String, Piece)> {
        let who = self.people.materials.clone();
        let gtin = fresh_gtin()?;
        let body = json!({
            "name": name, "maker": "Brindlemoor (invented)", "model": prefix, "kind": kind,
            "use_class": "reusable", "carries": {"lot": true, "serial": true, "expiry": false},
            "identifiers": [{"agency": "gs1", "code": gtin, "level": "unit", "quantity": 1}],
        });
        let what = format!("describes {name}");
        let product = self.does(("12:00", &who), &what, "/v1/products", &body)?;
        let label = format!("(01){gtin}(10){prefix}{}(21){prefix}-1", self.run);
        let line = json!({"text": label, "quantity": 1, "location_id": self.places.shelf});
        let what = format!("receives one piece of {name}");
        let receipt = self.does(
            ("12:05", &who),
            &what,
            "/v1/receipts",
            &json!({"lines": [line]}),
        )?;
        let piece = Piece {
            unit: text(&receipt, "/lines/0/unit_id")?,
            lot: text(&receipt, "/lines/0/lot_id")?,
            label,
        };
        Ok((text(&product, "/id")?, piece))
    }

    /// Runs the set through a load and releases it by its mechanical and chemical indicators.
    fn load(
        &mut self,
        at: &str,
        ready: &Ready,
        cycle: &str,
        biological: Option<&str>,
    ) -> anyhow::Result<String> {
        let who = self.people.materials.clone();
        let pack = json!({
            "label": format!("{cycle}-01"), "name": "Cannula set", "implant": false,
            "unit_ids": [ready.set.unit],
        });
        let body = json!({
            "sterilizer_id": ready.sterilizer, "cycle": cycle, "kind": "terminal",
            "started_at": SystemClock.now().to_string(), "exposure_minutes": "4",
            "exposure_celsius": "132", "packs": [pack],
        });
        let what = format!("runs load {cycle} with the cannula set");
        let load = self.does((at, &who), &what, "/v1/loads", &body)?;
        let id = text(&load, "/id")?;
        let further = biological.map(|result| ("biological", result));
        let both = [("mechanical", "good"), ("chemical", "good")];
        let mut version = number(&load, "/version")?;
        for (kind, result) in both.into_iter().chain(further) {
            let path = format!("/v1/loads/{id}/indicators");
            let body = json!({"kind": kind, "result": result});
            let what = format!("reads its {kind} indicator: {result}");
            let read = self.does((at, &who), &what, &path, &body)?;
            version = number(&read, "/load/version")?;
        }
        let path = format!("/v1/loads/{id}/release");
        self.changes((at, &who), "releases the load", &path, version, &json!({}))?;
        Ok(id)
    }

    /// Orders, makes and checks the mix of the case.
    fn mix(&mut self, case: &OpenCase, stock: &Stock, vial: &Vial) -> anyhow::Result<String> {
        let mut ingredients = Vec::new();
        let lidocaine = json!([{"substance": "lidocaine", "percent": "1"}]);
        let bicarbonate = json!([{"substance": "bicarbonate", "meq_per_ml": "1"}]);
        for (what, label, volume, strengths) in [
            ("the saline of the mix", &stock.saline, "250", json!([])),
            ("the lidocaine vial", &vial.label, "25", lidocaine),
            ("the bicarbonate", &stock.bicarbonate, "2.5", bicarbonate),
        ] {
            let scan = self.scan("13:54", case, (what, label.as_str()), "taken")?;
            ingredients
                .push(json!({"scan_id": scan.id, "volume_ml": volume, "strengths": strengths}));
        }
        let practitioner = self.people.practitioner.clone();
        let order = json!({
            "name": "Bag B", "written_order": "250 mL saline, 25 mL lidocaine 1 %, 2.5 mL bicarbonate",
            "weight_kg": "60", "use_within_minutes": 240, "use_by_source": "Site policy 12 (invented)",
            "password": practitioner.password,
        });
        let path = format!("/v1/cases/{}/mixes", case.id);
        let mix = self.does(
            ("13:56", &practitioner),
            "signs the order of a mix, weight 60 kg",
            &path,
            &order,
        )?;
        let id = text(&mix, "/id")?;
        ingredients[1]["vial_id"] = Value::from(vial.id.clone());
        let body = json!({"started_at": SystemClock.now().to_string(), "ingredients": ingredients});
        let path = format!("/v1/mixes/{id}/make");
        let who = self.people.circulator.clone();
        let made = self.changes(
            ("13:58", &who),
            "makes the mix from the scanned lots",
            &path,
            1,
            &body,
        )?;
        let substances = made["mix"]["mixture"]["substances"].as_array().cloned();
        for substance in substances.unwrap_or_default() {
            if let (Ok(name), Ok(mg)) = (
                text(&substance, "/substance"),
                text(&substance, "/mg_per_litre"),
            ) {
                self.report
                    .beside(&format!("{name} {mg} mg/L over the whole volume"))?;
            }
        }
        self.report
            .beside(&text(&made, "/mix/sterile_products/sentence")?)?;
        let version = number(&made, "/mix/version")?;
        let path = format!("/v1/mixes/{id}/check");
        self.changes(
            ("14:00", &practitioner),
            "checks it as the second person",
            &path,
            version,
            &json!({}),
        )?;
        Ok(id)
    }

    /// The time-out by two people.
    fn pause(&mut self, at: &str, case: &OpenCase) -> anyhow::Result<()> {
        let (first, second) = (
            self.people.circulator.clone(),
            self.people.practitioner.clone(),
        );
        let path = format!("/v1/cases/{}/checks", case.id);
        let lines = json!([{"item": "Name, procedure and site", "answer": "confirmed"}]);
        let body = json!({"kind": "time_out", "lines": lines});
        let check = self.does((at, &first), "records the time-out", &path, &body)?;
        let path = format!("{path}/{}/confirm", text(&check, "/id")?);
        self.does(
            (at, &second),
            "confirms it as the second person",
            &path,
            &json!({}),
        )?;
        Ok(())
    }

    /// Gives most of the mix and accounts for the rest.
    fn give(&mut self, at: &str, mix: &str) -> anyhow::Result<()> {
        let who = self.people.circulator.clone();
        let path = format!("/v1/mixes/{mix}/doses");
        let dose = json!({"zone": "Calf, left", "volume_ml": "180"});
        let given = self.does(
            (at, &who),
            "notes 180 mL in the left upper arm",
            &path,
            &dose,
        )?;
        let version = number(&given, "/mix/version")?;
        let case = text(&given, "/mix/case_id")?;
        let rest = json!({"discarded_ml": "97.5", "left_ml": "0"});
        let path = format!("/v1/mixes/{mix}/close");
        self.changes(
            (at, &who),
            "discards the rest: 277.5 = 180 + 97.5",
            &path,
            version,
            &rest,
        )?;
        let shown = self
            .client
            .get(&who, &format!("/v1/cases/{case}/amounts"))?;
        let shown = shown.expect(200)?;
        let substances = shown["substances"].as_array().cloned().unwrap_or_default();
        let is_lidocaine = |one: &&Value| one["substance"] == "lidocaine";
        let lidocaine = substances
            .iter()
            .find(is_lidocaine)
            .context("no lidocaine in the amounts")?;
        let (mg, by_weight) = (text(lidocaine, "/mg")?, text(lidocaine, "/mg_per_kg")?);
        self.report.beside(&format!(
            "lidocaine recorded so far: {mg} mg = {by_weight} mg/kg"
        ))?;
        self.report.beside(&text(&shown, "/caution")?)
    }

    /// The biological indicator of a load is read as positive.
    fn positive(&mut self, at: &str, load: &str) -> anyhow::Result<()> {
        let who = self.people.materials.clone();
        let path = format!("/v1/loads/{load}/indicators");
        let body = json!({"kind": "biological", "result": "positive"});
        let read = self.does(
            (at, &who),
            "reads the biological indicator of L2: positive",
            &path,
            &body,
        )?;
        let cycles = read["suspects"].as_array().cloned().unwrap_or_default();
        let cycles: Vec<&str> = cycles
            .iter()
            .filter_map(|load| load["cycle"].as_str())
            .collect();
        self.report
            .beside(&format!("held in the same commit: {}", cycles.join(", ")))?;
        let reached = read["reached"].as_array().map_or(0, Vec::len);
        self.report
            .beside(&format!("{reached} cases were reached"))?;
        if cycles != ["L2", "L3"] || reached != 2 {
            bail!("the positive indicator reached something else than L2, L3 and two cases");
        }
        Ok(())
    }

    /// The compliance officer asks whom the suspect loads reached.
    fn patients(&mut self, at: &str, load: &str) -> anyhow::Result<()> {
        let who = self.people.compliance.clone();
        let asked = format!("/v1/where-used?load={load}");
        let answer = self.client.get(&who, &asked)?.expect(200)?;
        let items = answer["items"].as_array().cloned().unwrap_or_default();
        let names = items
            .iter()
            .filter_map(|item| item.pointer("/patient/name")?.as_str());
        let came = names.collect::<Vec<_>>().join(", ");
        let what = "asks which patients load L2 reached before the set was processed again";
        self.told((at, &who), what, "Example Visitor 3", (&came, &[]))
    }
}

/// A GTIN of the example range 952 that no run had before.
fn fresh_gtin() -> anyhow::Result<String> {
    let number = Uuid::new_v4().as_u128() % 1_000_000_000;
    (0..10)
        .map(|check| format!("0952{number:09}{check}"))
        .find(|code| {
            let read = NewIdentifier::read(Agency::Gs1, code, PackagingLevel::Unit, 1);
            read.is_ok_and(|read| read.iter().all(|one| one.check_digit_right))
        })
        .context("ten digits and none is the check digit")
}

impl Day {
    /// Posts and reports; the step has to be done.
    pub(super) fn does(
        &mut self,
        (at, who): (&str, &Session),
        what: &str,
        path: &str,
        body: &Value,
    ) -> anyhow::Result<Value> {
        let reply = self.client.post(who, path, body)?;
        let (word, says) = (reply.word(), reply.sentence());
        self.told((at, who), what, "done", (&word, &says))?;
        settled(reply.body, reply.status)
    }

    /// Changes a version and reports; the step has to be done.
    fn changes(
        &mut self,
        (at, who): (&str, &Session),
        what: &str,
        path: &str,
        version: i64,
        body: &Value,
    ) -> anyhow::Result<Value> {
        let reply = self
            .client
            .change(who, (Method::POST, path), version, Some(body))?;
        let (word, says) = (reply.word(), reply.sentence());
        self.told((at, who), what, "done", (&word, &says))?;
        settled(reply.body, reply.status)
    }
}

fn settled(body: Value, status: u16) -> anyhow::Result<Value> {
    match status {
        200..=299 => Ok(body),
        _ => bail!("a step that later ones need was refused: {body}"),
    }
}
