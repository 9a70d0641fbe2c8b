use lotwarden_ledger::{
    Hash, Head, ProfileFault,
    parcel::{Attachments, Header, ParcelFault, ParcelWriter, SignatureLine, WriteFault, verify},
};
use proptest::prelude::*;
use serde_json::json;

use crate::sample::{FACILITY, Sample, disclosure, ledger, moment, record_hash, reseal};

fn fault(text: &str) -> ParcelFault {
    verify(text.as_bytes(), |_| {}).unwrap_err()
}

#[test]
fn an_untouched_parcel_is_valid_and_reported() {
    let sample = Sample::new(10);
    let mut told = 0;
    let report = verify(sample.parcel().as_bytes(), |entries| told = entries).unwrap();
    assert_eq!(told, 12);
    assert_eq!(
        (report.ledger, report.facility.as_str()),
        (ledger(), FACILITY)
    );
    assert_eq!((report.entries, report.first, report.last), (12, 0, 11));
    assert_eq!(report.head, sample.head.hash);
    assert_eq!((report.first_at, report.last_at), (moment(0), moment(11)));
    assert_eq!((report.cases, report.signatures, report.people), (2, 1, 1));
    assert_eq!((report.disclosed, report.withheld), (2, 8));
}

#[test]
fn a_parcel_may_start_later() {
    let before = Sample::new(5).head;
    let sample = Sample::after(&before, 4);
    let report = verify(sample.parcel().as_bytes(), |_| {}).unwrap();
    assert_eq!((report.entries, report.first, report.last), (6, 7, 12));
    let other = sample
        .parcel()
        .replacen(&before.hash.to_string(), &Hash::of(b"x").to_string(), 1);
    assert_eq!(fault(&reseal(&other)).position(), Some(7));
}

#[test]
fn a_ledgers_first_entry_follows_the_genesis() {
    let text = Sample::new(3).parcel();
    let genesis = lotwarden_ledger::genesis().to_string();
    let other = text.replacen(&genesis, &"0".repeat(64), 2);
    assert!(matches!(
        fault(&reseal(&other)),
        ParcelFault::NotAParcel { line: 2 }
    ));
}

#[test]
fn an_end_digest_that_does_not_fit_is_named() {
    let text = Sample::new(3).parcel();
    let digest = &text[text.len() - 65..text.len() - 1];
    let other = text.replace(digest, &Hash::of(b"x").to_string());
    let fault = fault(&other);
    assert!(matches!(fault, ParcelFault::End { line: 19 }), "{fault}");
    assert_eq!(fault.position(), None);
}

#[test]
fn what_is_no_parcel_is_told_apart() {
    for text in [
        "",
        "\n",
        "lotwarden-parcel 2\n",
        "lotwarden-parcel 1\n{}\n",
        "PK\u{3}\u{4}",
    ] {
        assert!(fault(text).is_unreadable(), "{text:?}");
    }
    let text = Sample::new(3).parcel();
    for (from, to) in [
        ("{\"entries\":5", "{\"entries\":6"),
        ("{\"entries\"", "{ \"entries\""),
    ] {
        assert!(fault(&text.replacen(from, to, 1)).is_unreadable());
    }
}

