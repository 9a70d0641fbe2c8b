use serde_json::{Value, json};

use super::{Computation, bag, cylinder, refusal, with, without};

fn named(computation: Computation, asked: &Value) -> Vec<(String, &'static str)> {
    refusal(computation, asked)
        .0
        .into_iter()
        .map(|fault| (fault.field, fault.code.as_str()))
        .collect()
}

fn only(computation: Computation, asked: &Value, field: &str, code: &str) {
    let faults = named(computation, asked);
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert_eq!((faults[0].0.as_str(), faults[0].1), (field, code));
}

#[test]
fn a_missing_field_of_a_cylinder_is_named_and_null_is_missing() {
    for name in [
        "water_volume_litre",
        "gauge_psi",
        "celsius",
        "flow_litre_per_minute",
        "gauge_accuracy_percent",
        "gauge_full_scale_psi",
    ] {
        only(
            Computation::Helium,
            &without(&cylinder(), name),
            name,
            "missing",
        );
        only(
            Computation::Helium,
            &with(&cylinder(), name, Value::Null),
            name,
            "missing",
        );
    }
}

#[test]
fn an_absurd_field_of_a_cylinder_is_named() {
    for (name, value, code) in [
        ("water_volume_litre", json!(0), "out_of_range"),
        ("water_volume_litre", json!(4700), "out_of_range"),
        ("gauge_psi", json!(-1), "out_of_range"),
        ("gauge_psi", json!(1e300), "out_of_range"),
        ("gauge_psi", json!("full"), "not_a_number"),
        ("gauge_psi", json!(true), "not_a_number"),
        ("gauge_psi", json!("1_000"), "not_a_number"),
        ("gauge_psi", json!("1,000"), "not_a_number"),
        ("gauge_psi", json!([500]), "not_a_number"),
        ("gauge_psi", json!(3001), "conflict"),
        ("celsius", json!(-273.15), "out_of_range"),
        ("celsius", json!(294.25), "out_of_range"),
        ("celsius", json!("NaN"), "not_a_number"),
        ("reserve_psi", json!(-200), "out_of_range"),
        ("flow_litre_per_minute", json!(0), "out_of_range"),
        ("gauge_accuracy_percent", json!(101), "out_of_range"),
        ("gauge_full_scale_psi", json!(0), "out_of_range"),
    ] {
        only(
            Computation::Helium,
            &with(&cylinder(), name, value),
            name,
            code,
        );
    }
    only(
        Computation::Helium,
        &with(&cylinder(), "gauge_bar", json!(34)),
        "gauge_bar",
        "conflict",
    );
    only(
        Computation::Helium,
        &with(&cylinder(), "reserve", json!(3)),
        "reserve",
        "unknown_field",
    );
    only(Computation::Helium, &json!([1]), "", "not_an_object");
}

#[test]
fn a_name_that_may_be_a_persons_is_not_repeated() {
    for name in ["Marguerite Delacroix", "MRN-004217", "004217", "", "ö"] {
        let asked = with(&cylinder(), name, json!(1));
        only(Computation::Helium, &asked, "?", "unknown_field");
        let told = refusal(Computation::Helium, &asked).to_string();
        assert!(told.contains("water_volume_litre"), "{told}");
        assert!(name.is_empty() || !told.contains(name), "{told}");
    }
}

#[test]
fn every_faulty_field_is_named_not_only_the_first() {
    let asked = json!({ "gauge_bar": -4, "celsius": "warm", "water_volume_litre": 4.7 });
    let fields: Vec<_> = named(Computation::Helium, &asked)
        .into_iter()
        .map(|fault| fault.0)
        .collect();
    assert_eq!(
        fields,
        [
            "gauge_bar",
            "celsius",
            "flow_litre_per_minute",
            "gauge_accuracy_percent",
            "gauge_full_scale_psi"
        ]
    );
}

#[test]
fn a_faulty_ingredient_is_named_with_its_place() {
    let change = |index: usize, name: &str, value: Value| {
        let mut asked = bag();
        asked["ingredients"][index][name] = value;
        asked
    };
    for (index, name, value, code) in [
        (1, "volume_ml", json!(0), "out_of_range"),
        (1, "volume_ml", Value::Null, "missing"),
        (1, "percent", json!(101), "out_of_range"),
        (1, "percent", Value::Null, "missing"),
        (1, "name", json!(" "), "not_a_text"),
        (2, "ratio", json!("1000"), "not_a_number"),
        (2, "ratio", json!("1000:1"), "not_a_number"),
        (0, "expires_on", json!("2026-02-30"), "not_a_date"),
        (0, "expires_on", json!("2026-13"), "not_a_date"),
        (0, "in_use_days", json!(7), "conflict"),
        (0, "diluted", json!(true), "unknown_field"),
    ] {
        let field = format!("ingredients[{index}].{name}");
        only(Computation::Mix, &change(index, name, value), &field, code);
    }
    // No strength and no diluent: not zero.
    only(
        Computation::Mix,
        &change(0, "diluent", json!(false)),
        "ingredients[0].percent",
        "missing",
    );
    only(
        Computation::Mix,
        &change(1, "ratio", json!("1:100")),
        "ingredients[1].percent",
        "conflict",
    );
    only(
        Computation::Mix,
        &change(1, "diluent", json!(true)),
        "ingredients[1].diluent",
        "conflict",
    );
    let substances = json!([{ "substance": "lidocaine" }]);
    let mut asked = change(0, "substances", substances);
    asked["ingredients"][0]["diluent"] = json!(false);
    only(
        Computation::Mix,
        &asked,
        "ingredients[0].substances[0].percent",
        "missing",
    );
}

