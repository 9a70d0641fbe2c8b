//! Properties: what is written is read back, and nothing makes the reader panic.

#![expect(clippy::expect_used, reason = "a test fails by panicking")]

use jiff::civil::{Date, date};
use lotwarden_codes::{Agency, Context, Identifier, Ndc, digital_link, join, read};
use proptest::prelude::*;

fn today() -> Context {
    Context::new(date(2026, 11, 24))
}

/// A GTIN-14 with its check digit, computed here a second time.
fn gtin() -> impl Strategy<Value = String> {
    "[0-9]{13}".prop_map(|body| {
        let sum: u32 = body
            .bytes()
            .rev()
            .zip([3, 1].into_iter().cycle())
            .map(|(b, w)| u32::from(b - b'0') * w)
            .sum();
        format!("{body}{}", (10 - sum % 10) % 10)
    })
}

/// Text of GS1's set of 82.
fn text82(longest: usize) -> impl Strategy<Value = String> {
    proptest::collection::vec(
        proptest::sample::select(
            "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
                .chars()
                .collect::<Vec<_>>(),
        ),
        1..=longest,
    )
    .prop_map(|chars| chars.into_iter().collect())
}

fn day() -> impl Strategy<Value = Date> {
    (1977i16..=2076, 1i8..=12, 1i8..=28).prop_map(|(y, m, d)| date(y, m, d))
}

fn mod43(text: &str) -> char {
    let alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%";
    let sum: usize = text.chars().filter_map(|c| alphabet.find(c)).sum();
    alphabet.chars().nth(sum % 43).expect("in range")
}

proptest! {
    #[test]
    fn a_gs1_label_reads_back_in_every_form(
        gtin in gtin(), lot in text82(20), serial in text82(20), expiry in day(), made in day(),
    ) {
        let (e, m) = (expiry.strftime("%y%m%d"), made.strftime("%y%m%d"));
        let escape = |s: &str| s.replace('(', "\\(");
        let forms = [
            format!("]d201{gtin}17{e}11{m}10{lot}\u{1d}21{serial}"),
            format!("^01{gtin}11{m}21{serial}^17{e}10{lot}"),
            format!("(01){gtin}(17){e}(11){m}(10){}(21){}", escape(&lot), escape(&serial)),
        ];
        let link = read(&forms[0], &today()).map(|r| digital_link(&r.elements, None).expect("link")).expect("read");
        for form in forms.iter().chain([&link]) {
            let reading = read(form, &today()).expect(form);
            prop_assert_eq!(reading.identifier.map(|i| i.code.to_string()), Some(gtin.clone()), "{}", form);
            prop_assert_eq!(reading.lot.as_deref(), Some(lot.as_str()), "{}", form);
            prop_assert_eq!(reading.serial.as_deref(), Some(serial.as_str()), "{}", form);
            prop_assert_eq!(reading.expires_on.map(|d| d.date), Some(expiry), "{}", form);
            prop_assert_eq!(reading.manufactured_on.map(|d| d.date), Some(made), "{}", form);
        }
    }

    #[test]
    fn an_hibc_label_reads_back_and_every_single_change_is_noticed(
        lic in "[A-Z][A-Z0-9]{3}", pcn in "[A-Z0-9]{1,18}", um in "[0-9]", lot in "[A-Z0-9.-]{1,18}",
        expiry in day(), at in any::<prop::sample::Index>(), other in "[A-Z0-9]",
    ) {
        let body = format!("+{lic}{pcn}{um}/$$3{}{lot}", expiry.strftime("%y%m%d"));
        let label = format!("{body}{}", mod43(&body));
        let reading = read(&label, &today()).expect("read");
        prop_assert_eq!(reading.identifier.map(|i| i.code.to_string()), Some(format!("{lic}{pcn}{um}")));
        prop_assert_eq!(reading.lot.as_deref(), Some(lot.as_str()));
        prop_assert_eq!(reading.expires_on.map(|d| d.date), Some(expiry));
        // Modulo 43 finds every exchange of one character for another.
        let at = at.index(label.len());
        if label[at..=at] != other {
            let mut changed = label.clone();
            changed.replace_range(at..=at, &other);
            let same = read(&changed, &today()).is_ok_and(|r| r.identifier == reading.identifier && r.lot == reading.lot);
            prop_assert!(!same, "{}", changed);
        }
    }

    #[test]
    fn a_hyphened_ndc_and_its_longer_forms_are_one_product(
        shape in prop::sample::select(vec![(4, 4, 2), (5, 3, 2), (5, 4, 1)]), digits in "[0-9]{10}",
    ) {
        let (a, b, _) = shape;
        let (labeler, product, package) = (&digits[..a], &digits[a..a + b], &digits[a + b..]);
        let short = Ndc::parse(&format!("{labeler}-{product}-{package}")).expect("NDC").identifier();
        let long = Ndc::parse(&format!("{labeler:0>6}-{product:0>4}-{package:0>2}")).expect("NDC").identifier();
        let bare = Ndc::parse(&format!("{labeler:0>5}{product:0>4}{package:0>2}")).expect("NDC").identifier();
        prop_assert_eq!(short, long);
        prop_assert_eq!(short, bare);
    }

    #[test]
    fn nothing_makes_the_reader_panic(
        start in prop::sample::select(vec![
            "", "]d2", "]C1", "]E0", "]E4", "]I1", "]Q1", "]A1", "^", "\u{1d}", "(", "(01)", "+", "+A999", "+$$", "=", "=+",
            "=/", "&,1", "[)>\u{1e}06\u{1d}", "[)>\u{1e}05\u{1d}", "https://a/", "https://a/01/", "01", "*+",
        ]),
        rest in "\\PC{0,60}|[0-9]{0,40}|[ -~\u{1d}\u{1e}]{0,60}", associations: bool,
    ) {
        let mut context = today();
        context.associations = associations;
        let input = format!("{start}{rest}");
        if let Err(unread) = read(&input, &context) {
            prop_assert!(unread.at <= input.len());
        } else if let (Ok(a), Ok(b)) = (read(&input, &context), read("]d20109520123456788", &context)) {
            let _ = join(a, b, &context);
        }
        for agency in [Agency::Gs1, Agency::Hibcc, Agency::Iccbba, Agency::Ifa, Agency::Ndc] {
            let _ = Identifier::parse(agency, &input);
        }
        let _ = Ndc::parse(&input);
    }
}
