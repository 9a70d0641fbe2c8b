use serde_json::{Value, json};

use super::{Computation, answer, bag, cylinder, with, without};

fn near(value: &Value, expected: f64, by: f64) -> bool {
    (value.as_f64().unwrap() - expected).abs() <= by
}

// 4.7 L water, 21.1 C, 500 psi, 2 % of 3,000 psi, 2 L/min: CoolProp 8.0.0.
#[test]
fn a_cylinder_has_litres_minutes_and_a_band() {
    let left = answer(Computation::Helium, &cylinder());
    assert!(near(&left["litres"], 157.21, 0.04), "{left}");
    assert!(near(&left["litres_low"], 138.6, 0.1), "{left}");
    assert!(near(&left["litres_high"], 175.7, 0.1), "{left}");
    assert!(near(&left["minutes"], 78.6, 0.05), "{left}");
    assert!(near(&left["z"], 1.01713, 1e-5), "{left}");
    assert_eq!(left["in_checked_range"], true);
}

// 1 psi = 6,894.757 Pa (NIST SP 811).
#[test]
fn a_pressure_may_be_given_in_either_unit_and_as_text() {
    let in_psi = answer(Computation::Helium, &cylinder());
    let mut in_bar = without(&without(&cylinder(), "gauge_psi"), "gauge_full_scale_psi");
    in_bar["gauge_bar"] = json!("34.47378647");
    in_bar["gauge_full_scale_bar"] = json!(206.842_718_8);
    let in_bar = answer(Computation::Helium, &in_bar);
    for name in ["litres", "litres_low", "litres_high", "minutes", "z"] {
        assert!(
            near(&in_bar[name], in_psi[name].as_f64().unwrap(), 1e-4),
            "{name}: {in_bar}"
        );
    }
}

// CoolProp 8.0.0: 93.71 L above 200 psi; below a reserve nothing of it is left.
#[test]
fn a_reserve_is_kept_back_and_one_that_is_left_out_is_said() {
    let kept = answer(
        Computation::Helium,
        &with(&cylinder(), "reserve_psi", json!(200)),
    );
    assert!(near(&kept["litres"], 93.71, 0.04), "{kept}");
    let below = answer(
        Computation::Helium,
        &with(&cylinder(), "reserve_psi", json!(600)),
    );
    assert_eq!(below["litres"], 0);
    let unsaid = answer(Computation::Helium, &without(&cylinder(), "reserve_psi"));
    assert_eq!(unsaid["assumed"][1]["field"], "reserve_psi");
    assert!(unsaid["assumed"][1]["source"].is_string());
}

// Worked example (arithmetic): see mixes::mixture.
#[test]
fn a_bag_of_four_products_has_its_amounts() {
    let mix = answer(Computation::Mix, &bag());
    assert_eq!(mix["totals"]["volume_ml"], 277.75);
    assert_eq!(mix["totals"]["mg"]["lidocaine"], 250);
    assert_eq!(mix["mg_per_litre"]["lidocaine"], 900.090_009);
    assert_eq!(mix["meq_per_litre"]["sodium bicarbonate"], 9.0009);
    assert_eq!(mix["mg"]["lidocaine"], 162.016_202);
    assert_eq!(mix["mg_per_kg"]["lidocaine"], 2.70027);
    assert_eq!(mix["mg"]["epinephrine"], 0.162_016);
}

// As above, 5 mL of 1 % more: 212.016 mg, 3.534 mg/kg.
#[test]
fn what_was_given_separately_counts_too() {
    let separately = json!([{ "name": "lidocaine 1 %", "volume_ml": 5, "substance": "Lidocaine", "percent": "1" }]);
    let mix = answer(
        Computation::Mix,
        &with(&bag(), "given_separately", separately),
    );
    assert_eq!(mix["mg"]["lidocaine"], 212.016_202);
    assert_eq!(mix["mg_per_kg"]["lidocaine"], 3.533_603);
    let statement = mix["statements"][1].as_str().unwrap();
    assert!(
        statement.starts_with("Lidocaine recorded so far: 212.0 mg = 3.53 mg/kg (60.0 kg). Published reference values:"),
        "{statement}"
    );
    assert!(statement.ends_with("For information only; the licensed practitioner decides."));
    for published in ["7 mg/kg and 500 mg", "28 mg/kg", "45 mg/kg", "55 mg/kg"] {
        assert!(statement.contains(published), "{published}");
    }
}

