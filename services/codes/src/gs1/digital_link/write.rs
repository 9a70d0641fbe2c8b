//! Digital Link URIs out of elements.

use super::escapes::encode;
use crate::Elements;
use crate::gs1::table;

/// Why elements give no Digital Link.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoDigitalLink {
    /// No element is a primary key.
    #[error("no element is a primary key of GS1 Digital Link")]
    NoKey,
    /// An element may stand neither in the path after the key nor in the query.
    #[error("an element may stand neither after the key nor in the query")]
    NotAnAttribute,
}

/// The Digital Link of a label's elements. The first primary key begins the path, its
/// qualifiers follow in the standard's order, all else goes into the query: elements of
/// predefined length, then the others, each as printed.
/// Without a stem the link is canonical, at `https://id.gs1.org`.
///
/// # Errors
/// When there is no key, or an element has no place in the link.
pub fn digital_link(elements: &Elements<'_>, stem: Option<&str>) -> Result<String, NoDigitalLink> {
    let is_key = |code: &str| table::exact(code).is_some_and(|ai| ai.key.is_some());
    let key = elements
        .iter()
        .map(|(code, _)| code)
        .find(|code| is_key(code))
        .ok_or(NoDigitalLink::NoKey)?;
    let orders = table::exact(key).and_then(|ai| ai.key).unwrap_or_default();
    let present = |order: &&&[&str]| {
        order
            .iter()
            .filter(|code| elements.get(code).is_some())
            .count()
    };
    // The first of equally long orders, so that a bare key takes the standard's first.
    let order = orders
        .iter()
        .rev()
        .max_by_key(present)
        .copied()
        .unwrap_or_default();

    let mut uri = stem
        .unwrap_or("https://id.gs1.org")
        .trim_end_matches('/')
        .to_owned();
    for code in std::iter::once(&key).chain(order) {
        if let Some(value) = elements.get(code) {
            uri.push('/');
            uri.push_str(code);
            uri.push('/');
            encode(value, false, &mut uri);
        }
    }
    let mut separator = '?';
    // Elements of predefined length come first, as in an element string.
    for fixed in [true, false] {
        for (i, element) in elements.as_slice().iter().enumerate() {
            let code = element.key.as_ref();
            let earlier = &elements.as_slice()[..i];
            let ai = table::exact(code).ok_or(NoDigitalLink::NotAnAttribute)?;
            let placed =
                code == key || order.contains(&code) || earlier.iter().any(|e| e.key == code);
            if placed || ai.fixed != fixed {
                continue;
            }
            if !ai.attribute || orders.iter().any(|order| order.contains(&code)) {
                return Err(NoDigitalLink::NotAnAttribute);
            }
            uri.push(separator);
            uri.push_str(code);
            uri.push('=');
            encode(&element.value, true, &mut uri);
            separator = '&';
        }
    }
    Ok(uri)
}
