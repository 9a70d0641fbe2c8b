//! Which elements need or exclude each other on one item, and repeats.

use super::table;
use crate::{Element, Elements, Unread, UnreadCode, Warning, Warnings};

/// Checks repeats always and, when `pairs` is set, required and forbidden companions.
/// `gtin_elsewhere` says that another carrier of the item gave its GTIN.
pub(crate) fn check(
    input: &str,
    elements: &Elements<'_>,
    gtin_elsewhere: bool,
    pairs: bool,
    warnings: &mut Warnings,
) -> Result<(), Unread> {
    let elements = elements.as_slice();
    if repeats(elements)
        .map_err(|element| Unread::new(UnreadCode::RepeatedDifferently, position(input, element)))?
    {
        warnings.add(Warning::ElementRepeated);
    }
    if pairs {
        for element in elements {
            exclusions(input, elements, element)?;
        }
        for element in elements {
            companions(input, elements, element, gtin_elsewhere)?;
        }
    }
    Ok(())
}

/// Whether an element is repeated with the same value; the one that differs as an error.
pub(crate) fn repeats<'e, 'a>(elements: &'e [Element<'a>]) -> Result<bool, &'e Element<'a>> {
    let mut repeated = false;
    for (i, element) in elements.iter().enumerate() {
        if let Some(earlier) = elements[..i].iter().find(|e| e.key == element.key) {
            if earlier.value != element.value {
                return Err(element);
            }
            repeated = true;
        }
    }
    Ok(repeated)
}

fn exclusions(input: &str, elements: &[Element<'_>], element: &Element<'_>) -> Result<(), Unread> {
    let Some(ai) = table::exact(&element.key) else {
        return Ok(());
    };
    let excluded = |other: &&Element<'_>| {
        other.key != element.key
            && ai
                .excludes
                .iter()
                .any(|pattern| matches(pattern, &other.key))
    };
    match elements.iter().find(excluded) {
        None => Ok(()),
        Some(other) => Err(Unread {
            code: UnreadCode::ForbiddenPair,
            at: position(input, element),
            message: format!(
                "Elements ({}) and ({}) exclude each other on one item; compare with the print.",
                element.key, other.key
            )
            .into(),
        }),
    }
}

fn companions(
    input: &str,
    elements: &[Element<'_>],
    element: &Element<'_>,
    gtin_elsewhere: bool,
) -> Result<(), Unread> {
    let Some(ai) = table::exact(&element.key) else {
        return Ok(());
    };
    let present = |pattern: &&str| {
        (gtin_elsewhere && *pattern == "01")
            || elements
                .iter()
                .any(|e| matches(pattern, &e.key) && !lacks_serial(element, e))
    };
    let satisfied = ai.needs.is_empty() || ai.needs.iter().any(|group| group.iter().all(&present));
    if satisfied && !elements.iter().any(|e| lacks_serial(element, e)) {
        return Ok(());
    }
    Err(Unread {
        code: UnreadCode::MissingCompanion,
        at: position(input, element),
        message: format!(
            "Element ({}) needs another element of the item that is not in this symbol; scan the item's other symbol too.",
            element.key
        )
        .into(),
    })
}

/// A digital signature (8030) needs a serialised key: a document, coupon or asset type
/// without its serial part is not one.
fn lacks_serial(element: &Element<'_>, key: &Element<'_>) -> bool {
    element.key == "8030"
        && match key.key.as_ref() {
            "253" | "255" => key.value.len() == 13,
            "8003" => key.value.len() == 14,
            _ => false,
        }
}

/// Whether an identifier fits a pattern in which `n` is any digit.
fn matches(pattern: &str, key: &str) -> bool {
    pattern.len() == key.len()
        && pattern
            .bytes()
            .zip(key.bytes())
            .all(|(p, k)| p == k || p == b'n')
}

/// Where an element's identifier stands in the input it was cut from.
fn position(input: &str, element: &Element<'_>) -> usize {
    let distance = element
        .key
        .as_ptr()
        .addr()
        .wrapping_sub(input.as_ptr().addr());
    if distance <= input.len() { distance } else { 0 }
}

/// Where a part of the input stands in it; 0 for a text that is not part of it.
pub(super) fn position_in(input: &str, part: &str) -> usize {
    let distance = part.as_ptr().addr().wrapping_sub(input.as_ptr().addr());
    if distance <= input.len() { distance } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::repeats;
    use crate::{Elements, reference};

    /// The vectors of the reference engine's check of repeats, held against this one: some have
    /// elements that are not assigned, which the engine was told to let pass.
    #[test]
    fn repeats_agree_with_the_engines_own_check() {
        for vector in reference::list("gs1_assoc.json", "vectors") {
            if vector["check"] != "validateAIrepeats" {
                continue;
            }
            let input = vector["input"].as_str().expect("text");
            let mut elements = Elements::default();
            for element in input.split('(').skip(1) {
                let (key, value) = element.split_once(')').expect("brackets");
                elements.push(key, value);
            }
            let agrees = repeats(elements.as_slice()).is_ok() == (vector["valid"] == true);
            assert!(agrees, "{vector}");
        }
    }
}
