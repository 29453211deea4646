//! A value in which no object has a field twice: of two of one name one would be lost.

use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};
use std::fmt;

pub(super) struct Once(pub(super) Value);

/// What is wrong with a value that is JSON.
pub(super) fn told(error: &serde_json::Error) -> String {
    let place = format!(" at line {} column {}", error.line(), error.column());
    let what = error.to_string();
    what.strip_suffix(&place).unwrap_or(&what).to_owned()
}

impl<'de> Deserialize<'de> for Once {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Any).map(Self)
    }
}

struct Any;

impl<'de> Visitor<'de> for Any {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Value, E> {
        let number = Number::from_f64(value);
        number
            .map(Value::Number)
            .ok_or_else(|| E::custom("this number is too large"))
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut values = Vec::new();
        while let Some(Once(value)) = items.next_element()? {
            values.push(value);
        }
        Ok(Value::Array(values))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> Result<Value, A::Error> {
        let mut values = Map::new();
        while let Some(name) = fields.next_key::<String>()? {
            if values.contains_key(&name) {
                let why = format!("the field {name} stands twice in one object; expected it once");
                return Err(A::Error::custom(why));
            }
            let Once(value) = fields.next_value()?;
            values.insert(name, value);
        }
        Ok(Value::Object(values))
    }
}