// Addition: the zones are what was given.
#[test]
fn zones_add_up_to_what_was_given() {
    let mut zones = without(&bag(), "given_ml");
    zones["given"] =
        json!([{ "zone": "left", "volume_ml": 100 }, { "zone": "right", "volume_ml": 80 }]);
    let zones = answer(Computation::Mix, &zones);
    assert_eq!(zones["given"]["volume_ml"], 180);
    assert_eq!(zones["mg"], answer(Computation::Mix, &bag())["mg"]);
    assert_eq!(zones["given"]["by_zone"][0]["mg"]["lidocaine"], 90.009_001);
}

#[test]
fn nothing_said_of_what_was_given_is_not_zero() {
    let mix = answer(Computation::Mix, &without(&bag(), "given_ml"));
    assert_eq!(mix["given"], Value::Null);
    assert_eq!(mix["mg"]["lidocaine"], 250);
    assert!(
        mix["amounts_of"]
            .as_str()
            .unwrap()
            .starts_with("the whole mix")
    );
    assert_eq!(mix["not_computed"][0]["field"], "given");
}

// USP <797> sections 1.3 and 15.2, from memory; the identity of volumes is ours.
#[test]
fn the_checks_of_a_mix_say_what_to_look_at() {
    let mut asked = bag();
    for (name, value) in [
        ("wasted_ml", json!(90)),
        ("left_ml", json!(0)),
        ("started_at", json!("2026-03-31T07:40")),
        ("order_signed_at", json!("2026-03-31T07:45")),
    ] {
        asked[name] = value;
    }
    asked["ingredients"][1]["punctured_on"] = json!("2026-03-02");
    let mix = answer(Computation::Mix, &asked);
    let looks: Vec<_> = mix["checks"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|check| check["look"] == true)
        .map(|check| check["check"].as_str().unwrap())
        .collect();
    assert_eq!(
        looks,
        [
            "sterile_products",
            "order_signed_before_mix",
            "use_by",
            "ingredient_last_day",
            "volumes"
        ]
    );
    assert_eq!(mix["volumes"]["difference_ml"], 7.75);
    assert_eq!(mix["use_by"], "2026-03-31T00:00:00");
    assert!(
        mix["checks"][0]["text"]
            .as_str()
            .unwrap()
            .starts_with("4 of 3 ")
    );
}

#[test]
fn an_amount_counted_under_a_name_is_said() {
    let mut asked = bag();
    asked["ingredients"][1]
        .as_object_mut()
        .unwrap()
        .remove("substance");
    let mix = answer(Computation::Mix, &asked);
    assert_eq!(mix["totals"]["mg"]["lidocaine 1 %"], 250);
    assert_eq!(mix["checks"][1]["check"], "substance_by_name");
}

// 8.4 % / 84.007 g/mol = 0.99992 mEq/mL: arithmetic.
#[test]
fn milliequivalents_can_come_from_a_weight() {
    let mut asked = bag();
    asked["ingredients"][3] = json!({
        "name": "sodium bicarbonate 8.4 %", "volume_ml": 2.5,
        "substance": "sodium bicarbonate", "percent": 8.4, "mg_per_meq": 84.007,
    });
    let mix = answer(Computation::Mix, &asked);
    assert_eq!(mix["totals"]["mg"]["sodium bicarbonate"], 210);
    assert_eq!(mix["totals"]["meq"]["sodium bicarbonate"], 2.499_792);
}

// 21 CFR 803.30(a), 803.3(y), 5 USC 6103.
#[test]
fn a_deadline_names_the_days_that_did_not_count() {
    let asked = json!({
        "aware_on": "2026-06-18", "facility_status": "user_facility",
        "event": "serious_injury", "manufacturer_known": false,
    });
    let due = answer(Computation::Deadline, &asked);
    assert_eq!(due["due_on"], "2026-07-06");
    assert_eq!(
        due["skipped"]["2026-06-19"],
        "Juneteenth National Independence Day"
    );
    assert_eq!(due["skipped"]["2026-07-03"], "Independence Day");
    assert_eq!(due["report"]["to"], json!(["fda"]));
    let unsaid = answer(Computation::Deadline, &json!({ "aware_on": "2026-06-18" }));
    assert!(unsaid["report"]["cannot_be_said"].is_string());
    let five = answer(
        Computation::Deadline,
        &json!({ "aware_on": "2026-06-18", "work_days": 5 }),
    );
    assert_eq!(five["due_on"], "2026-06-26");
}

