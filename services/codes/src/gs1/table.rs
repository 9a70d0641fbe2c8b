//! Every GS1 application identifier as data (GS1 Barcode Syntax Dictionary, 224 rows for
//! 541 identifiers; a test holds the rows against the dictionary file).

mod assets;
mod details;
#[cfg(test)]
mod dictionary;
mod items;
mod measures;
mod row;
mod trade;

pub(crate) use row::{Ai, Set};

const GROUPS: [&[Ai]; 5] = [
    items::ROWS,
    measures::ROWS,
    trade::ROWS,
    details::ROWS,
    assets::ROWS,
];

/// For the first four digits of an element (identifiers of two and three digits fill
/// their whole run): group and row, or nothing.
static INDEX: [Option<(u8, u8)>; 10_000] = index();

const fn index() -> [Option<(u8, u8)>; 10_000] {
    let mut table = [None; 10_000];
    let mut group = 0;
    while group < GROUPS.len() {
        let rows = GROUPS[group];
        let mut row = 0;
        while row < rows.len() {
            let mut code = run(rows[row].first).0;
            let end = run(rows[row].last).1;
            while code <= end {
                table[code] = Some((group as u8, row as u8));
                code += 1;
            }
            row += 1;
        }
        group += 1;
    }
    table
}

/// The first and last four-digit number that begin with this code.
const fn run(code: &str) -> (usize, usize) {
    let bytes = code.as_bytes();
    let (mut low, mut high, mut i) = (0, 0, 0);
    while i < 4 {
        let (l, h) = if i < bytes.len() {
            (bytes[i] - b'0', bytes[i] - b'0')
        } else {
            (0, 9)
        };
        low = low * 10 + l as usize;
        high = high * 10 + h as usize;
        i += 1;
    }
    (low, high)
}

/// The row whose identifier stands at the start of the data.
pub(crate) fn find(data: &[u8]) -> Option<&'static Ai> {
    let digits = data
        .iter()
        .take(4)
        .take_while(|b| b.is_ascii_digit())
        .count();
    let code = (0..4).fold(0, |code, i| {
        code * 10
            + if i < digits {
                usize::from(data[i] - b'0')
            } else {
                0
            }
    });
    let (group, row) = INDEX[code]?;
    let ai = &GROUPS[usize::from(group)][usize::from(row)];
    (ai.first.len() <= digits).then_some(ai)
}

/// The row of exactly this identifier.
pub(crate) fn exact(code: &str) -> Option<&'static Ai> {
    find(code.as_bytes()).filter(|ai| ai.first.len() == code.len())
}

/// Every row, in the dictionary's order.
#[cfg(test)]
pub(crate) fn rows() -> impl Iterator<Item = &'static Ai> {
    GROUPS.into_iter().flatten()
}
