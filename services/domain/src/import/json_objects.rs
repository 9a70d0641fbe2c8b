//! Records as JSON objects: one a line, an array, one alone, or a list inside an object.

use super::FileFault;
use super::lines::{Counted, Line, first_character};
use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};
use std::fmt;
use std::io::BufRead;
use std::ops::ControlFlow;

/// Takes the object that ends on a line, or nothing for what is no object; breaks when no more
/// are wanted.
pub(super) type Each<'a> = &'a mut dyn FnMut(u64, Option<&Map<String, Value>>) -> ControlFlow<()>;

/// Reads objects until the end of the file. `lists` are the members of an outermost object that
/// hold records; without any of them it is a record itself.
pub(super) fn read(
    mut reader: impl BufRead,
    lists: &[&str],
    each: Each<'_>,
) -> Result<(), FileFault> {
    let first = reader.fill_buf()?;
    if first.starts_with(b"\xef\xbb\xbf") {
        reader.consume(3);
    }
    if is_document(reader.fill_buf()?, lists) {
        read_document(reader, lists, each)
    } else {
        read_lines(reader, each)
    }
}

/// An array, an object that runs over several lines, or one that begins like an answer of openFDA.
fn is_document(first: &[u8], lists: &[&str]) -> bool {
    if first_character(first) == Some(b'[') {
        return true;
    }
    let inside = first
        .iter()
        .position(|b| *b == b'{')
        .map_or(first, |at| &first[at + 1..]);
    let line_ends = inside
        .iter()
        .find(|b| !matches!(b, b' ' | b'\t' | b'\r'))
        .is_some_and(|b| *b == b'\n');
    let name = inside
        .trim_ascii_start()
        .strip_prefix(b"\"")
        .unwrap_or_default();
    let begins =
        |member: &str| name.starts_with(member.as_bytes()) && name.get(member.len()) == Some(&b'"');
    line_ends || begins("meta") || lists.iter().any(|list| begins(list))
}

fn read_lines(mut reader: impl BufRead, each: Each<'_>) -> Result<(), FileFault> {
    let mut text = Vec::new();
    let mut line = 0;
    while reader.read_until(b'\n', &mut text)? > 0 {
        line += 1;
        if !text.trim_ascii().is_empty() {
            let object = serde_json::from_slice::<Map<String, Value>>(&text).ok();
            if each(line, object.as_ref()).is_break() {
                return Ok(());
            }
        }
        text.clear();
    }
    Ok(())
}

fn read_document(reader: impl BufRead, lists: &[&str], each: Each<'_>) -> Result<(), FileFault> {
    let (reader, line) = Counted::new(reader);
    let mut stopped = false;
    let document = Document {
        each,
        lists,
        line,
        stopped: &mut stopped,
    };
    let mut source = serde_json::Deserializer::from_reader(reader);
    match document.deserialize(&mut source) {
        Err(_) if stopped => Ok(()),
        Err(error) if error.is_io() => Err(FileFault::Io(error.into())),
        Err(error) => Err(FileFault::Broken {
            form: "JSON",
            line: error.line() as u64,
        }),
        Ok(()) => source.end().map_err(|error| FileFault::Broken {
            form: "JSON",
            line: error.line() as u64,
        }),
    }
}

/// Hands on each record as it is read, so that a file of any length takes little memory.
struct Document<'a, 'b> {
    each: Each<'a>,
    lists: &'b [&'b str],
    line: Line,
    stopped: &'b mut bool,
}

impl Document<'_, '_> {
    fn hand_on<E: Error>(&mut self, object: Option<&Map<String, Value>>) -> Result<(), E> {
        if (self.each)(self.line.number(), object).is_break() {
            *self.stopped = true;
            return Err(E::custom("no more records are wanted"));
        }
        Ok(())
    }
}

impl<'de> DeserializeSeed<'de> for Document<'_, '_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Document<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an array of records, or an object")
    }

    fn visit_seq<A: SeqAccess<'de>>(mut self, mut records: A) -> Result<(), A::Error> {
        while let Some(record) = records.next_element::<Value>()? {
            self.hand_on(record.as_object())?;
        }
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(mut self, mut members: A) -> Result<(), A::Error> {
        let mut record = Map::new();
        let mut found = false;
        while let Some(name) = members.next_key::<String>()? {
            if self.lists.contains(&name.as_str()) {
                found = true;
                members.next_value_seed(Document {
                    each: &mut *self.each,
                    lists: &[],
                    line: self.line.clone(),
                    stopped: &mut *self.stopped,
                })?;
            } else if found {
                members.next_value::<IgnoredAny>()?;
            } else {
                let value = members.next_value()?;
                record.insert(name, value);
            }
        }
        if found {
            return Ok(());
        }
        self.hand_on(Some(&record))
    }
}
