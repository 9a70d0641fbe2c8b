//! The test page of a scanning station.

use lotwarden_codes::{Context, TestSymbol};

use crate::drawing::{Drawing, LEADING};
use crate::label::linear;
use crate::{Label, Paper, Symbol, Unprintable, code128, sheet};

/// The symbols of the page, each with its data in words.
///
/// # Errors
/// Never with the data of [`TestSymbol`].
pub fn station_symbols(context: &Context) -> Result<Vec<Drawing>, Unprintable> {
    let gs1 = |test: TestSymbol, title: &str, symbol| {
        let text = format!("^{}", test.data());
        Label::of_text(title, &text, context)?.draw(symbol)
    };
    let hibc = code128::code_128(TestSymbol::Hibc.data(), false).ok_or(Unprintable::TooLong)?;
    let (mut third, (x, y)) = linear(hibc);
    third.write(x, y, "3 HIBC");
    // ANSI/HIBC 2.6: the human-readable text stands between asterisks.
    third.write(x, y + LEADING, &format!("*{}*", TestSymbol::Hibc.data()));
    Ok(vec![
        gs1(
            TestSymbol::Gs1DataMatrix,
            "1 GS1 DataMatrix",
            Symbol::Gs1DataMatrix,
        )?,
        gs1(TestSymbol::Gs1Code128, "2 GS1-128", Symbol::Gs1Code128)?,
        third,
    ])
}

/// One page with a GS1 DataMatrix and a GS1-128 that each hold a separator, and an HIBC
/// symbol in Code 128: whoever scans all three knows what the station does to characters.
///
/// # Errors
/// As [`station_symbols`].
pub fn station_test_page(context: &Context, paper: Paper) -> Result<Vec<u8>, Unprintable> {
    sheet(&station_symbols(context)?, paper)
}
