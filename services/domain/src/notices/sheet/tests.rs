//! Tables as firms send them (invented; the shapes are common practice, no source).

use super::*;
use crate::notices::{check_table, read as read_text};
use jiff::civil::date;

fn today() -> Date {
    date(2026, 11, 24)
}

fn values(found: &[Found<String>]) -> Vec<&str> {
    found.iter().map(|one| one.value.as_str()).collect()
}

#[test]
fn rows_of_one_product_and_expiry_are_one_proposal_with_the_cell_of_each_value() {
    let text = "Product name,REF,Lot No.,Exp. Date,Qty\n\
        \"Cannula, 1.2 mm\",KX-12,L2611A,2028-11-30,5\n\
        \"Cannula, 1.2 mm\",KX-12,L2611B,2028-11-30,5\n\
        \"Cannula, 1.6 mm\",KX-16,L2701A,2029-01-31,5\n";
    let reading = read_text(text, today());
    assert!(reading.unread.is_empty(), "{:?}", reading.unread);
    let [one, other] = reading.proposals.as_slice() else {
        panic!("{:?}", reading.proposals)
    };
    assert_eq!(values(&one.catalogue_numbers), ["KX-12"]);
    assert_eq!(values(&one.lots), ["L2611A", "L2611B"]);
    assert_eq!(one.lots[1].span.cell, Some(Cell { row: 3, column: 3 }));
    let span = other.lots[0].span;
    let shown: String = text.chars().skip(span.at).take(span.to - span.at).collect();
    assert_eq!(shown, "L2701A");
    let expiry = other.expiry.as_ref().map(|expiry| expiry.value.to);
    assert_eq!(expiry, Some(Some(date(2029, 1, 31))));
}

#[test]
fn german_names_semicolons_and_empty_cells_below_a_product() {
    let text = "GTIN;Chargennummer;Verwendbar bis\n09521400010204;A1;30.11.2028\n;A2;30.11.2028\n";
    let reading = read_text(text, today());
    let [one] = reading.proposals.as_slice() else {
        panic!("{:?}", reading.proposals)
    };
    assert_eq!(values(&one.identifiers), ["09521400010204"]);
    assert_eq!(values(&one.lots), ["A1", "A2"]);
    assert!(reading.unread.is_empty());
}

#[test]
fn what_is_not_known_stays_unread_and_a_rounded_number_is_no_identifier() {
    let text =
        "Recall list of 12 May\nUDI-DI\tSerial number\tShipment\n9.52014E+12\tS1\tX\n\tS2\tY\n";
    let reading = read_text(text, today());
    let unread = values(&reading.unread);
    assert_eq!(unread, ["Recall list of 12 May", "Shipment", "9.52014E+12"]);
    assert_eq!(values(&reading.proposals[0].serials), ["S1", "S2"]);
    assert!(reading.proposals[0].identifiers.is_empty());
}

#[test]
fn ranges_stand_in_two_columns_or_in_one_cell_and_a_row_without_items_names_its_product() {
    let text = "Item number,Lot from,Lot to,Lots\nKX-1,L100,L120,\nKX-2,,,\"B1, B2\"\nKX-3,,,all lots\nKX-4,,,\n";
    let reading = read_text(text, today());
    let [range, list, all, alone] = reading.proposals.as_slice() else {
        panic!("{:?}", reading.proposals)
    };
    let expected = crate::notices::Range::between(
        crate::notices::Of::Lot,
        Some("L100".to_owned()),
        Some("L120".to_owned()),
    );
    assert_eq!(range.ranges[0].value, expected);
    assert_eq!(values(&list.lots), ["B1", "B2"]);
    assert!(all.all.is_some());
    assert!(!alone.names_items() && values(&alone.catalogue_numbers) == ["KX-4"]);
}

#[test]
fn a_text_that_only_mentions_columns_is_no_table() {
    for text in [
        "Lot, Exp",
        "Lot # 8D1082, Exp 01/13; 8D1151, Exp 03/13",
        "Lot A1,\nREF B2, 3",
    ] {
        assert_eq!(read(text, today()), Ok(None), "{text}");
    }
}

#[test]
fn a_table_beyond_its_bounds_is_refused_by_its_row_and_read_as_nothing() {
    let codes = |count: usize| {
        let codes: Vec<String> = (0..count).map(|at| format!("A{at}")).collect();
        codes.join(",")
    };
    let rows = |rows: usize| format!("REF;Lot\n{}", "A1;L1\n".repeat(rows));
    let cells = |cells: usize| format!("REF;Lot\nA1;L1\nA2;L2{}\n", ";x".repeat(cells - 2));
    let long = |letters: usize| format!("REF;Lot\nA1;L1\nA2;{}\n", "1".repeat(letters));
    // The row below without a code of its own names the products of the one above.
    let many = |count: usize| format!("REF;Lot;Exp\n\n{};L1;\n;L2;2028-11-30\n", codes(count));
    for good in [rows(9_999), cells(200), long(32_767), many(50)] {
        assert_eq!(check_table(&good), Ok(()));
    }
    let faults = [
        (rows(10_000), TableFault::TooManyRows { row: 10_001 }),
        (cells(201), TableFault::TooManyColumns { row: 3 }),
        (long(32_768), TableFault::CellTooLong { row: 3, column: 2 }),
        (many(51), TableFault::TooManyProducts { row: 3 }),
    ];
    for (text, fault) in faults {
        assert_eq!(check_table(&text), Err(fault));
        let reading = read_text(&text, today());
        assert!(reading.proposals.is_empty());
        assert_eq!(values(&reading.unread), [text.as_str()]);
    }
}
