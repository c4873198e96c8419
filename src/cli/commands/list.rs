//! `list`: the procedures, a line each, and the runs that can be resumed; of one procedure everything that is known.

use crate::cli::arguments;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::proof::kept::Standing;
use crate::records::numbers;
use crate::report::record::called;
use crate::report::table::{harmless, wrapped};
use crate::script::diagnose::Source;
use crate::script::header::{self, Header};
use crate::shop::builtin;
use crate::shop::proofs;
use crate::shop::resume::RECENT;
use crate::shop::settings::Settings;
use textwrap::core::display_width;

/// How many runs that can be taken up again are shown.
const OPEN_RUNS: usize = 5;
/// Less of a title than this says nothing, in columns.
const LEAST_OF_A_TITLE: usize = 8;

/// A procedure as the list has it.
struct Row {
    name: String,
    title: String,
    minutes: String,
    proof: &'static str,
}

/// Lists the procedures, or says more of one.
pub fn list(settings: &Settings, arguments: &arguments::List, output: &mut Output) -> Result<Exit, CliError> {
    if let Some(procedure) = &arguments.procedure {
        return one(settings, procedure, output);
    }
    let own = settings.shop.names("procedures", "rhai");
    let mut names = own.clone();
    names.extend(builtin::procedure_names().into_iter().filter(|name| !own.contains(name)));
    names.sort();
    let mut rows = Vec::new();
    let mut problems = Vec::new();
    for name in names {
        let (_, source) = settings.shop.procedure(&name)?;
        match header::parse(&source.file, &source.text) {
            Ok(header) => rows.push(Row {
                minutes: header.minutes.map(|minutes| format!("{minutes} min")).unwrap_or_default(),
                title: harmless(&header.title),
                proof: proof(settings, &name, (&source, &header), output),
                name: Clean::name(&name).into(),
            }),
            Err(diagnostic) => problems.push(*diagnostic),
        }
    }
    for line in lines(&rows, output.width()) {
        output.line(&line);
    }
    let more = "More of one: ohmwright list NAME.";
    let proven = match rows.iter().any(|row| !row.proof.is_empty()) {
        true => " \u{201c}Proven\u{201d} means on the simulated circuit that the procedure names, and nothing more.",
        false => "",
    };
    output.line(&wrapped(&format!("{more}{proven}"), output.width(), "", "  "));
    let mut circuits = settings.shop.names("circuits", "toml");
    circuits.extend(builtin::circuit_names());
    circuits.sort();
    circuits.dedup();
    let words = format!("Simulated circuits, for --simulate and `ohmwright circuit`: {}.", circuits.join(", "));
    output.line(&wrapped(&harmless(&words), output.width(), "", "  "));
    let open = settings.store.open_runs(RECENT)?;
    if !open.is_empty() {
        output.line("Runs to resume with `ohmwright resume NUMBER`:");
        let shown = &open[..open.len().min(OPEN_RUNS)];
        // A record of an older program gets its number here; where the folder can't be written it is called by its name.
        let records: Vec<&str> = shown.iter().map(|(record, _)| record.as_str()).collect();
        let numbers = numbers::give(settings.store.folder(), &records).unwrap_or_else(|_| vec![None; records.len()]);
        for ((record, summary), number) in shown.iter().zip(numbers) {
            let held = if settings.store.is_held(record) { " (open in another window)" } else { "" };
            let vehicle =
                summary.vehicle.as_ref().map(|vehicle| format!("{}: ", Clean::name(vehicle))).unwrap_or_default();
            let simulated = if summary.simulated { "SIMULATED " } else { "" };
            let words = format!("{}: {simulated}{vehicle}{}{held}", called(number, record), summary.title);
            output.line(&wrapped(&harmless(&words), output.width(), "  ", "    "));
        }
        if open.len() > OPEN_RUNS {
            output.line(&format!("  … and {} more", open.len() - OPEN_RUNS));
        }
    }
    if problems.is_empty() { Ok(Exit::Done) } else { Err(CliError::Input(problems)) }
}