#[test]
fn a_faulty_mix_is_named() {
    only(
        Computation::Mix,
        &without(&bag(), "ingredients"),
        "ingredients",
        "missing",
    );
    only(
        Computation::Mix,
        &with(&bag(), "ingredients", json!([])),
        "ingredients",
        "not_a_list",
    );
    only(
        Computation::Mix,
        &without(&bag(), "weight_kg"),
        "weight_kg",
        "missing",
    );
    for (name, value, code) in [
        ("weight_kg", json!(0), "out_of_range"),
        ("weight_kg", json!("60 kg"), "not_a_number"),
        ("given_ml", json!(283), "out_of_range"),
        ("given_ml", json!(-1), "out_of_range"),
        ("started_at", json!("07:40"), "not_a_time"),
        ("started_at", json!("2026-03-02"), "not_a_time"),
        ("started_at", json!("2026-03-02T07:40Z"), "not_a_time"),
        ("started_at", json!("2026-03-02T07:40-05:00"), "not_a_time"),
        (
            "started_at",
            json!("2026-03-02T07:40[America/Chicago]"),
            "not_a_time",
        ),
        ("sterile_product_limit", json!(2.5), "not_a_whole_number"),
    ] {
        only(Computation::Mix, &with(&bag(), name, value), name, code);
    }
    let zones = json!([{ "zone": "left", "volume_ml": 180 }]);
    only(
        Computation::Mix,
        &with(&bag(), "given", zones),
        "given",
        "conflict",
    );
}

#[test]
fn a_faulty_day_is_named() {
    for (value, code) in [
        (json!("2026-02-30"), "not_a_date"),
        (json!("16.01.2026"), "not_a_date"),
        (json!("2026-01-16T00:01"), "not_a_date"),
        (json!(20_260_116), "not_a_date"),
        (json!("1926-01-16"), "out_of_range"),
        (Value::Null, "missing"),
    ] {
        only(
            Computation::Deadline,
            &json!({ "aware_on": value }),
            "aware_on",
            code,
        );
    }
    let deadline = json!({ "aware_on": "2026-01-16" });
    for (name, value, code) in [
        ("work_days", json!(0), "out_of_range"),
        ("event", json!("fright"), "unknown_word"),
        ("facility_status", json!("surgery"), "unknown_word"),
        ("manufacturer_known", json!("yes"), "not_true_or_false"),
        ("requested_on", json!("2026-01-16"), "conflict"),
    ] {
        only(
            Computation::Deadline,
            &with(&deadline, name, value),
            name,
            code,
        );
    }
}

#[test]
fn faulty_checks_and_years_are_named() {
    only(
        Computation::Effectiveness,
        &json!({}),
        "consignees",
        "missing",
    );
    only(
        Computation::Effectiveness,
        &json!({ "consignees": 0 }),
        "consignees",
        "out_of_range",
    );
    only(
        Computation::Effectiveness,
        &json!({ "consignees": 1.5 }),
        "consignees",
        "not_a_whole_number",
    );
    let level = json!({ "consignees": 10, "level": "F" });
    only(Computation::Effectiveness, &level, "level", "unknown_word");
    let sample = json!({ "confidence_percent": 95 });
    only(
        Computation::Effectiveness,
        &sample,
        "effective_percent",
        "missing",
    );
    // Six of seven counts: the seventh is not zero.
    let counts = json!({
        "received": 24, "on_hand": 0, "quarantined": 7, "used": 15, "wasted": 1, "returned": 0,
    });
    only(Computation::Effectiveness, &counts, "destroyed", "missing");
    let years = json!({ "case_on": "2026-03-02" });
    only(
        Computation::Retention,
        &years,
        "state_medical_record_years",
        "missing",
    );
    let held =
        json!({ "case_on": "2026-03-02", "state_medical_record_years": 7, "legal_hold": "yes" });
    only(
        Computation::Retention,
        &held,
        "legal_hold",
        "not_true_or_false",
    );
}
