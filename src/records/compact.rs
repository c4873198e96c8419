//! JSON without spaces, as the lines of a journal are: written, or held against a line that is there. It comes out byte for
//! byte as that of `serde_json`, which looks at every byte of a text by itself; most texts have nothing to escape.

use serde::ser::{
    Error, Serialize, SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant, SerializeTuple,
    SerializeTupleStruct, SerializeTupleVariant, Serializer,
};
use std::fmt::{self, Display, Write};

/// Why a value can't be written, or is not what is there.
#[derive(Debug, thiserror::Error)]
pub enum Problem {
    /// Something else is there.
    #[error("something else is written there")]
    Differs,
    /// It can't be written as JSON.
    #[error("{0}")]
    Unwritable(String),
}

impl Error for Problem {
    fn custom<T: Display>(words: T) -> Self {
        Self::Unwritable(words.to_string())
    }
}

/// Writes a value at the end of these bytes.
///
/// # Errors
/// It has no JSON; what was written of it stays.
pub fn write(bytes: &mut Vec<u8>, value: &impl Serialize) -> Result<(), Problem> {
    value.serialize(&mut Json { target: bytes, in_key: false })
}

/// Whether a value comes out as these bytes.
pub fn is_written_as(value: &impl Serialize, bytes: &[u8]) -> bool {
    let mut json = Json { target: Expected(bytes), in_key: false };
    value.serialize(&mut json).is_ok() && json.target.0.is_empty()
}

/// Where JSON goes.
trait Target {
    fn put(&mut self, bytes: &[u8]) -> Result<(), Problem>;
}

impl Target for &mut Vec<u8> {
    fn put(&mut self, bytes: &[u8]) -> Result<(), Problem> {
        self.extend_from_slice(bytes);
        Ok(())
    }
}

/// What must come next, to the end of a line.
struct Expected<'a>(&'a [u8]);

impl Target for Expected<'_> {
    fn put(&mut self, bytes: &[u8]) -> Result<(), Problem> {
        self.0 = self.0.strip_prefix(bytes).ok_or(Problem::Differs)?;
        Ok(())
    }
}

struct Json<T> {
    target: T,
    /// Whether a map's key is written, which has to be a text.
    in_key: bool,
}

impl<T: Target> Json<T> {
    fn text(&mut self, text: &str) -> Result<(), Problem> {
        self.target.put(b"\"")?;
        self.contents(text)?;
        self.target.put(b"\"")
    }

    /// A part of a text, without its quotation marks.
    fn contents(&mut self, text: &str) -> Result<(), Problem> {
        let is_escaped = |byte: u8| byte < b' ' || byte == b'"' || byte == b'\\';
        if !text.bytes().fold(false, |any, byte| any | is_escaped(byte)) {
            return self.target.put(text.as_bytes());
        }
        let escaped = serde_json::to_string(text).map_err(Problem::custom)?;
        self.target.put(&escaped.as_bytes()[1..escaped.len() - 1])
    }

    /// What is written as it is shown, without quotation marks.
    fn shown(&mut self, shown: impl Display) -> Result<(), Problem> {
        let mut parts = Parts { json: self, problem: Problem::Differs };
        write!(parts, "{shown}").map_err(|fmt::Error| parts.problem)
    }

    /// What is no text.
    fn bare(&mut self, bytes: &[u8]) -> Result<(), Problem> {
        if self.in_key {
            return Err(Problem::Unwritable("a map's key is no text".to_owned()));
        }
        self.target.put(bytes)
    }

    fn variant(&mut self, name: &str, opened: &[u8]) -> Result<(), Problem> {
        self.bare(b"{")?;
        self.text(name)?;
        self.target.put(b":")?;
        self.target.put(opened)
    }
}

/// Takes what is shown part by part.
struct Parts<'a, T> {
    json: &'a mut Json<T>,
    problem: Problem,
}

impl<T: Target> Write for Parts<'_, T> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.json.contents(text).map_err(|problem| {
            self.problem = problem;
            fmt::Error
        })
    }
}

macro_rules! as_shown {
    ($($method:ident $kind:ty,)*) => {$(
        fn $method(self, value: $kind) -> Result<(), Problem> {
            self.bare(b"")?;
            self.shown(value)
        }
    )*};
}

impl<'a, T: Target> Serializer for &'a mut Json<T> {
    type Ok = ();
    type Error = Problem;
    type SerializeSeq = Inside<'a, T>;
    type SerializeTuple = Inside<'a, T>;
    type SerializeTupleStruct = Inside<'a, T>;
    type SerializeTupleVariant = Inside<'a, T>;
    type SerializeMap = Inside<'a, T>;
    type SerializeStruct = Inside<'a, T>;
    type SerializeStructVariant = Inside<'a, T>;