/// The result of a procedure's kept proofs in a word; empty without one.
fn proof(settings: &Settings, name: &str, (source, header): (&Source, &Header), output: &mut Output) -> &'static str {
    let known = proofs::of_file(settings, name, source, header);
    if let Some(problem) = known.problem {
        output.note(&wrapped(&harmless(&format!("note: {problem}")), output.width(), "", "  "));
    }
    match known.standing {
        Standing::NotProven => "",
        Standing::Proven(_) => "proven",
        Standing::Changed(_) => "changed",
        Standing::Fails(_) => "fails",
    }
}

/// One line a procedure: name, title, minutes, what its proof came to. What does not fit of a title is cut.
fn lines(rows: &[Row], width: usize) -> Vec<String> {
    let longest = |cell: fn(&Row) -> &str| rows.iter().map(|row| display_width(cell(row))).max().unwrap_or(0);
    let (name, minutes, proof) = (longest(|row| &row.name), longest(|row| &row.minutes), longest(|row| row.proof));
    // A space before each column that has anything in it.
    let right = [minutes, proof].iter().filter(|column| **column > 0).map(|column| column + 1).sum::<usize>();
    let title = width.saturating_sub(name + 2 + right).min(longest(|row| &row.title));
    let line = |row: &Row| {
        let mut line = padded(&row.name, name);
        if title >= LEAST_OF_A_TITLE {
            line.push_str("  ");
            line.push_str(&padded(&cut(&row.title, title), title));
        }
        if minutes > 0 {
            line.push(' ');
            line.push_str(&" ".repeat(minutes.saturating_sub(display_width(&row.minutes))));
            line.push_str(&row.minutes);
        }
        if proof > 0 {
            line.push(' ');
            line.push_str(row.proof);
        }
        line.trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}

fn padded(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(display_width(text))))
}

/// As much of a text as fits, with a mark where something is missing.
fn cut(text: &str, width: usize) -> String {
    if display_width(text) <= width {
        return text.to_owned();
    }
    let mut kept = String::new();
    for c in text.chars() {
        if display_width(&kept) + display_width(c.encode_utf8(&mut [0; 4])) + 1 > width {
            break;
        }
        kept.push(c);
    }
    format!("{}\u{2026}", kept.trim_end())
}

/// Everything that is known of one procedure before it is run.
fn one(settings: &Settings, procedure: &str, output: &mut Output) -> Result<Exit, CliError> {
    let (name, source) = settings.shop.procedure(procedure)?;
    let header = header::parse(&source.file, &source.text).map_err(|diagnostic| CliError::input(*diagnostic))?;
    let known = proofs::of_file(settings, &name, &source, &header);
    let own = settings.shop.names("procedures", "rhai").contains(&name);
    let plain_name = Clean::name(&name).to_string();
    let facts: [(&str, Option<String>); 8] = [
        ("title", Some(format!("{} (revision {})", header.title, header.revision))),
        ("minutes", header.minutes.map(|minutes| minutes.to_string())),
        ("needs", (!header.tools.is_empty()).then(|| header.tools.join("; "))),
        ("circuit", header.circuit.clone()),
        ("causes", Some(header.causes.len().to_string())),
        ("from", Some(if own { "the shop's folder" } else { "the program" }.to_owned())),
        ("proof", Some(known.standing.in_few_words())),
        ("run it", Some(format!("ohmwright run {plain_name}"))),
    ];
    output.bold(&plain_name);
    for (label, value) in facts {
        if let Some(value) = value {
            output.line(&wrapped(&harmless(&value), output.width(), &format!("{label:<9}"), "         "));
        }
    }
    if let Some(problem) = known.problem {
        output.note(&wrapped(&harmless(&format!("note: {problem}")), output.width(), "", "  "));
    }
    if let Some(words) = known.standing.in_words(&plain_name) {
        output.line(&wrapped(&harmless(&words), output.width(), "", "  "));
    }
    Ok(Exit::Done)
}
