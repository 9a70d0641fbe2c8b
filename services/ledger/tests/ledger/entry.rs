use jiff::{SignedDuration, Timestamp};
use lotwarden_ledger::{
    AppendFault, CLOCK_SKEW, ChainCheck, Event, Head, MAX_BODY, ProfileFault, entry_hash, genesis,
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::sample::{ledger, moment, scan};

#[test]
fn the_first_body_is_these_bytes() {
    let data = json!({"lot": "A-1", "quantity": 2});
    let event = Event::new("receive_stock", "person-1", None, "receipt-1", &data).unwrap();
    let mut head = Head::empty(ledger());
    let entry = head.append(&event, moment(0)).unwrap();
    let due = format!(
        "{}{}{}{}{}",
        r#"{"action":"receive_stock","actor":"person-1","at":"2026-11-24T08:00:00.250000Z","#,
        r#""data":{"lot":"A-1","quantity":2},"ledger":"0192f0c4-7a10-7c3e-8f21-0a1b2c3d0001","#,
        r#""position":0,"previous":""#,
        genesis(),
        r#"","subject":"receipt-1","v":1}"#
    );
    assert_eq!(String::from_utf8(entry.body.clone()).unwrap(), due);
    assert_eq!(entry.hash, entry_hash(&entry.body));
    assert_eq!(head.hash, entry.hash);
    assert_eq!((head.size, head.at), (1, Some(moment(0))));
}

#[test]
fn a_clock_a_little_behind_takes_the_heads_time_and_one_far_behind_stops() {
    let mut head = Head::empty(ledger());
    let first = head.append(&scan(0), moment(100)).unwrap();
    let late = moment(100) - CLOCK_SKEW;
    assert_eq!(head.append(&scan(1), late).unwrap().at, first.at);
    let unchanged = head.clone();
    let now = late - SignedDuration::from_micros(1);
    assert_eq!(
        head.append(&scan(2), now),
        Err(AppendFault::ClockBehind { now, at: first.at })
    );
    assert_eq!(head, unchanged);
    assert_eq!(head.append(&scan(2), moment(101)).unwrap().at, moment(101));
}

#[test]
fn times_are_cut_to_microseconds() {
    let now: Timestamp = "2026-11-24T08:00:00.123456999Z".parse().unwrap();
    let entry = Head::empty(ledger()).append(&scan(0), now).unwrap();
    assert_eq!(entry.at, "2026-11-24T08:00:00.123456Z".parse().unwrap());
}

#[test]
fn a_body_that_no_entry_can_hold_is_refused_and_the_head_stays() {
    let mut head = Head::empty(ledger());
    let fitting =
        |length| Event::new("note", "p", None, "s", &json!({"text": "x".repeat(length)})).unwrap();
    let frame = head
        .clone()
        .append(&fitting(0), moment(0))
        .unwrap()
        .body
        .len();
    let entry = head.append(&fitting(MAX_BODY - frame), moment(0)).unwrap();
    assert_eq!(entry.body.len(), MAX_BODY);
    let before = head.clone();
    // One byte too many; `previous` and `position` have the same length at position 1.
    assert_eq!(
        head.append(&fitting(MAX_BODY - frame + 1), moment(0)),
        Err(AppendFault::TooLong {
            bytes: MAX_BODY + 1
        })
    );
    assert_eq!(head, before);
}

#[test]
fn an_event_outside_the_profile_is_refused() {
    let event = |action: &'static str, data: Value| Event::new(action, "p", None, "s", &data);
    assert!(matches!(
        event("Sign", json!({})),
        Err(ProfileFault::Action)
    ));
    assert!(matches!(event("", json!({})), Err(ProfileFault::Action)));
    assert!(matches!(
        event("a", json!([])),
        Err(ProfileFault::NotAnObject)
    ));
    assert!(matches!(
        event("a", json!("{")),
        Err(ProfileFault::NotAnObject)
    ));
    assert!(matches!(
        event("a", json!({"a": 0.5})),
        Err(ProfileFault::Float { .. })
    ));
    assert!(matches!(
        event("a", json!({"a": null})),
        Err(ProfileFault::Null { .. })
    ));
}

#[test]
fn the_deepest_data_still_verifies() {
    let nested = |levels: usize| (1..levels).fold(json!({}), |inner, _| json!({"a": inner}));
    let event = Event::new("a", "p", None, "s", &nested(31)).unwrap();
    let entry = Head::empty(ledger()).append(&event, moment(0)).unwrap();
    assert!(
        ChainCheck::new(ledger(), None)
            .strict()
            .feed(&entry.body)
            .is_ok()
    );
    assert!(Event::new("a", "p", None, "s", &nested(32)).is_err());
}

proptest! {
    /// json-canon is the oracle for the body, jiff's own printer for its time.
    #[test]
    fn a_body_is_the_canonical_form_of_its_content(
        actor in any::<String>(),
        station in any::<Option<String>>(),
        subject in any::<String>(),
        text in any::<String>(),
        micros in -62_167_219_200_000_000..253_402_207_200_000_000_i64,
        size in 0..9_007_199_254_740_991_u64,
    ) {
        let now = Timestamp::from_microsecond(micros).unwrap();
        let mut head = Head { size, ..Head::empty(ledger()) };
        let before = head.clone();
        let event = Event::new("note", actor, station, subject, &json!({"text": text})).unwrap();
        let entry = head.append(&event, now).unwrap();
        let read: Value = serde_json::from_slice(&entry.body).unwrap();
        prop_assert_eq!(json_canon::to_string(&read).unwrap().into_bytes(), entry.body.clone());
        let printed = format!("{now:.6}");
        prop_assert_eq!(read["at"].as_str(), Some(printed.as_str()));
        prop_assert_eq!(read["position"].as_u64(), Some(size));
        prop_assert_eq!(read["actor"].as_str(), Some(event.actor.as_str()));
        prop_assert_eq!(read["subject"].as_str(), Some(event.subject.as_str()));
        prop_assert_eq!(read.get("station").and_then(Value::as_str), event.station.as_deref());
        let mut check = ChainCheck::new(ledger(), Some(before)).strict();
        prop_assert_eq!(check.feed(&entry.body).unwrap(), entry.hash);
        prop_assert_eq!(check.head(), &head);
    }
}
