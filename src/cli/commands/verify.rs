//! `verify`: whether records are as they were signed, and by whom.

use crate::cli::arguments;
use crate::cli::commands::how;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::clean::look_alike::spelled_out;
use crate::model::words;
use crate::report::entry::{Tone, sign_off_text};
use crate::report::json;
use crate::report::table::{harmless, table, wrapped};
use crate::shop::examine::{Examination, Judged, State};
use crate::shop::settings::Settings;
use crate::shop::verify::{Looker, targets};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Version of the JSON that `--json` prints.
const FORMAT: u32 = 1;

/// Checks records.
pub fn verify(
    settings: &Settings,
    shop_given: bool,
    arguments: &arguments::Verify,
    output: &mut Output,
) -> Result<Exit, CliError> {
    let targets = targets(settings, &arguments.given)?;
    let looker = Looker::new(settings, shop_given);
    let passes = |state: State| match state {
        State::Good => true,
        State::OwnList => arguments.own_list,
        State::Unsigned => arguments.allow_unsigned,
        State::Bad | State::Newer => false,
    };
    // What a newer program wrote may be as good as any: that is for a newer program to say.
    let comes_to = |states: &[State]| {
        let found = |wanted: State| states.contains(&wanted) && !passes(wanted);
        match () {
            () if found(State::Bad) => Exit::Bad,
            () if found(State::Newer) => Exit::Input,
            () if found(State::Unsigned) => Exit::Bad,
            () if found(State::OwnList) => Exit::OwnList,
            () => Exit::Done,
        }
    };
    if arguments.how {
        let mut states = Vec::new();
        for target in &targets {
            let found = looker.look(target)?;
            how::how(&found, target.unpacked.is_none().then_some(target.path.as_path()), output)?;
            states.push(found.state());
        }
        return Ok(comes_to(&states));
    }
    let records = looker.look_at_all(&targets, |found| Checked::of(&found))?;
    if arguments.json {
        let all = Report { format: FORMAT, records: &records };
        output.text(json::pretty(&all).map_err(|error| CliError::Files(error.to_string()))?.as_str());
    } else {
        print(&records, settings.shop.root.is_some().then_some(settings.shop.shop.name.as_str()), output);
    }
    Ok(comes_to(&records.iter().map(|record| record.state).collect::<Vec<_>>()))
}

/// What `--json` prints.
#[derive(Serialize)]
struct Report<'a> {
    format: u32,
    records: &'a [Checked],
}

/// A record in the report.
#[derive(Serialize)]
struct Checked {
    record: String,
    #[serde(serialize_with = "state_word")]
    state: State,
    sign_offs: Vec<CheckedSignOff>,
    wrong: Vec<Finding>,
    unsigned: Vec<String>,
    unsigned_lines: usize,
    remarks: Vec<String>,
    /// Whether the keys were compared with the list of the shop that this is.
    keys_compared: bool,
    /// Findings about who signed: as written, and without the line, so that many records say the same once.
    #[serde(skip)]
    refusals: Vec<(String, String)>,
    judged_again: JudgedAgain,
}

#[derive(Serialize)]
struct CheckedSignOff {
    line: usize,
    bytes: usize,
    at: String,
    name: String,
    role: String,
    meaning: String,
    unfinished: bool,
    fingerprint: String,
    holds: bool,
    /// The shop whose list of people the record brought.
    list: Option<String>,
    #[serde(skip)]
    text: String,
}

#[derive(Serialize)]
struct Finding {
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<usize>,
    text: String,
}

