//! GS1 Digital Link URIs (GS1 Digital Link Standard: URI Syntax).

mod escapes;
mod write;

pub use write::{NoDigitalLink, digital_link};

use std::borrow::Cow;

use super::element_string::push;
use super::table::{self, Ai};
use super::{add_identity, associations};
use crate::{Context, Form, Reading, Unread, UnreadCode};

/// Whether the text begins like a web address.
pub(crate) fn is_web_address(text: &str) -> bool {
    path_start(text).is_some()
}

/// Where the domain begins.
fn path_start(text: &str) -> Option<usize> {
    ["http://", "https://"]
        .iter()
        .find(|scheme| {
            text.get(..scheme.len())
                .is_some_and(|start| start.eq_ignore_ascii_case(scheme))
        })
        .map(|scheme| scheme.len())
}

/// Reads a Digital Link of any domain and stem. The rightmost primary key of the path
/// counts; after it only its qualifiers may stand, in order; other elements stand in the
/// query. Parameters whose name is no number are not GS1's and are passed over.
pub(crate) fn read_digital_link<'a>(
    input: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let fault = |at| Unread::new(UnreadCode::NotADigitalLink, at);
    if let Some(at) = input[start..].bytes().position(|b| !escapes::is_uri(b)) {
        return Err(Unread::new(UnreadCode::WrongCharacter, start + at));
    }
    let end = input[start..]
        .find('#')
        .map_or(input.len(), |at| start + at);
    let uri = &input[..end];
    let domain = start + path_start(&uri[start..]).ok_or(fault(start))?;
    let path = domain + uri[domain..].find('/').ok_or(fault(end))?;
    let legal = |b: u8| b.is_ascii_alphanumeric() || b"-.:[]".contains(&b);
    if path == domain || !uri[domain..path].bytes().all(legal) {
        return Err(fault(domain));
    }
    let query = uri[path..].find('?').map_or(end, |at| path + at);
    let mut reading = Reading::new(Form::Gs1DigitalLink);
    let key = read_path(&uri[..query], path, &mut reading, context)?;
    if query < end {
        read_query(uri, query + 1, key, &mut reading, context)?;
    }
    associations::check(
        input,
        &reading.elements,
        false,
        context.associations,
        &mut reading.warnings,
    )?;
    add_identity(input, &mut reading, context)?;
    Ok(reading)
}

/// Reads the pairs of the path from its primary key on and gives the key's row.
fn read_path<'a>(
    uri: &'a str,
    path: usize,
    reading: &mut Reading<'a>,
    context: &Context,
) -> Result<&'static Ai, Unread> {
    let (key, mut at) =
        find_key(uri, path).ok_or(Unread::new(UnreadCode::NotADigitalLink, path))?;
    let first = at;
    while at < uri.len() {
        let (code, value_at, next) = pair(uri, at);
        let ai = table::exact(code).ok_or(Unread::new(UnreadCode::UnknownElement, at))?;
        let value = escapes::decode(&uri[value_at..next - 1], false);
        push_value(reading, code, value, value_at, ai, context)?;
        at = next;
    }
    let qualifiers = &reading.elements.as_slice()[1..];
    let in_order = |order: &&[&str]| {
        let mut rest = order.iter();
        qualifiers.iter().all(|q| rest.any(|code| *code == q.key))
    };
    let orders = key.key.unwrap_or_default();
    if qualifiers.is_empty() || orders.iter().any(in_order) {
        return Ok(key);
    }
    Err(Unread::new(UnreadCode::NotADigitalLink, first))
}

/// One `code/value` pair at this byte: the code, where its value begins, and where the
/// next pair would begin.
fn pair(uri: &str, at: usize) -> (&str, usize, usize) {
    let code_end = at + uri[at..].find('/').unwrap_or(uri.len() - at);
    let value_at = (code_end + 1).min(uri.len());
    let value_end = value_at + uri[value_at..].find('/').unwrap_or(uri.len() - value_at);
    (&uri[at..code_end], value_at, value_end + 1)
}

/// Walks the path's pairs from its end back to a primary key.
fn find_key(uri: &str, path: usize) -> Option<(&'static Ai, usize)> {
    let mut end = uri.len();
    loop {
        let value = path + 1 + uri.get(path + 1..end)?.rfind('/')?;
        let code_at = uri[path..value].rfind('/').map(|at| path + at + 1)?;
        let ai = table::exact(&uri[code_at..value])?;
        if ai.key.is_some() {
            return Some((ai, code_at));
        }
        end = code_at - 1;
    }
}

fn read_query<'a>(
    uri: &'a str,
    start: usize,
    key: &Ai,
    reading: &mut Reading<'a>,
    context: &Context,
) -> Result<(), Unread> {
    let mut at = start;
    for parameter in uri[start..].split(['&', ';']) {
        if let Some((code, value)) = parameter.split_once('=')
            && !code.is_empty()
            && code.bytes().all(|b| b.is_ascii_digit())
        {
            let ai = table::exact(code).ok_or(Unread::new(UnreadCode::UnknownElement, at))?;
            let belongs_in_path = key
                .key
                .unwrap_or_default()
                .iter()
                .any(|order| order.contains(&code));
            if !ai.attribute || belongs_in_path || reading.elements.get(code).is_some() {
                return Err(Unread::new(UnreadCode::NotADigitalLink, at));
            }
            if reading.elements.len() == 64 {
                return Err(Unread::new(UnreadCode::TooManyElements, at));
            }
            let code = &uri[at..at + code.len()];
            push_value(
                reading,
                code,
                escapes::decode(value, true),
                at + code.len() + 1,
                ai,
                context,
            )?;
        }
        at += parameter.len() + 1;
    }
    Ok(())
}

/// Appends a value; a GTIN-13 without its leading zero, as earlier versions of the
/// standard allowed, is brought to 14 digits.
fn push_value<'a>(
    reading: &mut Reading<'a>,
    code: &'a str,
    value: Cow<'a, str>,
    at: usize,
    ai: &Ai,
    context: &Context,
) -> Result<(), Unread> {
    let value = if code == "01" && value.len() == 13 {
        Cow::Owned(format!("0{value}"))
    } else {
        value
    };
    push(
        &mut reading.elements,
        &mut reading.warnings,
        code,
        value,
        at,
        ai,
        context,
    )
}