    as_shown! {
        serialize_bool bool,
        serialize_i8 i8,
        serialize_i16 i16,
        serialize_i32 i32,
        serialize_i64 i64,
        serialize_i128 i128,
        serialize_u8 u8,
        serialize_u16 u16,
        serialize_u32 u32,
        serialize_u64 u64,
        serialize_u128 u128,
    }

    fn serialize_f32(self, value: f32) -> Result<(), Problem> {
        self.bare(&serde_json::to_vec(&value).map_err(Problem::custom)?)
    }
    fn serialize_f64(self, value: f64) -> Result<(), Problem> {
        self.bare(&serde_json::to_vec(&value).map_err(Problem::custom)?)
    }
    fn serialize_char(self, value: char) -> Result<(), Problem> {
        self.text(value.encode_utf8(&mut [0; 4]))
    }
    fn serialize_str(self, value: &str) -> Result<(), Problem> {
        self.text(value)
    }
    fn collect_str<V: Display + ?Sized>(self, value: &V) -> Result<(), Problem> {
        self.target.put(b"\"")?;
        self.shown(value)?;
        self.target.put(b"\"")
    }
    fn serialize_bytes(self, value: &[u8]) -> Result<(), Problem> {
        self.collect_seq(value)
    }
    fn serialize_none(self) -> Result<(), Problem> {
        self.bare(b"null")
    }
    fn serialize_some<V: Serialize + ?Sized>(self, value: &V) -> Result<(), Problem> {
        value.serialize(self)
    }
    fn serialize_unit(self) -> Result<(), Problem> {
        self.bare(b"null")
    }
    fn serialize_unit_struct(self, _: &'static str) -> Result<(), Problem> {
        self.bare(b"null")
    }
    fn serialize_unit_variant(self, _: &'static str, _: u32, variant: &'static str) -> Result<(), Problem> {
        self.text(variant)
    }
    fn serialize_newtype_struct<V: Serialize + ?Sized>(self, _: &'static str, value: &V) -> Result<(), Problem> {
        value.serialize(self)
    }
    fn serialize_newtype_variant<V: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &V,
    ) -> Result<(), Problem> {
        self.variant(variant, b"")?;
        value.serialize(&mut *self)?;
        self.target.put(b"}")
    }
    fn serialize_seq(self, _: Option<usize>) -> Result<Inside<'a, T>, Problem> {
        self.bare(b"[")?;
        Ok(Inside { json: self, is_first: true, closed: b"]" })
    }
    fn serialize_tuple(self, _: usize) -> Result<Inside<'a, T>, Problem> {
        self.serialize_seq(None)
    }
    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Inside<'a, T>, Problem> {
        self.serialize_seq(None)
    }
    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Inside<'a, T>, Problem> {
        self.variant(variant, b"[")?;
        Ok(Inside { json: self, is_first: true, closed: b"]}" })
    }
    fn serialize_map(self, _: Option<usize>) -> Result<Inside<'a, T>, Problem> {
        self.bare(b"{")?;
        Ok(Inside { json: self, is_first: true, closed: b"}" })
    }
    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Inside<'a, T>, Problem> {
        self.serialize_map(None)
    }
    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Inside<'a, T>, Problem> {
        self.variant(variant, b"{")?;
        Ok(Inside { json: self, is_first: true, closed: b"}}" })
    }
}

/// Within brackets.
struct Inside<'a, T> {
    json: &'a mut Json<T>,
    is_first: bool,
    closed: &'static [u8],
}

impl<T: Target> Inside<'_, T> {
    fn comma(&mut self) -> Result<(), Problem> {
        if std::mem::take(&mut self.is_first) { Ok(()) } else { self.json.target.put(b",") }
    }
    fn item<V: Serialize + ?Sized>(&mut self, value: &V) -> Result<(), Problem> {
        self.comma()?;
        value.serialize(&mut *self.json)
    }
    fn field<V: Serialize + ?Sized>(&mut self, name: &str, value: &V) -> Result<(), Problem> {
        self.comma()?;
        self.json.text(name)?;
        self.json.target.put(b":")?;
        value.serialize(&mut *self.json)
    }
    fn close(self) -> Result<(), Problem> {
        self.json.target.put(self.closed)
    }
}

impl<T: Target> SerializeMap for Inside<'_, T> {
    type Ok = ();
    type Error = Problem;
    fn serialize_key<K: Serialize + ?Sized>(&mut self, key: &K) -> Result<(), Problem> {
        self.comma()?;
        self.json.in_key = true;
        let written = key.serialize(&mut *self.json);
        self.json.in_key = false;
        written
    }
    fn serialize_value<V: Serialize + ?Sized>(&mut self, value: &V) -> Result<(), Problem> {
        self.json.target.put(b":")?;
        value.serialize(&mut *self.json)
    }
    fn end(self) -> Result<(), Problem> {
        self.close()
    }
}

