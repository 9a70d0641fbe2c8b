//! A station is proven by what it makes of a known symbol.

use lotwarden_codes::{StationOutcome, TestSymbol, check_readings, check_station};

use crate::today;

#[test]
fn each_kind_of_damage_is_told_apart() {
    let symbol = TestSymbol::Gs1DataMatrix;
    let data = symbol.data();
    // Scans as the tests of damage have them: sources there.
    for (scan, outcome) in [
        (format!("]d2{data}\r\n"), StationOutcome::Proven),
        (data.to_owned(), StationOutcome::Proven),
        (
            format!("]d2{}", data.replace('\u{1d}', "{GS}")),
            StationOutcome::SeparatorSubstituted,
        ),
        (
            format!("]d2{}", data.replace('\u{1d}', "")),
            StationOutcome::SeparatorLost,
        ),
        (
            "]D2010952012345678810sTATION-zY\u{1d}21mATRIX".to_owned(),
            StationOutcome::CaseSwapped,
        ),
        (
            "+d2010952012345678810StationßYz\u{1d}21Matrix".to_owned(),
            StationOutcome::LayoutChanged,
        ),
        (format!("]d2{data}/"), StationOutcome::SuffixAdded),
        (
            TestSymbol::Gs1Code128.data().to_owned(),
            StationOutcome::OtherLabel,
        ),
        ("]E00300676382302".to_owned(), StationOutcome::OtherLabel),
        ("]d2".to_owned(), StationOutcome::Unread),
    ] {
        let check = check_station(&scan, symbol, &today());
        assert_eq!(check.outcome, outcome, "{scan:?}");
        assert_eq!(
            check.sends_symbology,
            scan.starts_with(']') || scan.starts_with('+'),
            "{scan:?}"
        );
    }
}

#[test]
fn the_symbols_own_data_proves_each() {
    for symbol in [
        TestSymbol::Gs1DataMatrix,
        TestSymbol::Gs1Code128,
        TestSymbol::Hibc,
    ] {
        assert_eq!(
            check_station(symbol.data(), symbol, &today()).outcome,
            StationOutcome::Proven
        );
    }
}

#[test]
fn readings_find_their_symbols_in_any_order_and_a_missing_one_is_said() {
    let readings = [TestSymbol::Hibc.data(), TestSymbol::Gs1DataMatrix.data()];
    let outcomes = check_readings(readings.into_iter(), &today()).map(|(_, check)| check.outcome);
    let expected = [
        StationOutcome::Proven,
        StationOutcome::Unread,
        StationOutcome::Proven,
    ];
    assert_eq!(outcomes, expected);
}