#[derive(Serialize)]
#[serde(tag = "result", rename_all = "snake_case")]
enum JudgedAgain {
    Same { verdicts: usize, cautions: usize, concluded: bool },
    Differs { line: usize, recorded: String, now: String },
    NotPossible,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn state_word<S: serde::Serializer>(state: &State, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(match state {
        State::Good => "good",
        State::OwnList => "own_list",
        State::Unsigned => "unsigned",
        State::Newer => "newer",
        State::Bad => "bad",
    })
}

impl Checked {
    fn of(found: &Examination) -> Self {
        let mut wrong: Vec<_> = found
            .chain
            .problems
            .iter()
            .map(|problem| Finding { line: Some(problem.line()), text: problem.to_string() })
            .collect();
        wrong.extend(found.wrong.iter().map(|text| Finding { line: None, text: text.clone() }));
        let list = |index: usize| found.lists.get(index).and_then(|list| list.shop.clone());
        let sign_offs = found.chain.sign_offs.iter().enumerate().map(|(index, sign_off)| {
            let statement = &sign_off.statement;
            CheckedSignOff {
                line: sign_off.line,
                bytes: sign_off.covers,
                at: sign_off.at.to_string(),
                name: statement.name.clone(),
                role: statement.role.clone(),
                meaning: statement.meaning.to_string(),
                unfinished: statement.unfinished,
                fingerprint: sign_off.fingerprint.clone(),
                holds: sign_off.holds.is_ok(),
                list: list(index),
                text: sign_off_text(statement, &sign_off.at),
            }
        });
        let refusals = found.chain.sign_offs.iter().zip(&found.refused).filter_map(|(sign_off, refused)| {
            let without = format!("the sign-off of {}: {}", sign_off.statement.name, refused.as_ref()?);
            Some((format!("line {}, {without}", sign_off.line), without))
        });
        let refusals = refusals.collect();
        let mut remarks = found.remarks.clone();
        let keys_compared = found.in_a_shop && found.is_compared();
        if found.in_a_shop && !keys_compared {
            remarks.push(format!(
                "checked by the list of people that it brought itself, {}: keys not compared with this shop",
                of_shops(found.lists.iter().filter(|list| !list.compared).map(|list| list.shop.as_deref()))
            ));
        }
        Self {
            record: found.name.clone(),
            state: found.state(),
            sign_offs: sign_offs.collect(),
            wrong: at_most(wrong, |more| Finding { line: None, text: more }),
            unsigned: at_most(found.unsigned.clone(), |more| more),
            unsigned_lines: found.chain.unsigned.len(),
            remarks: at_most(remarks, |more| more),
            keys_compared,
            refusals,
            judged_again: match &found.judged {
                Judged::Same(same) => {
                    JudgedAgain::Same { verdicts: same.verdicts, cautions: same.cautions, concluded: same.concluded }
                }
                Judged::Differs(difference) => JudgedAgain::Differs {
                    line: difference.line,
                    recorded: difference.recorded.clone(),
                    now: difference.now.clone(),
                },
                Judged::Not => JudgedAgain::NotPossible,
            },
        }
    }

    fn row(&self) -> Vec<String> {
        let signed: Vec<_> = self
            .sign_offs
            .iter()
            .map(|sign_off| {
                let does_not = if sign_off.holds { "" } else { ": does NOT hold" };
                let key = if !self.keys_compared { format!("\n{}", sign_off.fingerprint) } else { String::new() };
                format!("{}{does_not}{key}", sign_off.text)
            })
            .collect();
        let judged = match &self.judged_again {
            JudgedAgain::Same { verdicts, concluded, .. } => {
                let cause = if *concluded { ", same cause" } else { "" };
                format!("same {}{cause}, same cautions", words::count(*verdicts, "verdict", "verdicts"))
            }
            JudgedAgain::Differs { line, .. } => format!("DIFFERS at line {line}"),
            JudgedAgain::NotPossible => "not possible".to_owned(),
        };
        vec![Clean::name(&self.record).into(), state_text(self.state).to_owned(), signed.join("\n"), judged]
    }
}

/// So many findings of one kind are listed of a record.
const LISTED: usize = 50;

/// The first of a list, and how many more there are.
fn at_most<T>(mut list: Vec<T>, more: impl Fn(String) -> T) -> Vec<T> {
    if list.len() > LISTED {
        let left = list.len() - LISTED;
        list.truncate(LISTED);
        list.push(more(format!("and {left} more")));
    }
    list
}

/// Whose lists they are, each once.
fn of_shops<'a>(lists: impl Iterator<Item = Option<&'a str>>) -> String {
    let mut names: Vec<String> = Vec::new();
    for list in lists {
        let name = match list {
            Some("") => "a shop without a name".to_owned(),
            Some(name) => spelled(name),
            None => "one that can't be read".to_owned(),
        };
        if !names.contains(&name) && names.len() < LISTED {
            names.push(name);
        }
    }
    format!("of {}", words::all(&names))
}

