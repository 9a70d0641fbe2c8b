//! Comparing codes that people copied.

use super::MatchClass;
use crate::notices::Range;

/// A code without letter case, white space, and zeros at its beginning.
pub(super) fn fold(code: &str) -> String {
    let plain: String = code
        .chars()
        .filter(|c| !c.is_whitespace())
        .flat_map(char::to_uppercase)
        .collect();
    let significant = plain.trim_start_matches('0');
    // Zeros alone are one zero.
    if significant.is_empty() && !plain.is_empty() {
        return "0".to_owned();
    }
    significant.to_owned()
}

/// Whether a code lies in a range; `Possible` where only the folded code does, or where the two
/// cannot be put in one order.
pub(super) fn in_range(range: &Range, code: &str) -> Option<MatchClass> {
    match range {
        Range::BeginsWith { start, .. } => graded(code.starts_with(start.as_str()), || {
            fold(code).starts_with(&fold(start))
        }),
        Range::Between {
            from, to, printed, ..
        } => {
            let one_code = printed
                .as_ref()
                .and_then(|printed| graded(printed == code, || fold(printed) == fold(code)));
            let folded = |end: &Option<String>| end.as_deref().map(fold);
            let exactly = within(from.as_deref(), to.as_deref(), code);
            let inside = graded(exactly == Some(true), || {
                let folded = within(folded(from).as_deref(), folded(to).as_deref(), &fold(code));
                // An open end without an order leaves the code where it cannot be left out.
                folded.unwrap_or(from.is_none() || to.is_none())
            });
            one_code.max(inside)
        }
    }
}

fn graded(exact: bool, folded: impl FnOnce() -> bool) -> Option<MatchClass> {
    if exact {
        return Some(MatchClass::Affected);
    }
    folded().then_some(MatchClass::Possible)
}

/// Whether a code is between two others; nothing when they cannot be put in one order.
fn within(from: Option<&str>, to: Option<&str>, code: &str) -> Option<bool> {
    let above = from.map(|from| order(&lowest(from), code).map(|order| order.is_le()));
    let below = to.map(|to| order(&highest(to), code).map(|order| order.is_ge()));
    match (above, below) {
        (Some(Some(false)), _) | (_, Some(Some(false))) => Some(false),
        (Some(None), _) | (_, Some(None)) | (None, None) => None,
        _ => Some(true),
    }
}

/// Codes with the same beginning by the number at their end, others of one length by character.
fn order(end: &str, code: &str) -> Option<std::cmp::Ordering> {
    let ((stem, number), (code_stem, code_number)) = (tail(end), tail(code));
    if stem == code_stem && !number.is_empty() && !code_number.is_empty() {
        let (number, code_number) = (
            number.trim_start_matches('0'),
            code_number.trim_start_matches('0'),
        );
        return Some((number.len(), number).cmp(&(code_number.len(), code_number)));
    }
    (end.len() == code.len()).then(|| end.cmp(code))
}

/// What stands before the digits at the end, and these digits.
fn tail(code: &str) -> (&str, &str) {
    code.split_at(code.trim_end_matches(|c: char| c.is_ascii_digit()).len())
}

/// `2401XXXX` begins at `24010000`: several X at the end stand for any digits.
fn lowest(from: &str) -> String {
    filled(from, "0")
}

/// `2406XXXX` ends at `2406ZZZZ`.
fn highest(to: &str) -> String {
    filled(to, "Z")
}

fn filled(code: &str, with: &str) -> String {
    let fixed = code.trim_end_matches(['X', 'x']);
    let open = code.len() - fixed.len();
    if open < 2 {
        return code.to_owned();
    }
    format!("{fixed}{}", with.repeat(open))
}
