//! Names that no other computer makes: of records and of replies.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// A text that is no id.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an id is 32 hexadecimal digits in small letters")]
pub struct NoId;

/// 128 bits, written as 32 hexadecimal digits.
fn written(bits: u128, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    write!(f, "{bits:032x}")
}

fn read(text: &str) -> Result<u128, NoId> {
    let plain = text.len() == 32 && text.bytes().all(|byte| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte));
    if plain { u128::from_str_radix(text, 16).map_err(|_| NoId) } else { Err(NoId) }
}

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord, Hash)]
        pub struct $name(u128);

        impl $name {
            /// Of bits that somebody drew.
            pub const fn new(bits: u128) -> Self {
                Self(bits)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                written(self.0, f)
            }
        }

        impl FromStr for $name {
            type Err = NoId;
            fn from_str(text: &str) -> Result<Self, NoId> {
                read(text).map(Self)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                super::text::from_text(deserializer, str::parse)
            }
        }
    )*};
}

ids! {
    /// A record's own name, wherever its folder lies: 128 random bits.
    RecordId;
    /// A reply's own name, so that one that arrives twice counts once: 128 random bits.
    ReplyId;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_is_read_as_it_was_written_and_nothing_else_is_an_id() {
        let id = RecordId::new(0x00ab_0000_0000_0000_0000_0000_0000_0001);
        assert_eq!(id.to_string(), "00ab0000000000000000000000000001");
        assert_eq!(id.to_string().parse(), Ok(id));
        for text in ["", "1", "00AB0000000000000000000000000001", "+0ab0000000000000000000000000001"] {
            assert_eq!(text.parse::<RecordId>(), Err(NoId), "{text}");
        }
    }
}