// 45 CFR 164.528.
#[test]
fn a_request_for_an_accounting_has_its_days() {
    let due = answer(
        Computation::Deadline,
        &json!({ "requested_on": "2026-03-02" }),
    );
    assert_eq!(due["due_on"], "2026-05-01");
    assert_eq!(due["extended_due_on"], "2026-05-31");
    assert_eq!(due["look_back_from"], "2020-03-02");
}

// 21 CFR 7.42(b)(3), from memory; sampling: textbook formulas; counts: identity.
#[test]
fn effectiveness_has_levels_samples_and_counts() {
    let levels = answer(
        Computation::Effectiveness,
        &json!({ "consignees": 137, "level": "C" }),
    );
    assert_eq!(levels["checks"], 14);
    assert_eq!(levels["levels"]["A"], 137);
    assert_eq!(levels["levels"]["D"], 3);
    assert_eq!(levels["levels"]["E"], 0);
    let b = json!({ "consignees": 137, "level": "B", "level_b_percent": 50 });
    assert_eq!(answer(Computation::Effectiveness, &b)["checks"], 69);
    let sample = json!({ "consignees": 100, "confidence_percent": 95, "effective_percent": 95 });
    let sample = &answer(Computation::Effectiveness, &sample)["sample"];
    assert_eq!(
        (&sample["asked"], &sample["asked_of_consignees"]),
        (&json!(59), &json!(45))
    );
    let counts = json!({
        "received": 24, "on_hand": 0, "quarantined": 7, "used": 15,
        "wasted": 1, "returned": 0, "destroyed": 0,
    });
    let counts = &answer(Computation::Effectiveness, &counts)["counts"];
    assert_eq!(counts["unaccounted"], 1);
    assert!(near(&counts["accounted_percent"], 95.83, 0.005));
    assert_eq!(counts["closes"], false);
}

// 45 CFR 164.316(b)(2)(i), 21 CFR 803.18(c); the state's seven years are an example.
#[test]
fn retention_is_the_latest_rule_and_a_hold_has_no_end() {
    let asked = json!({
        "case_on": "2026-03-02", "state_medical_record_years": 7, "device_event_on": "2026-04-14",
    });
    let kept = answer(Computation::Retention, &asked);
    assert_eq!(kept["retain_until"], "2033-03-02");
    assert_eq!(kept["decided_by"], "state_medical_record");
    let held = answer(
        Computation::Retention,
        &with(&asked, "legal_hold", json!(true)),
    );
    assert_eq!(held["retain_until"], Value::Null);
    assert_eq!(held["retain_at_least_until"], "2033-03-02");
}

// The wording is the project's rule: it shows and never advises.
#[test]
fn every_answer_has_formula_source_and_caution_and_no_word_of_advice() {
    for (computation, asked) in [
        (Computation::Helium, cylinder()),
        (Computation::Mix, bag()),
        (Computation::Deadline, json!({ "aware_on": "2026-01-16" })),
        (Computation::Effectiveness, json!({ "consignees": 10 })),
        (
            Computation::Retention,
            json!({ "case_on": "2026-03-02", "state_medical_record_years": 7 }),
        ),
    ] {
        let answer = answer(computation, &asked);
        for name in ["formula", "source", "caution"] {
            assert!(
                answer[name].as_str().is_some_and(|text| !text.is_empty()),
                "{computation}: {name}"
            );
        }
        assert!(
            answer["caution"]
                .as_str()
                .unwrap()
                .starts_with("For information only;")
        );
        assert_eq!(answer["inputs"], asked);
        let text = answer.to_string();
        for word in ["safe", "OK", "allowed", "recommended", "maximum remaining"] {
            assert!(!text.contains(word), "{computation}: {word}");
        }
    }
}