macro_rules! items {
    ($($kind:ident $method:ident,)*) => {$(
        impl<T: Target> $kind for Inside<'_, T> {
            type Ok = ();
            type Error = Problem;
            fn $method<V: Serialize + ?Sized>(&mut self, value: &V) -> Result<(), Problem> {
                self.item(value)
            }
            fn end(self) -> Result<(), Problem> {
                self.close()
            }
        }
    )*};
}
items! {
    SerializeSeq serialize_element,
    SerializeTuple serialize_element,
    SerializeTupleStruct serialize_field,
    SerializeTupleVariant serialize_field,
}

macro_rules! fields {
    ($($kind:ident,)*) => {$(
        impl<T: Target> $kind for Inside<'_, T> {
            type Ok = ();
            type Error = Problem;
            fn serialize_field<V: Serialize + ?Sized>(&mut self, name: &'static str, value: &V) -> Result<(), Problem> {
                self.field(name, value)
            }
            fn end(self) -> Result<(), Problem> {
                self.close()
            }
        }
    )*};
}
fields! { SerializeStruct, SerializeStructVariant, }

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde_json::Value;
    use std::collections::BTreeMap;

    #[derive(Debug, serde::Serialize)]
    struct Nothing;

    #[derive(Debug, serde::Serialize)]
    enum Kind {
        Alone,
        One(u8),
        Two(u8, String),
        Named { a: Option<i64>, b: char },
    }

    #[derive(Debug, serde::Serialize)]
    #[serde(tag = "kind", rename_all = "snake_case")]
    enum Tagged {
        Empty,
        Held { inside: f64 },
    }

    #[derive(Debug, serde::Serialize)]
    struct All {
        kinds: Vec<Kind>,
        #[serde(flatten)]
        tagged: Tagged,
        nothing: Nothing,
        pair: (i8, u128),
        map: BTreeMap<String, Vec<bool>>,
        float: f32,
        value: Value,
    }

    fn value() -> impl Strategy<Value = Value> {
        let leaf = prop_oneof![
            Just(Value::Null),
            any::<bool>().prop_map(Value::from),
            any::<i64>().prop_map(Value::from),
            any::<u64>().prop_map(Value::from),
            any::<f64>().prop_map(Value::from),
            any::<String>().prop_map(Value::from),
            "[\\x00-\\x7f]{0,40}".prop_map(Value::from),
        ];
        leaf.prop_recursive(3, 24, 4, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
                prop::collection::btree_map(any::<String>(), inner, 0..4)
                    .prop_map(|map| Value::Object(map.into_iter().collect())),
            ]
        })
    }

    fn all() -> impl Strategy<Value = All> {
        let map = prop::collection::btree_map(any::<String>(), prop::collection::vec(any::<bool>(), 0..3), 0..3);
        (value(), any::<String>(), any::<(u8, i8, u128, char, f32, f64)>(), any::<Option<i64>>(), map).prop_map(
            |(value, text, (small, signed, large, letter, float, inside), whole, map)| All {
                kinds: vec![Kind::Alone, Kind::One(small), Kind::Two(small, text), Kind::Named { a: whole, b: letter }],
                tagged: if signed < 0 { Tagged::Empty } else { Tagged::Held { inside } },
                nothing: Nothing,
                pair: (signed, large),
                map,
                float,
                value,
            },
        )
    }

    proptest! {
        #[test]
        fn it_is_the_json_of_the_library_byte_for_byte(all in all(), at in any::<prop::sample::Index>(), other: u8) {
            let expected = serde_json::to_vec(&all).unwrap();
            let mut written = Vec::new();
            write(&mut written, &all).unwrap();
            prop_assert_eq!(String::from_utf8_lossy(&written), String::from_utf8_lossy(&expected));
            prop_assert!(is_written_as(&all, &expected));
            // Any other byte, one too few and one too many are found.
            let mut changed = expected.clone();
            let at = at.index(changed.len());
            changed[at] = other;
            prop_assert_eq!(is_written_as(&all, &changed), changed == expected);
            prop_assert!(!is_written_as(&all, &expected[..at]));
            changed.clone_from(&expected);
            changed.push(b' ');
            prop_assert!(!is_written_as(&all, &changed));
        }
    }

    #[test]
    fn a_key_that_is_no_text_is_refused() {
        let problem = write(&mut Vec::new(), &BTreeMap::from([(1, 2)])).unwrap_err();
        assert_eq!(problem.to_string(), "a map's key is no text");
    }
}
