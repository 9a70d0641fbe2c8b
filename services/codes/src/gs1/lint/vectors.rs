//! The content checks against the reference procedures' unit tests (Apache-2.0).

use super::Check;
use crate::gs1::table::Set;
use crate::reference;

/// The dictionary's names of the checks.
pub(crate) const NAMES: [(&str, Check); 34] = [
    ("csum", Check::DigitSum),
    ("csumalpha", Check::PairSum),
    ("gcppos1", Check::CompanyPrefix),
    ("gcppos2", Check::CompanyPrefixSecond),
    ("iso3166", Check::Country),
    ("iso3166alpha2", Check::CountryLetters),
    ("iso3166999", Check::CountryOr999),
    ("couponcode", Check::Coupon),
    ("couponposoffer", Check::CouponOffer),
    ("iso4217", Check::Currency),
    ("yymmdd", Check::Date),
    ("yymmd0", Check::DateOrMonth),
    ("hasnondigit", Check::HasNonDigit),
    ("hh", Check::Hour),
    ("hhmi", Check::HourMinute),
    ("hyphen", Check::Hyphen),
    ("iban", Check::Iban),
    ("importeridx", Check::ImporterIndex),
    ("latitude", Check::Latitude),
    ("yyyymmdd", Check::LongDate),
    ("longitude", Check::Longitude),
    ("mediatype", Check::MediaType),
    ("mi", Check::Minute),
    ("nozeroprefix", Check::NoZeroPrefix),
    ("nonzero", Check::NonZero),
    ("packagetype", Check::PackageType),
    ("pcenc", Check::Percent),
    ("pieceoftotal", Check::PieceOfTotal),
    ("posinseqslash", Check::PositionInSequence),
    ("ss", Check::Second),
    ("iso5218", Check::Sex),
    ("winding", Check::Winding),
    ("yesno", Check::YesNo),
    ("zero", Check::Zero),
];

fn run(name: &str, value: &[u8]) -> bool {
    let set = |set| super::in_set(set, value).is_ok();
    match name {
        "cset39" => set(Set::Set39),
        "cset64" => set(Set::Base64),
        "cset82" => set(Set::Set82),
        "csetnumeric" => set(Set::Digits),
        // No element of the table carries this check.
        "yyyymmd0" => super::dates::date(value, 4, true).is_ok(),
        _ => {
            let (_, check) = NAMES
                .iter()
                .find(|(n, _)| *n == name)
                .unwrap_or_else(|| panic!("no check {name}"));
            check.run(value).is_ok()
        }
    }
}

#[test]
fn content_checks_agree() {
    // Named disagreements: the procedures were also tested with a made-up register of
    // company prefixes, refused or offline. This project has no register, so any four
    // digits begin a prefix, as in the reference without one.
    let made_up = [
        "GS1_LINTER_INVALID_GCP_PREFIX",
        "GS1_LINTER_GCP_DATASOURCE_OFFLINE",
    ];
    let mut found = Vec::new();
    for vector in reference::list("gs1_linters.json", "vectors") {
        let field = |key: &str| vector[key].as_str().unwrap_or_default();
        let (name, input) = (field("linter"), field("input"));
        let agrees = run(name, input.as_bytes()) == (vector["valid"] == true);
        if !agrees && !made_up.contains(&field("error")) {
            found.push(format!("{name} {input:?} expected {}", vector["valid"]));
        }
    }
    assert!(found.is_empty(), "{} disagree:\n{found:#?}", found.len());
}
