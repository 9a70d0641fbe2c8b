//! GS1 DataMatrix symbols (ISO/IEC 16022).

use datamatrix::{DataMatrix, SymbolList};

/// The modules of a symbol, row by row, `true` dark, without quiet zone. GS in the data
/// stands for the separator; the FNC1 that marks a GS1 symbol is put in front.
///
/// Nothing when the data do not fit into a symbol.
pub(crate) fn gs1_matrix(data: &str) -> Option<Vec<Vec<bool>>> {
    let symbol = DataMatrix::encode_gs1(data.as_bytes(), SymbolList::default()).ok()?;
    let bitmap = symbol.bitmap();
    Some(
        bitmap
            .bits()
            .chunks(bitmap.width())
            .map(<[bool]>::to_vec)
            .collect(),
    )
}
