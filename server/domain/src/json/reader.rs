//! Reads a value into a type, and knows the way to where it cannot.

use super::misfit::Misfit;
use serde::de::value::StrDeserializer;
use serde::de::{
    DeserializeSeed, Deserializer, EnumAccess, Error, IntoDeserializer, MapAccess, SeqAccess,
    Unexpected, VariantAccess, Visitor,
};
use serde::forward_to_deserialize_any;
use serde_json::{Map, Value};

pub(super) struct Reader<'v>(pub(super) &'v Value);

/// What stands in a value, for the words of an error.
fn stands(value: &Value) -> Unexpected<'_> {
    match value {
        Value::Null => Unexpected::Unit,
        Value::Bool(value) => Unexpected::Bool(*value),
        Value::Number(number) => number.as_i64().map_or_else(
            || Unexpected::Float(number.as_f64().unwrap_or_default()),
            Unexpected::Signed,
        ),
        Value::String(text) => Unexpected::Str(text),
        Value::Array(_) => Unexpected::Seq,
        Value::Object(_) => Unexpected::Map,
    }
}

impl<'de, 'v: 'de> Deserializer<'de> for Reader<'v> {
    type Error = Misfit;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misfit> {
        match self.0 {
            Value::Null => visitor.visit_unit(),
            Value::Bool(value) => visitor.visit_bool(*value),
            Value::Number(number) => match (number.as_u64(), number.as_i64(), number.as_f64()) {
                (Some(value), _, _) => visitor.visit_u64(value),
                (_, Some(value), _) => visitor.visit_i64(value),
                (_, _, value) => visitor.visit_f64(value.unwrap_or_default()),
            },
            Value::String(text) => visitor.visit_borrowed_str(text),
            Value::Array(items) => visitor.visit_seq(Items {
                items: items.iter(),
                at: 0,
            }),
            Value::Object(fields) => visitor.visit_map(Fields::of(fields)),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misfit> {
        match self.0 {
            Value::Null => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Misfit> {
        visitor.visit_newtype_struct(self)
    }

    /// Fields have names: a list of as many values is none.
    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        _fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Misfit> {
        match self.0 {
            Value::Object(fields) => visitor.visit_map(Fields::of(fields)),
            other => Err(Misfit::invalid_type(stands(other), &"a map")),
        }
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _name: &'static str,
        kinds: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Misfit> {
        let (name, inner) = match self.0 {
            Value::String(name) => (name, None),
            Value::Object(fields) => match fields.iter().next() {
                Some((name, inner)) if fields.len() == 1 => (name, Some(inner)),
                _ => {
                    let wanted = "an object with one field, the name of a kind";
                    return Err(Misfit::invalid_length(fields.len(), &wanted));
                }
            },
            other => {
                let wanted = format!("one of {}", kinds.join(", "));
                return Err(Misfit::invalid_type(stands(other), &wanted.as_str()));
            }
        };
        let known = inner.is_some() && kinds.contains(&name.as_str());
        let read = visitor.visit_enum(Kind { name, inner });
        read.map_err(|wrong| if known { wrong.within(name) } else { wrong })
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 u8 u16 u32 u64 f32 f64 char str string bytes byte_buf unit unit_struct
        seq tuple tuple_struct map identifier ignored_any
    }
}

struct Items<'v> {
    items: std::slice::Iter<'v, Value>,
    at: usize,
}

impl<'de, 'v: 'de> SeqAccess<'de> for Items<'v> {
    type Error = Misfit;

    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, Misfit> {
        let Some(item) = self.items.next() else {
            return Ok(None);
        };
        let at = self.at;
        self.at += 1;
        let read = seed.deserialize(Reader(item));
        read.map(Some)
            .map_err(|wrong| wrong.within(&format!("#{}", at + 1)))
    }
}

struct Fields<'v> {
    fields: serde_json::map::Iter<'v>,
    next: Option<(&'v str, &'v Value)>,
}

impl<'v> Fields<'v> {
    fn of(fields: &'v Map<String, Value>) -> Self {
        Self {
            fields: fields.iter(),
            next: None,
        }
    }
}

impl<'de, 'v: 'de> MapAccess<'de> for Fields<'v> {
    type Error = Misfit;

    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, Misfit> {
        let next = self.fields.next();
        self.next = next.map(|(name, value)| (name.as_str(), value));
        let name = self.next.map(|(name, _)| StrDeserializer::new(name));
        name.map(|name| seed.deserialize(name)).transpose()
    }

    fn next_value_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<T::Value, Misfit> {
        let (name, value) = self.next.take().unwrap_or(("", &Value::Null));
        let read = seed.deserialize(Reader(value));
        read.map_err(|wrong| wrong.within(name))
    }
}

struct Kind<'v> {
    name: &'v str,
    inner: Option<&'v Value>,
}

impl<'de, 'v: 'de> EnumAccess<'de> for Kind<'v> {
    type Error = Misfit;
    type Variant = Inner<'v>;

    fn variant_seed<T: DeserializeSeed<'de>>(
        self,
        seed: T,
    ) -> Result<(T::Value, Inner<'v>), Misfit> {
        let name: StrDeserializer<'v, Misfit> = self.name.into_deserializer();
        Ok((seed.deserialize(name)?, Inner(self.inner)))
    }
}

struct Inner<'v>(Option<&'v Value>);

impl<'v> Inner<'v> {
    fn reader(&self) -> Result<Reader<'v>, Misfit> {
        let inner = self.0.map(Reader);
        inner.ok_or_else(|| {
            Misfit::custom("its name stands alone; expected an object with that as its one field")
        })
    }
}

impl<'de, 'v: 'de> VariantAccess<'de> for Inner<'v> {
    type Error = Misfit;

    fn unit_variant(self) -> Result<(), Misfit> {
        match self.0 {
            None | Some(Value::Null) => Ok(()),
            Some(inner) => Err(Misfit::invalid_type(stands(inner), &"the name alone")),
        }
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, Misfit> {
        seed.deserialize(self.reader()?)
    }

    fn tuple_variant<V: Visitor<'de>>(
        self,
        _length: usize,
        visitor: V,
    ) -> Result<V::Value, Misfit> {
        self.reader()?.deserialize_any(visitor)
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Misfit> {
        self.reader()?.deserialize_struct("", fields, visitor)
    }
}
