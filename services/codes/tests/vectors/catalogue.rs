//! Identifiers as catalogues hold them.

use lotwarden_codes::{Agency, Identifier, IdentifierFault};

use crate::joining::mod43;

#[test]
fn lengths_of_a_gtin_are_one_identifier() {
    let parse = |code: &str| Identifier::parse(Agency::Gs1, code).expect(code);
    assert_eq!(
        parse("416000336108").identifier,
        parse("00416000336108").identifier
    );
    assert_eq!(
        parse("0416000336108").identifier,
        parse("00416000336108").identifier
    );
    assert_eq!(parse("02345673").identifier.code.as_str(), "00000002345673");
    // One of the ten with a wrong check digit in the public database.
    assert_eq!(
        parse("00841518100003").fault,
        Some(IdentifierFault::WrongCheckDigit)
    );
}

#[test]
fn an_hibcc_code_is_one_with_and_without_its_check_character() {
    let parse = |code: &str| Identifier::parse(Agency::Hibcc, code).expect(code);
    let bare = parse("A123BJC5D6E71").identifier;
    for written in ["A123BJC5D6E71G", "+A123BJC5D6E71G", "*+A123BJC5D6E71G*"] {
        assert_eq!(
            (parse(written).identifier, parse(written).fault),
            (bare, None),
            "{written}"
        );
    }
    assert_eq!(
        parse("+A123BJC5D6E71H").fault,
        Some(IdentifierFault::WrongCheckDigit)
    );
}

#[test]
fn a_code_whose_last_digit_may_be_its_check_character_keeps_both_readings() {
    // Found by search: a code whose check character is a digit, so that code and check
    // character together look like a code as well.
    let label = (0..100_000)
        .map(|n| format!("+A999{n}"))
        .find(|l| l.len() > 7 && mod43(l).is_ascii_digit());
    let label = label.expect("one in four");
    let code = format!("{}{}", &label[1..], mod43(&label));
    let parsed = Identifier::parse(Agency::Hibcc, &code).expect("code");
    assert_eq!(parsed.identifier.code.as_str(), &label[1..]);
    assert_eq!(parsed.also.expect("both").code.as_str(), code);
}
