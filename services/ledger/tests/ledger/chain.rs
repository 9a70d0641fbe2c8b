use lotwarden_ledger::{ChainCheck, Entry, Fault, Head, Reason};
use proptest::prelude::*;
use uuid::Uuid;

use crate::sample::{ledger, moment, scan};

fn entries(count: u64) -> Vec<Entry> {
    let mut head = Head::empty(ledger());
    (0..count)
        .map(|number| head.append(&scan(number), moment(number as i64)).unwrap())
        .collect()
}

fn bodies(count: u64) -> Vec<Vec<u8>> {
    entries(count).into_iter().map(|entry| entry.body).collect()
}

fn check(bodies: &[Vec<u8>]) -> Result<Head, Fault> {
    let mut chain = ChainCheck::new(ledger(), None);
    for body in bodies {
        chain.feed(body)?;
    }
    Ok(chain.head().clone())
}

fn replaced(body: &[u8], from: &str, to: &str) -> Vec<u8> {
    let text = std::str::from_utf8(body).unwrap();
    assert!(text.contains(from), "{text}");
    text.replacen(from, to, 1).into_bytes()
}

#[test]
fn an_untouched_chain_fits_and_ends_at_its_head() {
    let mut head = Head::empty(ledger());
    let mut chain = ChainCheck::new(ledger(), None);
    for number in 0..50 {
        let entry = head.append(&scan(number), moment(number as i64)).unwrap();
        assert_eq!(chain.feed(&entry.body).unwrap(), entry.hash);
        assert_eq!(chain.head(), &head);
    }
}

#[test]
fn a_chain_can_be_taken_up_in_the_middle() {
    let entries = entries(10);
    let before = &entries[5];
    let from = Head {
        ledger: ledger(),
        size: 6,
        hash: before.hash,
        at: Some(before.at),
    };
    let mut chain = ChainCheck::new(ledger(), Some(from.clone()));
    for entry in &entries[6..] {
        assert_eq!(chain.feed(&entry.body).unwrap(), entry.hash);
    }
    let fault = ChainCheck::new(ledger(), Some(from))
        .feed(&entries[5].body)
        .unwrap_err();
    assert!(matches!(
        fault,
        Fault {
            position: 6,
            reason: Reason::Position { found: 5 }
        }
    ));
}

#[test]
fn an_edit_shows_at_the_link_of_the_next_entry() {
    let mut bodies = bodies(10);
    bodies[4] = replaced(&bodies[4], "L004", "L104");
    let fault = check(&bodies).unwrap_err();
    assert!(matches!(
        fault,
        Fault {
            position: 5,
            reason: Reason::Previous
        }
    ));
    assert_eq!(
        fault.to_string(),
        "entry 5: its link is not the hash of the entry before it; that entry or this one was changed"
    );
}

#[test]
fn a_deleted_entry_shows_at_its_place() {
    let mut bodies = bodies(10);
    bodies.remove(4);
    let fault = check(&bodies).unwrap_err();
    assert!(matches!(
        fault,
        Fault {
            position: 4,
            reason: Reason::Position { found: 5 }
        }
    ));
}

#[test]
fn swapped_entries_show_at_the_first_of_them() {
    let mut bodies = bodies(10);
    bodies.swap(4, 7);
    let fault = check(&bodies).unwrap_err();
    assert!(matches!(
        fault,
        Fault {
            position: 4,
            reason: Reason::Position { found: 7 }
        }
    ));
}

#[test]
fn an_entry_of_another_ledger_does_not_fit() {
    let other = Uuid::from_u128(7);
    let entry = Head::empty(other).append(&scan(0), moment(0)).unwrap();
    let fault = check(&[entry.body]).unwrap_err();
    assert!(matches!(
        fault,
        Fault {
            position: 0,
            reason: Reason::Ledger
        }
    ));
}

