//! The name of one reply: a screen draws it, so that a reply that is sent twice is taken once.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// 128 random bits, written as 32 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct ReplyId(u128);

/// A text that is no id of a reply.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error("the id of a reply has 32 digits from 0 to 9 and a to f")]
pub struct NoReplyId;

impl ReplyId {
    /// Of 128 bits that somebody outside drew.
    pub const fn new(bits: u128) -> Self {
        Self(bits)
    }
}

impl fmt::Display for ReplyId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

impl FromStr for ReplyId {
    type Err = NoReplyId;

    fn from_str(text: &str) -> Result<Self, NoReplyId> {
        let is_digit = |c: char| c.is_ascii_digit() || ('a'..='f').contains(&c);
        if text.len() != 32 || !text.chars().all(is_digit) {
            return Err(NoReplyId);
        }
        u128::from_str_radix(text, 16).map(Self).map_err(|_| NoReplyId)
    }
}

impl Serialize for ReplyId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for ReplyId {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        super::text::from_text(deserializer, Self::from_str)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_is_written_in_one_way_only() {
        let id = ReplyId::new(0xab);
        assert_eq!(id.to_string(), "000000000000000000000000000000ab");
        assert_eq!(id.to_string().parse(), Ok(id));
        for other in ["", "ab", "000000000000000000000000000000AB", "+00000000000000000000000000000ab"] {
            assert_eq!(other.parse::<ReplyId>(), Err(NoReplyId), "{other}");
        }
        assert!(serde_json::from_str::<ReplyId>("\"ab\"").is_err());
    }
}
