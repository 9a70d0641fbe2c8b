//! Code 128 (ISO/IEC 15417), as much of it as GS1-128 and HIBC need: sets B and C.

/// Bar and space widths of the symbol characters 0 to 105.
const WIDTHS: [&str; 106] = [
    "212222", "222122", "222221", "121223", "121322", "131222", "122213", "122312", "132212",
    "221213", "221312", "231212", "112232", "122132", "122231", "113222", "123122", "123221",
    "223211", "221132", "221231", "213212", "223112", "312131", "311222", "321122", "321221",
    "312212", "322112", "322211", "212123", "212321", "232121", "111323", "131123", "131321",
    "112313", "132113", "132311", "211313", "231113", "231311", "112133", "112331", "132131",
    "113123", "113321", "133121", "313121", "211331", "231131", "213113", "213311", "213131",
    "311123", "311321", "331121", "312113", "312311", "332111", "314111", "221411", "431111",
    "111224", "111422", "121124", "121421", "141122", "141221", "112214", "112412", "122114",
    "122411", "142112", "142211", "241211", "221114", "413111", "241112", "134111", "111242",
    "121142", "121241", "114212", "124112", "124211", "411212", "421112", "421211", "212141",
    "214121", "412121", "111143", "111341", "131141", "114113", "114311", "411113", "411311",
    "113141", "114131", "311141", "411131", "211412", "211214", "211232",
];

const STOP: &str = "2331112";
const START_B: usize = 104;
const START_C: usize = 105;
const TO_C: usize = 99;
const TO_B: usize = 100;
const FNC1: usize = 102;

/// The modules of a symbol, `true` dark, without quiet zones. With `gs1`, FNC1 marks it as
/// GS1's; GS in the data stands for FNC1.
///
/// Nothing when a character is neither printable ASCII nor GS.
pub(crate) fn code_128(data: &str, gs1: bool) -> Option<Vec<bool>> {
    let values = values(data.as_bytes(), gs1)?;
    let sum: usize = values
        .iter()
        .enumerate()
        .map(|(at, value)| value * at.max(1))
        .sum();
    let symbol = values
        .into_iter()
        .chain([sum % 103])
        .map(|value| WIDTHS[value])
        .chain([STOP]);
    let widths = symbol.flat_map(|widths| widths.bytes().enumerate());
    Some(
        widths
            .flat_map(|(at, width)| std::iter::repeat_n(at % 2 == 0, usize::from(width - b'0')))
            .collect(),
    )
}

/// Symbol characters without the check character. Set C takes runs of four digits and more,
/// from their first digit when their number is even and from the second when it is odd.
fn values(data: &[u8], gs1: bool) -> Option<Vec<usize>> {
    let mut values = Vec::with_capacity(data.len() + 4);
    let mut digits_set = digits(data) >= 4 && digits(data).is_multiple_of(2)
        || digits(data) >= 5 && gs1
        || data.len() == 2 && digits(data) == 2;
    values.push(if digits_set { START_C } else { START_B });
    if gs1 {
        values.push(FNC1);
    }
    let mut at = 0;
    while at < data.len() {
        let run = digits(&data[at..]);
        if data[at] == 0x1D {
            values.push(FNC1);
            at += 1;
        } else if digits_set && run >= 2 {
            values.push(usize::from(data[at] - b'0') * 10 + usize::from(data[at + 1] - b'0'));
            at += 2;
        } else if digits_set {
            values.push(TO_B);
            digits_set = false;
        } else if run >= 4 && run.is_multiple_of(2) {
            values.push(TO_C);
            digits_set = true;
        } else {
            let character = data[at];
            if !(0x20..0x7F).contains(&character) {
                return None;
            }
            values.push(usize::from(character - 0x20));
            at += 1;
        }
    }
    Some(values)
}

fn digits(data: &[u8]) -> usize {
    data.iter().take_while(|byte| byte.is_ascii_digit()).count()
}
