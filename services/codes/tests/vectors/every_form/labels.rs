//! The labels of one identifier: every carrier and spelling its agency allows.

use jiff::civil::date;
use lotwarden_codes::{Agency, Reading};

use crate::joining::mod43;

/// What the forms with production identifiers carry; made up.
pub(super) const LOT: &str = "L26-7";
const SERIAL: &str = "SN-1";
const ISBT_LOT: &str = "0000000000000L26-7";

/// A label that carries nothing but the identifier.
fn plain(label: String) -> (String, &'static str) {
    (label, "")
}

/// A label with lot (`L`), serial (`S`) and expiry (`E`).
fn with(carried: &'static str, label: String) -> (String, &'static str) {
    (label, carried)
}

/// A GTIN in every carrier and spelling. Symbology identifiers: GS1 General Specifications 5.4;
/// which lengths go in which symbol: 2.1; companions of EAN: memory of the composite symbology;
/// web addresses: GS1 Digital Link Standard.
fn gs1(gtin: &str) -> Vec<(String, &'static str)> {
    let serial = format!("21{SERIAL}");
    let dated = format!("1728123110{LOT}\u{1d}{serial}");
    let mut forms = vec![
        plain(gtin.to_owned()),
        plain(format!("]I1{gtin}")),
        plain(format!("(01){gtin}")),
        plain(format!("^01{gtin}")),
        plain(format!("\u{1d}01{gtin}\r\n")),
        plain(format!("https://id.gs1.org/01/{gtin}")),
        plain(format!("]Q1https://example.com/a/b/01/{gtin}?linkType=all")),
        with("LSE", format!("01{gtin}{dated}")),
        with("LSE", format!("(01){gtin}(17)281231(10){LOT}(21){SERIAL}")),
        with(
            "LSE",
            format!("https://id.gs1.org/01/{gtin}/10/{LOT}/21/{SERIAL}?17=281231"),
        ),
        with(
            "SE",
            format!("HTTP://EXAMPLE.COM/01/{gtin}/21/{SERIAL}?17=281231"),
        ),
    ];
    for symbology in ["]C1", "]d2", "]Q3", "]J1", "]e0"] {
        forms.extend([
            plain(format!("{symbology}01{gtin}")),
            with("LSE", format!("{symbology}01{gtin}{dated}")),
            with("SE", format!("{symbology}{serial}\u{1d}01{gtin}17281231")),
        ]);
    }
    if let Some(thirteen) = gtin.strip_prefix('0') {
        forms.extend([
            plain(thirteen.to_owned()),
            plain(format!("]E0{thirteen}")),
            with("LSE", format!("]E0{thirteen}|]e0{dated}")),
        ]);
    }
    if let Some(twelve) = gtin.strip_prefix("00") {
        forms.push(plain(twelve.to_owned()));
    }
    if let Some(eight) = gtin.strip_prefix("000000") {
        forms.extend([plain(eight.to_owned()), plain(format!("]E4{eight}"))]);
    }
    forms
}

/// A HIBC primary code alone and with its secondary data and supplements in one symbol
/// (ANSI/HIBC 2.6 2.2 to 3.2), as each symbology identifies itself.
fn hibc(code: &str) -> Vec<(String, &'static str)> {
    let checked = |body: String| format!("{body}{}", mod43(&body));
    let labels = [
        plain(checked(format!("+{code}"))),
        with("L", checked(format!("+{code}/${LOT}"))),
        with("LE", checked(format!("+{code}/$$3281231{LOT}"))),
        with("LE", checked(format!("+{code}/$$2123128{LOT}"))),
        with("LE", checked(format!("+{code}/$$528366{LOT}"))),
        with("S", checked(format!("+{code}/$+{SERIAL}"))),
        with("LSE", checked(format!("+{code}/$$3281231{LOT}/S{SERIAL}"))),
        with(
            "LSE",
            checked(format!("+{code}/${LOT}/S{SERIAL}/14D20281231/Q5")),
        ),
    ];
    let each = |(label, carried): (String, &'static str)| {
        let starts = ["", "]A0", "]A1", "]C0", "]d1", "]Q1"].map(|start| format!("{start}{label}"));
        let printed = format!("*{label}*");
        starts
            .into_iter()
            .chain([printed])
            .map(move |label| (label, carried))
    };
    labels.into_iter().flat_map(each).collect()
}

/// A product code of ISBT 128 alone, concatenated and in a compound message (ICCBBA ST-017).
fn isbt128(code: &str) -> Vec<(String, &'static str)> {
    let mut forms = Vec::new();
    for start in ["", "]C0", "]d1", "]Q1"] {
        forms.extend([
            plain(format!("{start}=/{code}")),
            with(
                "SE",
                format!("{start}=/{code}=,00SN-1=>028366").replace("SN-1", "0SN1"),
            ),
            with("LE", format!("{start}=+03000=/{code}=>028366&,1{ISBT_LOT}")),
        ]);
    }
    forms
}

/// A code in every form that its agency allows, each with what it carries.
pub(super) fn forms(agency: Agency, code: &str) -> Vec<(String, &'static str)> {
    match agency {
        Agency::Gs1 => gs1(code),
        Agency::Hibcc => hibc(code),
        Agency::Iccbba => isbt128(code),
        other => panic!("{other} is not an agency of the database"),
    }
}

/// Whether the reading says exactly what the label carries.
pub(super) fn says(reading: &Reading<'_>, carried: &str) -> bool {
    let lots = [LOT, ISBT_LOT];
    let serials = [SERIAL, "000SN1"];
    let known = |value: Option<&str>, values: [&str; 2], letter| match value {
        Some(value) => carried.contains(letter) && values.contains(&value),
        None => !carried.contains(letter),
    };
    let expiry = carried.contains('E').then_some(date(2028, 12, 31));
    known(reading.lot.as_deref(), lots, 'L')
        && known(reading.serial.as_deref(), serials, 'S')
        && reading.expires_on.map(|d| d.date) == expiry
}
