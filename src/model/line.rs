//! How a line of a journal is read: its time, its kind, and then straight into the fields of that kind.

use super::event::{Entry, EventOfKind};
use serde::de::value::MapAccessDeserializer;
use serde::de::{
    Deserialize, DeserializeSeed, Deserializer, EnumAccess, Error as _, IgnoredAny, IntoDeserializer, MapAccess,
    VariantAccess, Visitor,
};
use std::fmt;

/// Every line begins with its time and its kind: what follows is read straight into that kind.
impl<'de> Deserialize<'de> for Entry {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Line;
        impl<'de> Visitor<'de> for Line {
            type Value = Entry;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(WANTED)
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Entry, A::Error> {
                let at = field(&mut map, "at")?;
                let (reply, kind) = match map.next_key::<String>()?.as_deref() {
                    Some("reply") => (Some(map.next_value()?), field(&mut map, "event")?),
                    Some("event") => (None, map.next_value()?),
                    _ => return Err(A::Error::custom(format_args!("this is not {WANTED}"))),
                };
                Ok(Entry { at, reply, event: EventOfKind::deserialize(Rest { kind, map })? })
            }
        }
        deserializer.deserialize_map(Line)
    }
}

const WANTED: &str = "an entry that begins with its `at` and its `event`";

/// The field of a line that must come next.
fn field<'de, T: Deserialize<'de>, A: MapAccess<'de>>(map: &mut A, name: &str) -> Result<T, A::Error> {
    match map.next_key::<String>()? {
        Some(key) if key == name => map.next_value(),
        _ => Err(A::Error::custom(format_args!("this is not {WANTED}"))),
    }
}

/// The rest of a line whose kind is known.
struct Rest<A> {
    kind: String,
    map: A,
}

impl<'de, A: MapAccess<'de>> Deserializer<'de> for Rest<A> {
    type Error = A::Error;
    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, A::Error> {
        visitor.visit_enum(self)
    }
    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit unit_struct
        newtype_struct seq tuple tuple_struct map struct enum identifier ignored_any
    }
}

impl<'de, A: MapAccess<'de>> EnumAccess<'de> for Rest<A> {
    type Error = A::Error;
    type Variant = Fields<A>;
    fn variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<(S::Value, Fields<A>), A::Error> {
        let kind = seed.deserialize(self.kind.as_str().into_deserializer())?;
        Ok((kind, Fields(self.map)))
    }
}

/// The fields of an event.
struct Fields<A>(A);

impl<'de, A: MapAccess<'de>> VariantAccess<'de> for Fields<A> {
    type Error = A::Error;
    fn unit_variant(mut self) -> Result<(), A::Error> {
        while self.0.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(())
    }
    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, A::Error> {
        seed.deserialize(MapAccessDeserializer::new(self.0))
    }
    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, A::Error> {
        visitor.visit_map(self.0)
    }
    fn struct_variant<V: Visitor<'de>>(self, _: &'static [&'static str], visitor: V) -> Result<V::Value, A::Error> {
        visitor.visit_map(self.0)
    }
}