#[test]
fn a_signature_must_be_the_one_its_entry_records() {
    let sample = Sample::new(3);
    let right = || SignatureLine {
        case: "1".to_owned(),
        id: "signature-1".to_owned(),
        meaning: "performed and checked".to_owned(),
        name: "Ines Okafor".to_owned(),
        person: "7".to_owned(),
        position: 3,
        record_hash: record_hash(),
        signed_at: moment(3),
    };
    let of = |signature| {
        let none = std::iter::empty::<()>;
        let attachments = Attachments::new(none(), [signature], none()).unwrap();
        Sample {
            attachments,
            disclosed: vec![],
            ..Sample::new(3)
        }
    };
    let changes: [fn(&mut SignatureLine); 9] = [
        |line| line.case = "2".to_owned(),
        |line| line.id = "signature-2".to_owned(),
        |line| line.meaning = "witnessed".to_owned(),
        |line| line.name = "Another Name".to_owned(),
        |line| line.person = "8".to_owned(),
        |line| line.position = 2,
        |line| line.position = 99,
        |line| line.record_hash = Hash::of(b"another record"),
        |line| line.signed_at = moment(2),
    ];
    for change in changes {
        let mut line = right();
        change(&mut line);
        let position = line.position;
        let fault = fault(&of(line).parcel());
        assert!(
            matches!(fault, ParcelFault::Signature { position: found, .. } if found == position)
        );
    }
    assert!(verify(sample.parcel().as_bytes(), |_| {}).is_ok());
}

#[test]
fn a_value_is_disclosed_once_and_only_where_it_was_committed() {
    let twice = Sample {
        disclosed: vec![1, 1],
        ..Sample::new(3)
    };
    assert!(matches!(
        fault(&twice.parcel()),
        ParcelFault::Disclosure { position: 1, .. }
    ));
    let nowhere = Sample {
        disclosed: vec![1, 3],
        ..Sample::new(3)
    };
    assert!(matches!(
        fault(&nowhere.parcel()),
        ParcelFault::Disclosure { position: 3, .. }
    ));
}

#[test]
fn a_writer_refuses_more_or_fewer_lines_than_announced() {
    let sample = Sample::new(2);
    let header = Header::new(FACILITY, &sample.before, &sample.head).unwrap();
    let writer = || ParcelWriter::new(Vec::new(), &header).unwrap();
    let early = writer().attachments(&sample.attachments, 0);
    assert!(matches!(
        early,
        Err(WriteFault::Count {
            section: "entries",
            left: 4
        })
    ));
    let mut full = writer();
    for entry in &sample.entries {
        full.entry(&entry.body).unwrap();
    }
    assert!(matches!(
        full.entry(b"{}"),
        Err(WriteFault::Count { left: 0, .. })
    ));
    let mut rest = full.attachments(&sample.attachments, 2).unwrap();
    rest.disclosure(0, &disclosure(0)).unwrap();
    assert!(matches!(
        rest.finish(),
        Err(WriteFault::Count {
            section: "disclosures",
            left: 1
        })
    ));
    assert_eq!(Header::new(FACILITY, &sample.head, &sample.head), None);
    assert_eq!(
        Header::new(FACILITY, &Head::empty(ledger()), &Head::empty(ledger())),
        None
    );
}

#[test]
fn attachments_keep_the_profile() {
    let none = std::iter::empty::<()>;
    let case = [json!({"amount": 0.5})];
    let fault = Attachments::new(case, std::iter::empty(), none()).unwrap_err();
    assert!(matches!(fault, ProfileFault::Float { .. }));
}

proptest! {
    /// A changed byte anywhere is found, the last line's digest put right or not.
    #[test]
    fn no_byte_can_change_unseen(place in any::<prop::sample::Index>(), flip in 1..=255_u8, repaired in any::<bool>()) {
        let mut bytes = Sample::new(3).parcel().into_bytes();
        let sections = bytes.len() - 69;
        let place = place.index(if repaired { sections } else { bytes.len() });
        bytes[place] ^= flip;
        if repaired {
            let digest = Hash::of(&bytes[..sections]);
            bytes[sections..].copy_from_slice(format!("end {digest}\n").as_bytes());
        }
        let fault = verify(&bytes[..], |_| {}).unwrap_err();
        prop_assert!(!fault.to_string().is_empty());
    }

    #[test]
    fn a_parcel_cut_anywhere_is_not_valid(length in any::<prop::sample::Index>()) {
        let text = Sample::new(3).parcel();
        let cut = &text.as_bytes()[..length.index(text.len())];
        let result = verify(cut, |_| {});
        prop_assert!(result.is_err());
    }
}
