use super::*;
use crate::catalogue::{NewIdentifier, PackagingLevel, ProductKind, UseClass};

mod enforcement;
mod gudid;
mod table;

type Read = Vec<Result<ProductRecord, RecordFault>>;

fn records(format: Format, text: &str) -> Read {
    let mut all = Read::new();
    read(format, text.as_bytes(), &mut |record| {
        all.push(record);
        ControlFlow::Continue(())
    })
    .unwrap();
    all
}

fn texts(record: &ProductRecord) -> Vec<(String, u32)> {
    let text = |i: &NewIdentifier| (i.code.to_string(), i.quantity);
    record.identifiers.iter().map(text).collect()
}

fn faults(read: &Read) -> Vec<String> {
    let faults = read.iter().filter_map(|record| record.as_ref().err());
    faults.map(ToString::to_string).collect()
}

#[test]
fn the_form_shows_in_the_first_character() {
    assert_eq!(Format::of(b"\xef\xbb\xbf  {\"a\":1}"), Format::Gudid);
    assert_eq!(Format::of(b"\n[{}]"), Format::Gudid);
    assert_eq!(Format::of(b"<?xml version=\"1.0\"?>"), Format::Gudid);
    assert_eq!(Format::of(b"name,use_class,agency,code\n"), Format::Csv);
    assert_eq!(Format::of(b""), Format::Csv);
}
