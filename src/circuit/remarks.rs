//! What can be read in a circuit file and is probably not enough, each with what to do. No remark is an error.

use super::netlist::Circuit;
use super::nets::Wiring;
use std::ops::Range;

/// Ohms across a battery below which it is no load any more: a starter takes no more current (common practice, no source).
const NO_LOAD: f64 = 0.02;

/// One remark.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Remark {
    /// The fault, cause, look or part concerned: "fault `fuse_open`".
    pub place: Option<String>,
    /// The finding.
    pub what: String,
    /// What to do.
    pub advice: &'static str,
    /// Bytes of the text that it concerns, where they are known.
    pub span: Option<Range<usize>>,
}

impl std::fmt::Display for Remark {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "{place}: ")?;
        }
        write!(f, "{}: {}", self.what, self.advice)
    }
}

impl Circuit {
    /// What should be looked at in the file; empty where nothing was found.
    pub fn remarks(&self) -> Vec<Remark> {
        let mut remarks = Vec::new();
        self.remark_on_faults(&mut remarks);
        self.remark_on_causes(&mut remarks);
        self.remark_on_the_battery(&mut remarks);
        remarks
    }

    fn remark_on_faults(&self, remarks: &mut Vec<Remark>) {
        let of_file = |what: &str, advice| Remark { place: None, what: what.to_owned(), advice, span: None };
        if self.faults.is_empty() {
            remarks.push(of_file("the circuit has no faults", "list some, or a proof on it says nothing"));
            return;
        }
        let unshown = |fault: &&super::fault::Fault| self.shows_of(Some(fault)).is_none();
        if self.faults.iter().any(|fault| unshown(&fault)) && self.shows.is_none() {
            let what = "nothing says when a driver notices a fault";
            remarks.push(of_file(what, "add `shows`; until then every fault counts as noticed"));
        }
        for fault in self.faults.iter().filter(unshown).filter(|fault| fault.severity.is_some()) {
            remarks.push(Remark {
                place: Some(format!("fault `{}`", fault.id)),
                what: "its severity is a range, and nothing says when it shows".to_owned(),
                advice: "add `shows` to the circuit, or to the fault",
                span: Some(fault.span.clone()),
            });
        }
        for look in &self.looks {
            if !self.faults.iter().any(|fault| fault.sees.iter().any(|(seen, _)| *seen == look.id)) {
                remarks.push(Remark {
                    place: Some(format!("look `{}`", look.id)),
                    what: "no fault changes it".to_owned(),
                    advice: "add `sees` to a fault, or take the look out",
                    span: Some(look.span.clone()),
                });
            }
        }
    }

    fn remark_on_causes(&self, remarks: &mut Vec<Remark>) {
        for cause in self.causes.iter().filter(|cause| cause.declared) {
            let (what, advice) = match cause.covered.len() {
                // Such as "was not measured": its author says that it is about no part.
                0 if cause.says_covers() => continue,
                0 if self.faults.iter().any(|fault| cause.covers(fault)) => continue,
                0 => ("it covers no part", "say what it covers, or name it in a fault"),
                all if all == self.parts.len() => ("it covers every part", "say which parts it really is about"),
                _ => continue,
            };
            let (place, what) = (Some(format!("cause `{}`", cause.id)), what.to_owned());
            remarks.push(Remark { place, what, advice, span: Some(cause.span.clone()) });
        }
        for fault in self.faults.iter().filter(|fault| fault.causes.is_empty()) {
            remarks.push(Remark {
                place: Some(format!("fault `{}`", fault.id)),
                what: "no cause covers it".to_owned(),
                advice: "let a cause cover the faulty part, or name one in `cause`",
                span: Some(fault.span.clone()),
            });
        }
    }

    fn remark_on_the_battery(&self, remarks: &mut Vec<Remark>) {
        let wiring = Wiring { parts: &self.parts };
        let posts: Vec<_> = self.parts.iter().filter_map(|part| part.kind.posts()).collect();
        if !posts.is_empty() && !self.parts.iter().any(|part| part.kind.is_battery_clamp()) {
            remarks.push(Remark {
                place: None,
                what: "no part is a `negative_clamp`".to_owned(),
                advice: "add it between the battery's negative post and the frame, so that the battery can be disconnected",
                span: None,
            });
        }
        for (positive, negative) in posts {
            let (plus, minus) = (wiring.net(positive), wiring.net(negative));
            for part in &self.parts {
                let Some((from, to, ohms)) = part.kind.fixed_resistance() else { continue };
                let between =
                    plus.contains(&from) && minus.contains(&to) || plus.contains(&to) && minus.contains(&from);
                // Wires alone from post to post: only the one that lies straight across is to be named.
                let straight = !plus.contains(&negative) || part.ends_at(positive) && part.ends_at(negative);
                if between && straight && ohms.nominal < NO_LOAD {
                    remarks.push(Remark {
                        place: Some(format!("part `{}`", part.id)),
                        what: "so low a resistance lies straight across the battery".to_owned(),
                        advice: "look at its ends and its unit",
                        span: Some(part.span.clone()),
                    });
                }
            }
        }
    }
}
