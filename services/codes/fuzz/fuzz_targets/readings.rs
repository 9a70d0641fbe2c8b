//! Every entry point of the label reader on arbitrary text: no panic, no hang, and
//! positions inside the input.
//!
//! `RUSTC_BOOTSTRAP=1 cargo fuzz run readings --sanitizer none -- -max_len=256 -timeout=1`
#![no_main]

use jiff::civil::date;
use libfuzzer_sys::fuzz_target;
use lotwarden_codes::{
    Agency, CheckDigits, Context, Identifier, Ndc, Separators, digital_link, join, read,
};

fuzz_target!(|text: &str| {
    let strict = Context::new(date(2026, 11, 24));
    let lenient = Context {
        associations: false,
        check_digits: CheckDigits::Tolerate,
        separators: Separators::default().with("<GS>"),
        ..strict.clone()
    };
    for context in [&strict, &lenient] {
        match read(text, context) {
            Ok(reading) => {
                let _ = digital_link(&reading.elements, None);
                let _ = reading.identifiers().count();
                if let Ok(other) = read("+$$52001510X3GD", context) {
                    let _ = join(reading, other, context);
                }
            }
            Err(unread) => assert!(unread.at <= text.len()),
        }
    }
    let _ = Ndc::parse(text);
    for agency in [
        Agency::Gs1,
        Agency::Hibcc,
        Agency::Iccbba,
        Agency::Ifa,
        Agency::Ndc,
    ] {
        if let Ok(parsed) = Identifier::parse(agency, text) {
            // The normal form is its own normal form.
            let again = Identifier::parse(agency, &parsed.identifier.code);
            assert!(again.is_ok_and(
                |a| a.identifier == parsed.identifier || a.also == Some(parsed.identifier)
            ));
        }
    }
});
