//! Routine checks of the site: due, done, late and missed by the facility's days; limits; two people.

use crate::harness::client::text;
use crate::harness::{Client, Suite};
use jiff::SignedDuration;
use serde_json::{Value, json};

fn fridge() -> Value {
    json!({
        "name": "Drug refrigerator", "every": "day", "two_people": false, "source": "Site policy 18",
        "values": [{"name": "Temperature", "kind": "number", "unit": "°C", "low": "2", "high": "8"}],
    })
}

fn seal() -> Value {
    json!({
        "name": "Crash cart", "every": "operating_day", "two_people": true, "source": "Site policy 19",
        "values": [{"name": "Seal intact", "kind": "yes_no"}, {"name": "Seal number", "kind": "text"}],
    })
}

async fn on_list(suite: &Suite, body: &Value) -> String {
    let added = suite.materials.post("/v1/routines", body).await;
    text(&added.expect(201), "id")
}

fn warm(value: &str) -> Value {
    json!({"values": [{"name": "Temperature", "value": value}]})
}

async fn record(by: &Client, routine: &str, body: &Value) -> Value {
    let path = format!("/v1/routines/{routine}/records");
    by.post(&path, body).await.expect(201)
}

/// First day and state of each period, of one check.
async fn periods(suite: &Suite, routine: &str) -> Vec<(String, String)> {
    let list = suite
        .circulator
        .get("/v1/routines?from=2026-03-01")
        .await
        .expect(200);
    let items = list["items"].as_array().expect("items").clone();
    let own = items
        .iter()
        .find(|item| item["id"] == routine)
        .expect("the check");
    let periods = own["periods"].as_array().expect("periods");
    periods
        .iter()
        .map(|one| (text(one, "first_on"), text(one, "state")))
        .collect()
}

fn pairs(expected: &[(&str, &str)]) -> Vec<(String, String)> {
    let owned = |(day, state): &(&str, &str)| ((*day).to_owned(), (*state).to_owned());
    expected.iter().map(owned).collect()
}

// The clock stands at 2026-03-10 in the facility's zone. A missed check is a record, never a gap;
// a back-dated one is a late entry with both times: accreditors' manuals, from memory.
#[actix_web::test]
async fn a_check_is_due_each_day_missed_when_nobody_did_it_and_late_when_it_comes_after() {
    let mut suite = Suite::start().await;
    let routine = on_list(&suite, &fridge()).await;
    assert_eq!(
        periods(&suite, &routine).await,
        pairs(&[("2026-03-10", "due")])
    );
    record(&suite.circulator, &routine, &warm("4.5")).await;
    let first = suite.service.site.clock.reading();
    suite.a_day_later().await;
    suite.a_day_later().await;
    let expected = [
        ("2026-03-10", "done"),
        ("2026-03-11", "missed"),
        ("2026-03-12", "due"),
    ];
    assert_eq!(periods(&suite, &routine).await, pairs(&expected));
    let mut late = warm("5");
    let done_at = first + SignedDuration::from_hours(24);
    late["done_at"] = json!(done_at.to_string());
    let written = record(&suite.circulator, &routine, &late).await;
    assert_eq!(
        (&written["late"], &written["done_on"]),
        (&json!(true), &json!("2026-03-11"))
    );
    assert_ne!(written["done_at"], written["recorded_at"]);
    let expected = [
        ("2026-03-10", "done"),
        ("2026-03-11", "late"),
        ("2026-03-12", "due"),
    ];
    assert_eq!(periods(&suite, &routine).await, pairs(&expected));
    let path = format!("/v1/routines/{routine}/records");
    for (hours, pointer) in [(72, "/done_at"), (-72, "/done_at")] {
        let mut other = warm("5");
        other["done_at"] = json!((first + SignedDuration::from_hours(hours)).to_string());
        let problem = suite
            .circulator
            .post(&path, &other)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer);
    }
    let reason = json!({"reason": "It was sold"});
    let end = format!("/v1/routines/{routine}/end");
    suite.materials.post(&end, &reason).await.expect(200);
    suite
        .materials
        .post(&end, &reason)
        .await
        .problem(409, "already-done");
    let expected = [("2026-03-10", "done"), ("2026-03-11", "late")];
    assert_eq!(periods(&suite, &routine).await, pairs(&expected));
    let records = suite.compliance.get(&path).await.expect(200);
    assert_eq!(records["items"].as_array().map(Vec::len), Some(2));
}

/// Whether each period's last word is a value out of its limits.
async fn faults(suite: &Suite, routine: &str) -> Vec<Value> {
    let list = suite
        .circulator
        .get("/v1/routines?from=2026-03-01")
        .await
        .expect(200);
    let items = list["items"].as_array().expect("items").iter();
    let own = items.filter(|item| item["id"] == routine);
    let periods = own.flat_map(|item| item["periods"].as_array().expect("periods").clone());
    periods.map(|one| one["out_of_limits"].clone()).collect()
}

