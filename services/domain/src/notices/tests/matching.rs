use super::*;
use proptest::prelude::*;

fn criteria(text: &str) -> Criteria {
    let reading = read(text, TODAY);
    assert_eq!(reading.proposals.len(), 1, "{text}");
    Criteria::new(&reading.proposals[0], false)
}

fn lot(lot: &str) -> Recorded<'_> {
    Recorded {
        lot: Some(lot),
        ..Recorded::default()
    }
}

use MatchClass::{Affected, CannotExclude, Possible};

// trade.md 3.3: affected (exact), possible (equal after trimming, case folding and stripping of
// leading zeros), cannot_exclude (lot not recorded). Our own design decision, not law.
#[test]
fn a_lot_is_affected_possible_or_cannot_be_excluded() {
    let named = criteria("Lot 0012ab, 77");
    for (item, class) in [
        (lot("0012ab"), Some(Affected)),
        (lot("12AB"), Some(Possible)),
        (lot(" 00 12 AB "), Some(Possible)),
        (lot("077"), Some(Possible)),
        (lot("78"), None),
        (lot(""), Some(CannotExclude)),
        (Recorded::default(), Some(CannotExclude)),
        (
            Recorded {
                serial: Some("1"),
                ..Recorded::default()
            },
            Some(CannotExclude),
        ),
    ] {
        assert_eq!(named.hit(item), class, "{item:?}");
    }
}

#[test]
fn ranges_beginnings_and_open_ends_hit_what_lies_in_them() {
    for (text, code, class) in [
        ("Lots HW001-HW3827", "HW3827", Some(Affected)),
        ("Lots HW001-HW3827", "HW3828", None),
        ("Lots HW001-HW3827", "hw 0500", Some(Possible)),
        ("Lots HW001-HW3827", "HW001-HW3827", Some(Affected)),
        ("Lots 123-130", "0125", Some(Affected)),
        ("Lots 123-130", "123-130", Some(Affected)),
        ("Lots 123-130", "131", None),
        ("Lots NP-2406A to NP-2407F", "NP-2407C", Some(Affected)),
        ("Lots NP-2406A to NP-2407F", "NP-2408A", None),
        ("Lots begin with 15AMLB", "15AMLB01", Some(Affected)),
        ("Lots begin with 15AMLB", "15amlb01", Some(Possible)),
        ("Lots begin with 15AMLB", "16AMLB01", None),
        (
            "Lot 42-335-DK; the lot number may be followed by numbers from 01 to 99",
            "42-335-DK07",
            Some(Affected),
        ),
        ("Lots below 5000", "4999", Some(Affected)),
        ("Lots below 5000", "5001", None),
        ("Lots below 5000", "49A", Some(Possible)),
        (
            "Lot range PS3K-2401XXXX to PS3K-2406XXXX",
            "PS3K-24010001",
            Some(Affected),
        ),
        (
            "Lot range PS3K-2401XXXX to PS3K-2406XXXX",
            "PS3K-24070001",
            None,
        ),
        ("All lots", "anything", Some(Affected)),
        ("UDI-DI 09521400010204", "anything", Some(CannotExclude)),
    ] {
        assert_eq!(criteria(text).hit(lot(code)), class, "{text}: {code}");
    }
}

#[test]
fn an_expiry_decides_only_where_no_lots_are_named() {
    let on = |day| Recorded {
        lot: Some("A1"),
        serial: None,
        expires_on: Some(day),
    };
    let alone = criteria("Lots expiring between 03/2025 and 06/2025");
    assert_eq!(alone.hit(on(date(2025, 6, 30))), Some(Affected));
    assert_eq!(alone.hit(on(date(2025, 7, 1))), None);
    assert_eq!(alone.hit(lot("A1")), Some(CannotExclude));
    let described = criteria("Lot A1, Exp 06/2025");
    assert_eq!(described.hit(on(date(2030, 1, 1))), Some(Affected));
}

#[test]
fn what_stayed_unread_and_is_not_settled_leaves_nothing_out() {
    let proposal = read("Lot A1", TODAY).proposals.remove(0);
    assert_eq!(Criteria::new(&proposal, false).hit(lot("B2")), None);
    assert_eq!(
        Criteria::new(&proposal, true).hit(lot("B2")),
        Some(CannotExclude)
    );
    assert_eq!(
        Criteria::new(&proposal, true).hit(lot("A1")),
        Some(Affected)
    );
}

fn merged(one: &Proposal, other: &Proposal) -> Proposal {
    let mut both = one.clone();
    both.lots.extend(other.lots.iter().cloned());
    both.serials.extend(other.serials.iter().cloned());
    both.ranges.extend(other.ranges.iter().cloned());
    both
}

fn named() -> impl Strategy<Value = Proposal> {
    let lots = prop::collection::vec("[A-C]{0,2}[0-9]{1,4}", 1..6);
    let range = (0u32..2000, 0u32..2000);
    (lots, range).prop_map(|(lots, (from, length))| {
        let text = format!(
            "Lots: {}, {from} through {}",
            lots.join(", "),
            from + length
        );
        read(&text, TODAY).proposals.remove(0)
    })
}

proptest! {
    #[test]
    fn every_named_lot_is_affected_however_it_was_copied(
        proposal in named(), index in any::<prop::sample::Index>(), zeros in "0{0,3}", lower in any::<bool>(),
    ) {
        let criteria = Criteria::new(&proposal, false);
        let named = &index.get(&proposal.lots).value;
        prop_assert_eq!(criteria.hit(lot(named)), Some(Affected));
        let copied = format!("{zeros}{named}");
        let copied = if lower { copied.to_lowercase() } else { copied };
        prop_assert!(criteria.hit(lot(&copied)) >= Some(Possible));
        let spaced = format!(" {copied} ");
        prop_assert!(criteria.hit(lot(&spaced)) >= Some(Possible));
    }

    // A brute-force reading of the same range as numbers.
    #[test]
    fn a_range_of_numbers_holds_exactly_its_numbers(from in 0u32..3000, length in 0u32..300, number in 0u32..4000) {
        let criteria = criteria(&format!("Lots {from} through {}", from + length));
        let inside = (from..=from + length).contains(&number);
        prop_assert_eq!(criteria.hit(lot(&number.to_string())) == Some(Affected), inside);
    }

    #[test]
    fn a_longer_notice_never_hits_an_item_less(one in named(), other in named(), code in "[A-Ca-c]{0,2}[0-9]{0,4}") {
        let before = Criteria::new(&one, false).hit(lot(&code));
        let after = Criteria::new(&merged(&one, &other), false).hit(lot(&code));
        prop_assert!(after >= before, "{code}: {before:?}, {after:?}");
    }
}
