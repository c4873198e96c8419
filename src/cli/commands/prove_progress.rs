//! How far a proof is, with the time left worked out from what it is at.

use crate::cli::terminal::output::Output;
use crate::report::proof_result::thousands;
use crate::script::prove::answers::MOST_PATHS;
use crate::script::prove::watch::{Stage, Watch};
use indicatif::{ProgressBar, ProgressState, ProgressStyle};
use std::fmt::Write;
use std::sync::Mutex;

/// A share of the work under which nothing is said of the time left.
const TOO_EARLY: f64 = 0.02;

/// A bar for each stage.
pub struct Progress<'a> {
    bar: ProgressBar,
    output: Mutex<&'a mut Output>,
}

impl<'a> Progress<'a> {
    /// Before the first stage.
    pub fn new(output: &'a mut Output) -> Self {
        let bar = ProgressBar::new(0);
        let style = ProgressStyle::with_template("{msg} {bar:30} {pos} of {len}{left}");
        if let Ok(style) = style {
            bar.set_style(style.with_key("left", left));
        }
        Self { bar, output: Mutex::new(output) }
    }

    /// After the last one.
    pub fn finish(&self) {
        self.bar.finish_and_clear();
    }
}

/// As fast as this stage went so far, the rest of it goes.
fn left(state: &ProgressState, out: &mut dyn Write) {
    let (done, all) = (state.pos() as f64, state.len().unwrap_or(0) as f64);
    if all > 0.0 && done > TOO_EARLY * all {
        let seconds = state.elapsed().as_secs_f64() * (all - done) / done;
        let _ = match seconds.ceil() as u64 {
            0..=90 => write!(out, ", {:.0} s left", seconds.ceil()),
            _ => write!(out, ", {:.0} min left", (seconds / 60.0).ceil()),
        };
    }
}

impl Watch for Progress<'_> {
    fn begins(&self, stage: Stage, runs: u64) {
        self.bar.reset();
        self.bar.set_length(runs);
        let (what, said) = match stage {
            Stage::Cases => ("runs", None),
            Stage::Pairs => ("runs of pairs", None),
            Stage::Slips => ("runs with a slip", Some(format!("{} runs with one slip each follow", thousands(runs)))),
            Stage::Answers => (
                "cases with answers",
                (runs > 0).then(|| {
                    format!(
                        "{} cases follow whose questions are answered every way, with at most {} runs each",
                        thousands(runs),
                        thousands(MOST_PATHS)
                    )
                }),
            ),
        };
        self.bar.set_message(what);
        if let (Some(said), Ok(mut output)) = (said, self.output.lock()) {
            self.bar.suspend(|| output.note(&said));
        }
    }

    fn ran(&self) {
        self.bar.inc(1);
    }
}