#[actix_web::test]
async fn a_value_out_of_its_limits_is_taken_back_by_a_complete_check_after_it_and_by_no_other() {
    let suite = Suite::start().await;
    let mut asked = fridge();
    asked["every"] = json!("operating_day");
    asked["two_people"] = json!(true);
    let routine = on_list(&suite, &asked).await;
    let now = suite.service.site.clock.reading();
    let at = |minutes: i64, value: &str| {
        let mut body = warm(value);
        body["done_at"] = json!((now - SignedDuration::from_mins(minutes)).to_string());
        body["action"] = json!("The technician was called");
        body
    };
    let confirm = async |record: &Value| {
        let id = text(record, "id");
        let path = format!("/v1/routines/{routine}/records/{id}/confirm");
        suite.practitioner.post(&path, &json!({})).await.expect(200)
    };
    // There is no case on this day: a check that was done is seen all the same.
    let warm = record(&suite.circulator, &routine, &at(30, "12")).await;
    confirm(&warm).await;
    assert_eq!(faults(&suite, &routine).await, [json!(true)]);
    // Written down later, done before.
    let before = record(&suite.circulator, &routine, &at(60, "5")).await;
    confirm(&before).await;
    assert_eq!(faults(&suite, &routine).await, [json!(true)]);
    let after = record(&suite.circulator, &routine, &at(10, "5")).await;
    assert_eq!(faults(&suite, &routine).await, [json!(true)]);
    confirm(&after).await;
    assert_eq!(faults(&suite, &routine).await, [json!(false)]);
}

// USP <659>, from memory: a refrigerator holds 2 to 8 degrees Celsius.
#[actix_web::test]
async fn a_value_out_of_its_limits_needs_what_was_done_about_it() {
    let suite = Suite::start().await;
    let routine = on_list(&suite, &fridge()).await;
    let path = format!("/v1/routines/{routine}/records");
    for (body, pointer) in [
        (warm("8.1"), "/action"),
        (warm("cold"), "/values/0/value"),
        (json!({"values": []}), "/values"),
        (
            json!({"values": [{"name": "Humidity", "value": "5"}]}),
            "/values",
        ),
    ] {
        let problem = suite
            .circulator
            .post(&path, &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer, "{body}");
    }
    let mut acted = warm("8.1");
    acted["action"] = json!("Door was ajar; drugs moved to the spare");
    let written = record(&suite.circulator, &routine, &acted).await;
    assert_eq!(written["out_of_limits"], true);
    let list = suite.circulator.get("/v1/routines").await.expect(200);
    let period = &list["items"][0]["periods"][0];
    assert_eq!(
        (&period["state"], &period["out_of_limits"]),
        (&json!("done"), &json!(true))
    );
}

#[actix_web::test]
async fn a_check_by_two_people_is_done_once_the_second_confirmed_it() {
    let mut suite = Suite::start().await;
    let routine = on_list(&suite, &seal()).await;
    // No case on any day: nothing is asked for.
    assert_eq!(periods(&suite, &routine).await, []);
    suite.case().await;
    // That case is planned for 2026-03-11.
    suite.a_day_later().await;
    assert_eq!(
        periods(&suite, &routine).await,
        pairs(&[("2026-03-11", "due")])
    );
    let found = json!({"values": [{"name": "Seal intact", "value": "yes"}, {"name": "Seal number", "value": "70912"}]});
    let written = record(&suite.circulator, &routine, &found).await;
    assert_eq!(
        periods(&suite, &routine).await,
        pairs(&[("2026-03-11", "unconfirmed")])
    );
    let path = format!(
        "/v1/routines/{routine}/records/{}/confirm",
        text(&written, "id")
    );
    suite
        .circulator
        .post(&path, &json!({}))
        .await
        .problem(403, "forbidden");
    suite.practitioner.post(&path, &json!({})).await.expect(200);
    suite
        .practitioner
        .post(&path, &json!({}))
        .await
        .problem(409, "already-done");
    assert_eq!(
        periods(&suite, &routine).await,
        pairs(&[("2026-03-11", "done")])
    );
}

#[actix_web::test]
async fn the_list_says_what_does_not_fit() {
    let suite = Suite::start().await;
    let value = |more: Value| {
        let mut body = fridge();
        let values = json!([{"name": "Temperature", "kind": "number"}]);
        body["values"] = values;
        for (member, value) in more.as_object().expect("an object") {
            body["values"][0][member] = value.clone();
        }
        body
    };
    let mut twice = fridge();
    twice["values"] = json!([{"name": "A", "kind": "text"}, {"name": "A", "kind": "text"}]);
    let mut nowhere = fridge();
    nowhere["location_id"] = json!(suite.case().await);
    for (body, pointer) in [
        (value(json!({"low": "9", "high": "8"})), "/values/0/high"),
        (
            value(json!({"kind": "yes_no", "low": "2"})),
            "/values/0/kind",
        ),
        (twice, "/values"),
        (nowhere, "/location_id"),
    ] {
        let problem = suite
            .materials
            .post("/v1/routines", &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer, "{body}");
    }
    for from in ["2026-03-11", "2024-01-01"] {
        let path = format!("/v1/routines?from={from}");
        suite.circulator.get(&path).await.problem(400, "invalid");
    }
}
