//! What a label says is written in every form and read back the same, and the check of a
//! station takes any characters.
//!
//! `RUSTC_BOOTSTRAP=1 cargo fuzz run written --sanitizer none -- -max_len=256 -timeout=1`
#![no_main]

use jiff::civil::date;
use libfuzzer_sys::fuzz_target;
use lotwarden_codes::{
    Context, Form, TestSymbol, bracketed, check_readings, digital_link, element_string, read,
};

fuzz_target!(|text: &str| {
    let mut context = Context::new(date(2026, 11, 24));
    context.associations = false;
    let checks = check_readings(text.lines(), &context);
    assert_eq!(checks.len(), TestSymbol::ALL.len());
    let Ok(reading) = read(text, &context) else {
        return;
    };
    let form = reading.form;
    if !matches!(
        form,
        Form::Gs1ElementString | Form::Gs1Bracketed | Form::Gs1DigitalLink
    ) {
        return;
    }
    // What was read is right, so it can be written.
    let symbol = element_string(reading.elements.iter()).expect("a symbol");
    let printed = bracketed(reading.elements.iter(), true).expect("printed text");
    for written in [format!("]d2{symbol}"), format!("^{symbol}"), printed] {
        let again = read(&written, &context).expect("a label");
        assert!(
            again.elements.iter().eq(reading.elements.iter()),
            "{written:?}"
        );
        assert_eq!(again.identifier, reading.identifier, "{written:?}");
    }
    if let Ok(link) = digital_link(&reading.elements, None) {
        let again = read(&link, &context).expect("a link");
        assert_eq!(again.identifier, reading.identifier, "{link:?}");
        assert_eq!(
            (again.lot, again.serial),
            (reading.lot, reading.serial),
            "{link:?}"
        );
    }
});
