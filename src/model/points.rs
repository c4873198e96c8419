//! The names that a circuit gives to places on a vehicle.

use super::prompt::LeadEnd;
use super::words;
use std::collections::{BTreeMap, BTreeSet};

/// Roles, points, connectors and moving parts by name.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Points {
    /// Roles and points, each with where the lead goes.
    pub ends: BTreeMap<String, LeadEnd>,
    /// Connectors that can be taken apart.
    pub connectors: BTreeSet<String>,
    /// Fuses, wires, switches and the like that an ammeter can stand in place of.
    pub in_line: BTreeSet<String>,
    /// Fuses, relays and the like that can be taken out.
    pub parts: BTreeSet<String>,
    /// What can be held, turned or switched, each in words.
    pub movable: BTreeMap<String, String>,
    /// Where connectors are on the vehicle, as far as it is said.
    pub places: BTreeMap<String, String>,
    /// Signals that the module reports.
    pub signals: BTreeSet<String>,
}

/// A name that the circuit does not have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the circuit has no {kind} `{name}`{}", words::did_you_mean(nearest.as_deref()))]
pub struct UnknownName {
    /// `role or point`, `connector` …
    pub kind: &'static str,
    /// What was written.
    pub name: String,
    /// The one that looks like it.
    pub nearest: Option<String>,
}

impl Points {
    /// Where a lead goes: by role, by point, or, where there is no circuit, in plain words.
    ///
    /// # Errors
    /// A name that the circuit does not have.
    pub fn end(points: Option<&Self>, name: &str) -> Result<LeadEnd, UnknownName> {
        let Some(points) = points else { return Ok(LeadEnd { name: name.into(), ..LeadEnd::default() }) };
        points.ends.get(name).cloned().ok_or_else(|| UnknownName {
            kind: "role or point",
            name: name.to_owned(),
            nearest: words::nearest(name, points.ends.keys().map(String::as_str)),
        })
    }

    /// Where the circuit is opened for an ammeter: a role, a point, or a part that the ammeter stands in place of.
    ///
    /// # Errors
    /// A name that the circuit does not have.
    pub fn in_line(points: Option<&Self>, name: &str) -> Result<LeadEnd, UnknownName> {
        match points {
            Some(points) if points.in_line.contains(name) && !points.ends.contains_key(name) => {
                Ok(LeadEnd { name: name.into(), ..LeadEnd::default() })
            }
            _ => Self::end(points, name),
        }
    }

    /// Whether one of `names` is called so; anything goes where there is no circuit, or where it lists none.
    ///
    /// # Errors
    /// A name that the circuit does not have.
    pub fn known<'a>(
        names: Option<impl IntoIterator<Item = &'a String>>,
        kind: &'static str,
        name: &str,
    ) -> Result<(), UnknownName> {
        let names: Vec<&str> = names.into_iter().flatten().map(String::as_str).collect();
        if names.is_empty() || names.contains(&name) {
            return Ok(());
        }
        Err(UnknownName { kind, name: name.to_owned(), nearest: words::nearest(name, names) })
    }
}
