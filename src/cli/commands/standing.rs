//! What is said of a procedure before it is followed: what its proof came to, what in it is an example's, and what is remarked on.

use crate::circuit::meter::bench_meter;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::diagnostic::Diagnostic;
use crate::model::proof::kept::Standing;
use crate::model::proof::meter_comparison::{Compared, compare};
use crate::model::shop::Shop;
use crate::model::words;
use crate::report::entry::Tone;
use crate::report::example;
use crate::report::prompt_card::function_words;
use crate::report::table::{harmless, wrapped};
use crate::run::answerer::MeterInUse;
use crate::shop::loaded::Loaded;
use crate::shop::proofs;
use crate::shop::settings::Settings;

/// Says what the procedure's proof came to and what in it is an example's.
pub fn say(settings: &Settings, loaded: &Loaded, output: &mut Output) -> Standing {
    say_example(loaded, output);
    let known = proofs::of(settings, loaded);
    if let Some(problem) = known.problem {
        note(&problem, output);
    }
    if let Some(words) = known.standing.in_words(&Clean::name(&loaded.procedure.name).to_string()) {
        let tone = match known.standing {
            Standing::Proven(_) | Standing::NotProven => Tone::Plain,
            Standing::Changed(_) => Tone::Doubtful,
            Standing::Fails(_) => Tone::Bad,
        };
        output.toned(tone, &wrapped(&harmless(&words), output.width(), "", "  "));
    }
    known.standing
}

/// Says of a procedure whose circuit is an example that this vehicle is another.
pub fn say_example(loaded: &Loaded, output: &mut Output) {
    if loaded.is_example {
        let words = format!("{} {}", example::HEAD, example::SAYS);
        output.line(&wrapped(&words, output.width(), "", "  "));
    }
}

/// Whether a procedure is to be followed at a vehicle although its proof fails.
pub fn goes_on(standing: &Standing, input: &mut Input, output: &mut Output) -> bool {
    if !matches!(standing, Standing::Fails(_)) {
        return true;
    }
    output.line("  1  go on at the vehicle all the same");
    output.line("  2  stop here");
    loop {
        match input.line("number > ", output).as_deref().map(str::trim) {
            Some("1") => return true,
            Some("2") | None => return false,
            Some(_) => output.line("Type 1 to go on or 2 to stop."),
        }
    }
}

/// Says where the procedure was proven with a better meter than this run's.
pub fn note_meter(standing: &Standing, meter: &MeterInUse, output: &mut Output) {
    let Standing::Proven(result) = standing else { return };
    let known = meter.meter().filter(|_| meter.why_unsettled().is_none());
    match known.map(|meter| (meter, compare(meter, &bench_meter(), &result.limits))) {
        Some((_, Compared::AsGood)) => {}
        Some((meter, Compared::Worse(functions))) => {
            let functions: Vec<&str> = functions.into_iter().map(function_words).collect();
            let name = Clean::name(&meter.name);
            note(
                &format!("proven for a better meter: {name} is less accurate with {}", words::all(&functions)),
                output,
            );
        }
        Some((_, Compared::NotKnown)) | None => {
            note("proven for a meter whose accuracy is known; of this run's meter it is not", output);
        }
    }
}

/// Says what is probably not meant as it stands, and stops nothing.
pub fn note_remarks(remarks: &[Diagnostic], output: &mut Output) {
    for remark in remarks {
        let hint = remark.hint.as_ref().map(|hint| format!(": {hint}")).unwrap_or_default();
        note(&format!("{remark}{hint}"), output);
    }
}

/// Says what the shop can write better.
pub fn note_shop(shop: &Shop, output: &mut Output) {
    for remark in shop.remarks() {
        note(&remark, output);
    }
}

fn note(words: &str, output: &mut Output) {
    output.note(&wrapped(&harmless(&format!("note: {words}")), output.width(), "", "  "));
}
