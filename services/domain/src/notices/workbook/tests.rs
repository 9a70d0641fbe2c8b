//! Workbooks written by rust_xlsxwriter, which shares nothing with the reader.

use super::*;
use crate::notices::{Cell, read};
use jiff::civil::date;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};

const MOST: usize = 100_000;

fn saved(mut workbook: Workbook) -> Vec<u8> {
    workbook.save_to_buffer().expect("a workbook")
}

#[test]
fn a_sheet_is_read_by_its_columns_with_row_and_column_of_each_cell() {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    let day = Format::new().set_num_format("dd/mm/yyyy");
    let month = Format::new().set_num_format("mmm yy");
    sheet.write(0, 1, "Recall of 12 May").expect("a cell");
    for (column, name) in (1..).zip(["GTIN", "Lot", "Expiry"]) {
        sheet.write(2, column, name).expect("a cell");
    }
    // A spreadsheet keeps a code of digits as a number, and a date as the days since 1899-12-30.
    sheet.write(3, 1, 9_521_400_010_204_f64).expect("a cell");
    sheet.write(3, 2, "L-1 \"A\"\nL2").expect("a cell");
    let first = ExcelDateTime::from_ymd(2028, 11, 30).expect("a date");
    sheet.write_with_format(3, 3, &first, &day).expect("a cell");
    sheet.write(4, 2, 4711).expect("a cell");
    let second = ExcelDateTime::from_ymd(2028, 12, 1).expect("a date");
    sheet
        .write_with_format(4, 3, &second, &month)
        .expect("a cell");
    let bytes = saved(workbook);
    assert!(is_workbook(&bytes) && !is_workbook(b"Lot;Exp"));
    let text = workbook_text(&bytes, MOST).expect("a table");
    let expected = "\tRecall of 12 May\t\t\n\n\tGTIN\tLot\tExpiry\n\t9521400010204\t\"L-1 \"\"A\"\"\nL2\"\t2028-11-30\n\t\t4711\t2028-12\n";
    assert_eq!(text, expected);
    let reading = read(&text, date(2026, 11, 24));
    let [one, other] = reading.proposals.as_slice() else {
        panic!("{:?}", reading.proposals)
    };
    assert_eq!(one.identifiers[0].value, "9521400010204");
    let expiry = other.expiry.as_ref().expect("an expiry");
    // A cell that shows December 2028 holds its first day; the whole month is meant.
    assert_eq!(expiry.value.from, Some(date(2028, 12, 1)));
    assert_eq!(expiry.value.to, Some(date(2028, 12, 31)));
    // The line end inside the cell above is no row.
    assert_eq!(other.lots[0].span.cell, Some(Cell { row: 5, column: 3 }));
}

#[test]
fn a_number_that_the_spreadsheet_rounded_is_no_identifier() {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.write(0, 0, "GTIN").expect("a cell");
    sheet.write(0, 1, "Lot").expect("a cell");
    sheet
        .write(1, 0, 1_234_567_890_123_456_f64)
        .expect("a cell");
    sheet.write(1, 1, "L1").expect("a cell");
    let text = workbook_text(&saved(workbook), MOST).expect("a table");
    let reading = read(&text, date(2026, 11, 24));
    assert!(reading.proposals[0].identifiers.is_empty());
    assert_eq!(reading.unread[0].value, "1.23457E15");
}

#[test]
fn what_is_too_much_is_refused_before_it_is_read() {
    let one_cell = |row, column, text: &str| {
        let mut workbook = Workbook::new();
        let sheet = workbook.add_worksheet();
        sheet.write(row, column, text).expect("a cell");
        saved(workbook)
    };
    let rows = WorkbookFault::Table(TableFault::TooManyRows { row: 1_048_576 });
    let columns = WorkbookFault::Table(TableFault::TooManyColumns { row: 1 });
    let mut two = Workbook::new();
    two.add_worksheet().write(0, 0, "Lot").expect("a cell");
    two.add_worksheet();
    two.add_worksheet()
        .set_hidden(true)
        .write(0, 0, "Lot")
        .expect("a cell");
    let mut empty = Workbook::new();
    empty.add_worksheet();
    let cut = one_cell(0, 0, "Lot");
    for (bytes, fault) in [
        (one_cell(1_048_575, 0, "x"), rows),
        (one_cell(0, 200, "x"), columns),
        (
            one_cell(0, 0, &"x".repeat(101)),
            WorkbookFault::TooLong(100),
        ),
        (saved(two), WorkbookFault::SeveralSheets(1, 3)),
        (saved(empty), WorkbookFault::Empty),
        (b"PK\x03\x04".to_vec(), WorkbookFault::NotAWorkbook),
        (cut[..cut.len() / 2].to_vec(), WorkbookFault::NotAWorkbook),
    ] {
        assert_eq!(workbook_text(&bytes, 100), Err(fault));
    }
}

#[test]
fn a_part_that_unpacks_to_too_much_is_not_unpacked() {
    let mut bytes = Vec::new();
    let mut archive = zip::ZipWriter::new(Cursor::new(&mut bytes));
    let packed = zip::write::SimpleFileOptions::default();
    archive
        .start_file("xl/sharedStrings.xml", packed)
        .expect("a part");
    let zeros = [0; 1024 * 1024];
    for _ in 0..33 {
        io::Write::write_all(&mut archive, &zeros).expect("bytes");
    }
    archive.finish().expect("an archive");
    assert!(bytes.len() < 200_000, "{}", bytes.len());
    assert_eq!(workbook_text(&bytes, 100), Err(WorkbookFault::TooLarge));
}

#[test]
fn a_large_part_that_many_sheets_may_read_is_not_read() {
    let mut workbook = Workbook::new();
    for number in 0..20 {
        let sheet = workbook.add_worksheet();
        sheet.set_name(format!("{number}")).expect("a name");
    }
    let mut bytes = saved(workbook);
    let mut archive = zip::ZipWriter::new_append(Cursor::new(&mut bytes)).expect("an archive");
    let packed = zip::write::SimpleFileOptions::default();
    archive.start_file("filler.xml", packed).expect("a part");
    for _ in 0..20 {
        io::Write::write_all(&mut archive, &[b' '; 1024 * 1024]).expect("bytes");
    }
    archive.finish().expect("an archive");
    assert_eq!(workbook_text(&bytes, 100), Err(WorkbookFault::TooMuch));
}