#[test]
fn a_time_that_steps_back_does_not_fit() {
    let mut head = Head::empty(ledger());
    let first = head.append(&scan(0), moment(10)).unwrap();
    head.at = None;
    let second = head.append(&scan(1), moment(9)).unwrap();
    let fault = check(&[first.body, second.body]).unwrap_err();
    assert!(matches!(
        fault,
        Fault {
            position: 1,
            reason: Reason::Time
        }
    ));
}

#[test]
fn a_body_with_other_members_is_no_entry() {
    let body = &bodies(1)[0];
    // A station that is no string is taken for the member after it.
    for (from, to, member) in [
        (r#"{"action""#, r#"{"acted""#, "action"),
        (r#","actor""#, r#", "actor""#, "actor"),
        (r#""at":"2026-11-24"#, r#""at":"2026-11-31"#, "at"),
        (r#".250000Z"#, r#".250Z"#, "at"),
        (r#".250000Z"#, r#".250000z"#, "at"),
        (r#""data":{"#, r#""data":[{"#, "data"),
        (
            r#""data":{"commitments":{"#,
            r#""data":{"commitments":[{"#,
            "data",
        ),
        (r#""ledger":""#, r#""ledger":1,"ledger":""#, "ledger"),
        (r#","ledger":""#, r#","extra":{},"ledger":""#, "ledger"),
        (r#""position":0"#, r#""position":00"#, "position"),
        (r#""position":0"#, r#""position":"0""#, "position"),
        (r#""position":0"#, r#""position":-0"#, "position"),
        (r#""station":"#, r#""station":null,"was":"#, "subject"),
        (r#","subject""#, r#","previous":"","subject""#, "subject"),
        (r#""v":1}"#, r#""v":2}"#, "v"),
        (r#""v":1}"#, r#""v":1} "#, "v"),
        (r#""v":1}"#, r#""v":1}{}"#, "v"),
        (r#""v":1}"#, r#""v":1"#, "v"),
    ] {
        let fault = check(&[replaced(body, from, to)]).unwrap_err();
        assert_eq!(fault.position, 0);
        match fault.reason {
            Reason::Form { member: found } => assert_eq!(found, member, "{from} {to}"),
            other => panic!("{from} {to}: {other:?}"),
        }
    }
    for length in 0..body.len() {
        assert!(check(&[body[..length].to_vec()]).is_err(), "{length}");
    }
}

#[test]
fn only_the_strict_check_minds_how_data_is_written() {
    let mut head = Head::empty(ledger());
    let body = head.append(&scan(0), moment(0)).unwrap().body;
    for (from, to) in [
        (r#""lot":"L000""#, r#""lot": "L000""#),
        (r#""lot":"L000""#, r#""lot":"L000","lot":"L001""#),
        (r#""lot":"L000""#, r#""lot":"\u004c000""#),
        (r#""lot":"L000""#, r#""lot":null"#),
        (r#""lot":"L000""#, r#""lot":1.0"#),
    ] {
        let other = replaced(&body, from, to);
        assert!(ChainCheck::new(ledger(), None).feed(&other).is_ok(), "{to}");
        let fault = ChainCheck::new(ledger(), None)
            .strict()
            .feed(&other)
            .unwrap_err();
        assert!(matches!(fault.reason, Reason::Profile(_)), "{to}");
    }
}

proptest! {
    /// Whatever one byte becomes, the chain names that entry or the next.
    #[test]
    fn any_changed_byte_is_found(place in any::<prop::sample::Index>(), entry in 0..5_usize, flip in 1..=255_u8) {
        let mut bodies = bodies(6);
        let place = place.index(bodies[entry].len());
        bodies[entry][place] ^= flip;
        let fault = check(&bodies).unwrap_err();
        prop_assert!([entry as u64, entry as u64 + 1].contains(&fault.position));
    }

    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..200), cut in 0..500_usize) {
        let mut body = bodies(1).remove(0);
        body.truncate(cut);
        body.extend(bytes);
        prop_assert!(check(&[body]).is_err());
    }
}
