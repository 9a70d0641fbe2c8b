//! Reads a JSON value and names fields that are given twice, of which JSON readers keep one
//! without a word (RFC 8259 section 4).

use lotwarden_domain::computations::shown;
use serde::Deserialize;
use serde::de::{Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

/// A JSON value and the paths of the fields given twice in it.
#[derive(Debug, Default)]
pub struct Object {
    /// The value; of a field given twice, the last.
    pub value: Value,
    /// Paths such as `ingredients[1].volume_ml`.
    pub twice: Vec<String>,
}

impl From<Value> for Object {
    fn from(value: Value) -> Self {
        Self {
            value,
            twice: Vec::new(),
        }
    }
}

impl<'de> Deserialize<'de> for Object {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Reader)
    }
}

struct Reader;

impl<'de> Visitor<'de> for Reader {
    type Value = Object;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E: Error>(self) -> Result<Object, E> {
        Ok(Value::Null.into())
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<Object, E> {
        Ok(Value::Bool(value).into())
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Object, E> {
        Ok(Value::from(value).into())
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Object, E> {
        Ok(Value::from(value).into())
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Object, E> {
        Ok(Number::from_f64(value)
            .map_or(Value::Null, Value::Number)
            .into())
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<Object, E> {
        Ok(Value::from(value).into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Object, A::Error> {
        let (mut list, mut twice) = (Vec::new(), Vec::new());
        while let Some(item) = items.next_element::<Object>()? {
            let index = list.len();
            twice.extend(
                item.twice
                    .into_iter()
                    .map(|path| format!("[{index}]{}", below(&path))),
            );
            list.push(item.value);
        }
        Ok(Object {
            value: Value::Array(list),
            twice,
        })
    }

    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> Result<Object, A::Error> {
        let (mut map, mut twice) = (Map::new(), Vec::new());
        while let Some((name, field)) = fields.next_entry::<String, Object>()? {
            twice.extend(
                field
                    .twice
                    .into_iter()
                    .map(|path| format!("{}{}", shown(&name), below(&path))),
            );
            if map.insert(name.clone(), field.value).is_some() {
                twice.push(shown(&name).to_owned());
            }
        }
        Ok(Object {
            value: Value::Object(map),
            twice,
        })
    }
}

/// The rest of a path below a field or an item.
fn below(path: &str) -> String {
    if path.starts_with('[') {
        path.to_owned()
    } else {
        format!(".{path}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_given_twice_is_named_with_its_place() {
        let text =
            r#"{"a": 1, "b": [{"c": 1}, {"c": 2, "c": 3, "d": [[{"e": 1, "e": 1}]]}], "a": null}"#;
        let object: Object = serde_json::from_str(text).unwrap();
        assert_eq!(object.twice, ["b[1].c", "b[1].d[0][0].e", "a"]);
    }

    #[test]
    fn every_other_value_is_what_it_is() {
        let text = r#"{"a": [1, -1, 0.25, "x\u0041", true, null, {}], "b": 18446744073709551615}"#;
        let object: Object = serde_json::from_str(text).unwrap();
        assert_eq!(object.value, serde_json::from_str::<Value>(text).unwrap());
        assert!(object.twice.is_empty());
    }
}