/// A shop's name, in which nothing is hidden: its end and what takes no room can be seen.
fn spelled(name: &str) -> String {
    let is_seen = |c: char| c.is_alphanumeric() || c == ' ' || c.is_ascii_graphic();
    match name.trim() == name && name.chars().all(is_seen) {
        true => format!("`{name}`"),
        false => format!("`{}`", spelled_out(name)),
    }
}

fn state_text(state: State) -> &'static str {
    match state {
        State::Good => "good",
        State::OwnList => "good by its own list",
        State::Unsigned => "not signed",
        State::Newer => "not judged: newer",
        State::Bad => "BAD",
    }
}

fn print(records: &[Checked], shop: Option<&str>, output: &mut Output) {
    let width = output.width();
    let rows: Vec<_> = records.iter().map(Checked::row).collect();
    output.line(&table(width, &["record", "state", "signed off", "judged again"], &rows, &[]));
    let mut refused: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
    for (number, record) in records.iter().enumerate() {
        for (_, without) in &record.refusals {
            refused.entry(without).or_default().insert(number);
        }
    }
    for (number, record) in records.iter().enumerate() {
        let found = record.wrong.iter().map(|finding| (Tone::Bad, &finding.text));
        let found = found.chain(record.unsigned.iter().chain(&record.remarks).map(|text| (Tone::Doubtful, text)));
        for (tone, text) in found {
            let without = record.refusals.iter().find(|(known, _)| known == text).map(|(_, without)| without.as_str());
            let others = without.and_then(|without| refused.get(without)).filter(|others| others.len() > 1);
            // What many records say alike is said once, with the first of them.
            if others.is_some_and(|others| others.first() != Some(&number)) {
                continue;
            }
            let more = others.map_or(0, |others| others.len() - 1);
            let more = match more {
                0 => String::new(),
                more => format!(" (the same in {})", words::count(more, "more record", "more records")),
            };
            let of = if records.len() > 1 { format!("{}: ", Clean::name(&record.record)) } else { String::new() };
            output.toned(tone, &wrapped(&harmless(&format!("{of}{text}{more}")), width, "", "  "));
        }
    }
    let count = |state: State| records.iter().filter(|record| record.state == state).count();
    let (unsigned, bad, newer) = (count(State::Unsigned), count(State::Bad), count(State::Newer));
    let all = words::count(records.len(), "record", "records");
    let own_list = count(State::OwnList);
    let (tone, summary) = if bad + unsigned + newer + own_list == 0 {
        (Tone::Good, format!("{all}: good."))
    } else {
        let tone = if bad > 0 { Tone::Bad } else { Tone::Doubtful };
        let newer = if newer > 0 { format!(", {newer} by a newer ohmwright") } else { String::new() };
        let own_list = if own_list > 0 { format!(", {own_list} good by their own list") } else { String::new() };
        (tone, format!("{all}: {} good{own_list}, {unsigned} not signed, {bad} bad{newer}.", count(State::Good)))
    };
    output.toned(tone, &summary);
    let signed =
        |compared: bool| records.iter().any(|record| !record.sign_offs.is_empty() && record.keys_compared == compared);
    if signed(true) {
        output.line(&wrapped(
            &match shop {
                Some(name) if !name.is_empty() => format!("Keys were compared with the list of {}.", Clean::name(name)),
                _ => "Keys were compared with the shop's list.".to_owned(),
            },
            width,
            "",
            "",
        ));
    }
    if signed(false) {
        let keys = match shop {
            None => {
                let brought = records.iter().flat_map(|record| &record.sign_offs).map(|signed| signed.list.as_deref());
                format!(
                    "There is no shop here: keys are those of the record's own copy of the shop's list, {}. Compare the fingerprints with what the shop tells you.",
                    of_shops(brought)
                )
            }
            Some(_) => "Keys with a fingerprint are those of a record's own copy of another shop's list. Compare them with what that shop tells you; --shop FOLDER compares them with the list in that folder.".to_owned(),
        };
        output.line(&wrapped(&harmless(&keys), width, "", ""));
    }
}
