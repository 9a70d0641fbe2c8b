//! The checks of the morning, and what the third case needs by its list.

use anyhow::Context;
use serde_json::{Value, json};

use super::Day;
use super::client::text;
use super::scanning::OpenCase;

impl Day {
    /// The refrigerator is too warm and somebody acts; the crash cart is checked by two people.
    pub(super) fn checks(&mut self) -> anyhow::Result<()> {
        let fridge = self.routine(&json!({
            "name": "Drug refrigerator", "every": "day", "two_people": false,
            "source": "Site policy 18 (invented)",
            "values": [{"name": "Temperature", "kind": "number", "unit": "C", "low": "2", "high": "8"}],
        }))?;
        let cart = self.routine(&json!({
            "name": "Crash cart", "every": "operating_day", "two_people": true,
            "source": "Site policy 19 (invented)",
            "values": [{"name": "Seal intact", "kind": "yes_no"}, {"name": "Seal number", "kind": "text"}],
        }))?;
        let who = self.people.circulator.clone();
        let path = format!("/v1/routines/{fridge}/records");
        let warm = json!({"values": [{"name": "Temperature", "value": "8.6"}]});
        let reply = self.client.post(&who, &path, &warm)?;
        let (word, says) = (reply.word(), reply.sentence());
        let what = "reads 8.6 C at the refrigerator and says nothing of it";
        self.told(("06:40", &who), what, "refused (invalid)", (&word, &says))?;
        let mut acted = warm;
        acted["action"] = Value::from("Door was ajar; drugs moved to the spare refrigerator.");
        let what = "reads 8.6 C and notes what was done about it";
        self.does(("06:41", &who), what, &path, &acted)?;
        let cold = json!({"values": [{"name": "Temperature", "value": "4.5"}]});
        self.does(("07:10", &who), "reads 4.5 C", &path, &cold)?;
        let path = format!("/v1/routines/{cart}/records");
        let seal = json!({"values": [
            {"name": "Seal intact", "value": "yes"}, {"name": "Seal number", "value": "70912"},
        ]});
        let record = self.does(
            ("06:45", &who),
            "checks the crash cart's seal",
            &path,
            &seal,
        )?;
        let path = format!("{path}/{}/confirm", text(&record, "/id")?);
        let second = self.people.practitioner.clone();
        let what = "confirms it as the second person";
        self.does(("06:46", &second), what, &path, &json!({}))?;
        Ok(())
    }

    /// A check of the site's list; added by the first day that is played.
    fn routine(&mut self, body: &Value) -> anyhow::Result<String> {
        let who = self.people.materials.clone();
        let listed = self.client.get(&who, "/v1/routines")?.expect(200)?;
        let items = listed["items"].as_array().cloned().unwrap_or_default();
        if let Some(known) = items.iter().find(|item| item["name"] == body["name"]) {
            return text(known, "/id");
        }
        let what = format!("puts {} on the list of checks", text(body, "/name")?);
        let added = self.does(("06:30", &who), &what, "/v1/routines", body)?;
        text(&added, "/id")
    }

    /// What the list of a case asks for, where it lies, and what stands against the case.
    pub(super) fn picking(
        &mut self,
        case: &OpenCase,
        procedure: &str,
        product: &str,
    ) -> anyhow::Result<()> {
        let who = self.people.materials.clone();
        let list = json!({
            "procedure": procedure, "items": [{"product_id": product, "open": 1, "hold": 1}],
            "equipment": ["generator", "thermometer"],
        });
        let what = "lists what the procedure needs: 1 to open, 1 to hold";
        self.does(("13:42", &who), what, "/v1/lists", &list)?;
        let path = format!("/v1/cases/{}/picking", case.id);
        let picking = self.client.get(&who, &path)?.expect(200)?;
        let from = &picking["from"][0];
        self.report.beside(&format!(
            "take {} of {} from {}",
            from["quantity"],
            text(from, "/product_name")?,
            text(from, "/location_name")?
        ))?;
        let path = format!("/v1/readiness?day={}", self.today);
        let shown = self.client.get(&who, &path)?.expect(200)?;
        let cases = shown["cases"].as_array().cloned().unwrap_or_default();
        let own = cases.iter().find(|one| one["case"]["id"] == *case.id);
        let own = own.context("the case is not among those of the day")?;
        let reasons = own["reasons"].as_array().cloned().unwrap_or_default();
        let short = reasons.iter().find(|reason| reason["kind"] == "short");
        let (came, says) = match short {
            Some(reason) => ("short", vec![text(reason, "/sentence")?]),
            None => ("ready", Vec::new()),
        };
        let what = "asks what stands against the case";
        self.told(("13:44", &who), what, "short", (came, &says))
    }
}
