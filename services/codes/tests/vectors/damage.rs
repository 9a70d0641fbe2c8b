//! What keyboards, caps lock and scanner settings do to labels.

use lotwarden_codes::{Form, Separators, Warning, read};

use crate::today;

#[test]
fn frames_line_ends_and_doubled_separators_are_not_data() {
    // GS1 General Specifications allow FNC1 after elements of predefined length and at the
    // end; CR, LF, TAB and STX/ETX are scanner suffixes and frames (common practice).
    for scan in [
        "\u{2}]d2\u{1d}010952012345678810ABC\u{1d}\u{1d}21S1\u{1d}\u{3}\r\n",
        "  ]d20109520123456788\u{1d}10ABC\u{1d}21S1\t",
        "^010952012345678810ABC^21S1^",
        "010952012345678810ABC\u{1d}21S1",
    ] {
        let reading = read(scan, &today()).unwrap_or_else(|e| panic!("{scan:?}: {e:?}"));
        assert_eq!(
            (reading.lot.as_deref(), reading.serial.as_deref()),
            (Some("ABC"), Some("S1")),
            "{scan:?}"
        );
        assert!(reading.warnings.is_empty(), "{scan:?}");
    }
}

#[test]
fn a_substituted_separator_is_understood_and_said() {
    let reading = read("]d2010952012345678810ABC|21S1", &today()).expect("readable");
    assert_eq!(reading.serial.as_deref(), Some("S1"));
    assert!(reading.warnings.contains(Warning::SeparatorSubstituted));
    let mut strict = today();
    strict.separators = Separators::default().strict();
    assert_eq!(
        read("]d2010952012345678810ABC|21S1", &strict)
            .expect_err("strict")
            .at,
        24
    );
}

#[test]
fn a_character_that_no_value_holds_is_no_separator_where_the_scanner_sends_separators() {
    let unread = read("]d2010952012345678810AB|21S1\u{1d}240X", &today()).expect_err("two kinds");
    assert_eq!(unread.code.as_str(), "wrong_character");
}

#[test]
fn a_station_may_configure_legal_text_as_its_separator() {
    let mut context = today();
    context.separators = Separators::default().with("<GS>");
    let reading = read("]d2010952012345678810ABC<GS>21S1", &context).expect("readable");
    assert_eq!(reading.lot.as_deref(), Some("ABC"));
    assert!(reading.warnings.is_empty());
    let unasked = read("]d2010952012345678810ABC<GS>21S1", &today()).expect("legal text");
    assert_eq!(unasked.lot.as_deref(), Some("ABC<GS>21S1"));
    assert!(unasked.warnings.contains(Warning::SeparatorSuspect));
}

#[test]
fn lost_separators_are_flagged_and_ordinary_lots_are_not() {
    let suspect = |scan: &str| {
        read(scan, &today())
            .expect(scan)
            .warnings
            .contains(Warning::SeparatorSuspect)
    };
    for scan in [
        "]d2010952012345678810LOT17271231",
        "]d2010952012345678810LOT121ABC",
        "]d2010952012345678821SN0110LOT9",
    ] {
        assert!(suspect(scan), "{scan}");
    }
    for scan in [
        // FDA UDI formats 1.3, a scanner maker's documentation, DSCSA form of openFDA's example.
        "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234",
        "]d20108806388269617112302141728021310230214A3263-01\u{1d}21059\u{1d}240ARO4808C",
        "]d20100300676382302171303311010108716",
        "]d2010952012345678810LOT17779999",
    ] {
        assert!(!suspect(scan), "{scan}");
    }
}

#[test]
fn caps_lock_and_keyboard_layout_are_undone_where_a_check_digit_vouches() {
    // What the US strings of the other tests look like typed on the other layout, key by
    // key (from memory of the layouts). The French digits are the unshifted number row.
    let french = "$dé".to_owned() + "à&àç(éà&é\"'(-è__" + "&èéè&é\"&" + "&àQBC&é\"";
    for (typed, warning, lot) in [
        (
            "]D201095201234567881727123110abc123",
            Warning::CaseSwapped,
            "ABC123",
        ),
        (
            "+a99912345/$$52001510x3/16d20111212/s77defg457",
            Warning::CaseSwapped,
            "10X3",
        ),
        (
            "+d201095201234567881727123110ABY123",
            Warning::LayoutRepaired,
            "ABZ123",
        ),
        (french.as_str(), Warning::LayoutRepaired, "ABC123"),
        ("a123BJC5D6E71G", Warning::FullAsciiUndone, ""),
    ] {
        let reading = read(typed, &today()).unwrap_or_else(|e| panic!("{typed}: {e:?}"));
        assert_eq!(reading.lot.as_deref().unwrap_or_default(), lot, "{typed}");
        assert!(reading.warnings.contains(warning), "{typed}");
    }
}

#[test]
fn a_damaged_label_without_a_right_check_character_stays_unread() {
    assert!(read("+a99912345/$$52001510x34", &today()).is_err());
    assert!(read("+$$52001510x3gd", &today()).is_err());
}

#[test]
fn eight_digits_without_a_symbology_are_gtin_8_before_upc_e() {
    // GTIN-8 02345673 is the reference procedure's; its UPC-E expansion happens to fit.
    let reading = read("02345673", &today()).expect("readable");
    assert_eq!(
        reading.identifier.expect("GTIN").code.as_str(),
        "00000002345673"
    );
    assert!(reading.warnings.contains(Warning::Gtin8OrUpcE));
    // UPC-E 01234505 stands for UPC-A 012000003455 (GS1 General Specifications, zero
    // suppression example, from memory); GTIN-8's check digit does not fit it.
    let reading = read("01234505", &today()).expect("readable");
    assert_eq!(reading.form, Form::Gtin);
    assert_eq!(
        reading.identifier.expect("GTIN").code.as_str(),
        "00012000003455"
    );
    // (96)385074 is legal as an element string too; the check digit decides (biip's readme).
    let reading = read("96385074", &today()).expect("readable");
    assert_eq!(
        reading.identifier.expect("GTIN").code.as_str(),
        "00000096385074"
    );
}

#[test]
fn a_scan_without_end_is_refused_in_good_time() {
    let many = "]d2".to_owned() + &"90A\u{1d}".repeat(100);
    assert_eq!(
        read(&many, &today()).expect_err("too many").code.as_str(),
        "too_many_elements"
    );
    let long = "(".repeat(1_000_000);
    assert_eq!(
        read(&long, &today()).expect_err("too long").code.as_str(),
        "too_long"
    );
}

#[test]
fn digits_with_a_wrong_check_digit_are_no_lot() {
    // NDC 0067-6382-30 in a case, its check digit 9 misread.
    let mut context = today();
    context.associations = false;
    assert_eq!(
        read("10300676382308", &context)
            .expect_err("wrong")
            .code
            .as_str(),
        "wrong_check_digit"
    );
    let reading = read("17280501101234", &context).expect("expiry and lot");
    assert_eq!(reading.lot.as_deref(), Some("1234"));
}

#[test]
fn a_number_sign_of_a_component_identifier_is_no_separator() {
    // GS1 General Specifications 7.11: the 39 characters of AI 8010 include the number sign; a
    // scan without any separator in it, found by fuzzing.
    let reading = read("]d2801010810##010966-", &today()).expect("one element");
    assert_eq!(reading.elements.get("8010"), Some("10810##010966-"));
    assert!(reading.warnings.is_empty());
    let text = read("]d2010952012345678810ABC#21S1", &today()).expect("substituted");
    assert_eq!(text.lot.as_deref(), Some("ABC"));
}
