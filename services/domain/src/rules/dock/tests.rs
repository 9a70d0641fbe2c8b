use super::*;
use crate::cases::HoldScope;
use crate::catalogue::{LabelCarries, UseClass};
use crate::rules::{Rule, Severity};
use jiff::civil::date;

const POLICY: SitePolicy = SitePolicy {
    expires_soon_days: 30,
    short_dated_days: 182,
    keeps_stock: true,
    idle_lock_minutes: 15,
    due_equipment_stops: false,
    clock_skew_seconds: 120,
};

fn filter() -> DockFacts<'static> {
    DockFacts {
        today: date(2026, 11, 24),
        policy: &POLICY,
        label: LabelFacts {
            identifier: Some("gs1:09520123456788"),
            lot: Some("F-2210"),
            expires_on: Some(date(2028, 6, 30)),
            ..LabelFacts::default()
        },
        product: ProductFacts {
            name: "Inline filter",
            catalogued: true,
            use_class: UseClass::SingleUse,
            carries: LabelCarries {
                lot: true,
                serial: false,
                expiry: true,
            },
        },
        other_lot_on_record: None,
        lot_expires_on: None,
        holds: &[],
        notices: &[],
        piece: PieceFacts::Elsewhere,
    }
}

fn slugs(facts: &DockFacts<'_>) -> Vec<Rule> {
    let findings = judge_at_dock(facts);
    findings.iter().map(|finding| finding.slug).collect()
}

#[test]
fn a_whole_label_of_a_known_product_has_no_finding() {
    assert_eq!(slugs(&filter()), []);
}

// ISO 15223-1, 5.1.4 (use-by date); usable through the printed day: common practice, no source.
#[test]
fn a_lot_is_short_dated_through_its_last_day_and_expired_after_it() {
    let mut facts = filter();
    for (last_day, expected) in [
        (date(2026, 11, 23), vec![Rule::Expired]),
        (date(2026, 11, 24), vec![Rule::ShortDated]),
        (date(2027, 5, 25), vec![Rule::ShortDated]),
        (date(2027, 5, 26), vec![]),
    ] {
        facts.label.expires_on = Some(last_day);
        assert_eq!(slugs(&facts), expected, "{last_day}");
    }
}

#[test]
fn the_earlier_date_counts_where_label_and_record_differ() {
    let mut facts = filter();
    facts.lot_expires_on = Some(date(2026, 10, 31));
    assert_eq!(slugs(&facts), [Rule::Expired, Rule::RecordDiffers]);
}

#[test]
fn a_date_on_record_completes_a_label_without_one() {
    let mut facts = filter();
    facts.label.expires_on = None;
    assert_eq!(slugs(&facts), [Rule::IncompleteLabel]);
    facts.lot_expires_on = Some(date(2028, 6, 30));
    assert_eq!(slugs(&facts), []);
}

#[test]
fn a_hold_that_cannot_be_excluded_is_said_as_such() {
    let mut facts = filter();
    facts.label.lot = None;
    let holds = [HoldFacts {
        scope: HoldScope::Lot,
        reason: "Seal leaks.",
        certain: false,
    }];
    facts.holds = &holds;
    let findings = judge_at_dock(&facts);
    assert_eq!(findings[0].slug, Rule::OnHold);
    assert_eq!(findings[0].severity, Severity::Stop);
    assert!(findings[0].sentence.contains("does not show which one"));
    assert_eq!(findings[1].slug, Rule::IncompleteLabel);
}

#[test]
fn a_piece_is_counted_once() {
    let mut facts = filter();
    facts.piece = PieceFacts::InStock { place: "Shelf 2" };
    assert_eq!(slugs(&facts), [Rule::RecordDiffers]);
    assert!(!facts.piece.adds_to_stock());
    facts.piece = PieceFacts::OnCase {
        on: date(2026, 9, 3),
    };
    assert_eq!(slugs(&facts), [Rule::AlreadyUsed]);
    assert!(!facts.piece.adds_to_stock());
    assert!(PieceFacts::Elsewhere.adds_to_stock());
}

#[test]
fn an_unknown_product_and_doubtful_characters_are_said() {
    let mut facts = filter();
    facts.product.catalogued = false;
    facts.label.wrong_check_digit = true;
    facts.label.separator_suspect = true;
    facts.label.day_not_on_label = true;
    assert_eq!(
        slugs(&facts),
        [
            Rule::UnknownProduct,
            Rule::WrongCheckDigitButKnown,
            Rule::SeparatorSuspect,
            Rule::DayNotOnLabel,
        ]
    );
}
