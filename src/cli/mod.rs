//! The edge: files, the clock, the terminal, exit codes, one file per command.
#![expect(clippy::disallowed_methods, reason = "the edge is where files, time and the environment are")]

pub mod arguments;
pub mod commands;
pub mod error;
pub mod exit;
mod help;
mod job_flags;
pub mod keys;
mod settings;
pub mod terminal;

use crate::model::clean::Clean;
use error::CliError;
use exit::Exit;
use terminal::output::{self, Output};

use arguments::{Arguments, Command};
use clap::FromArgMatches;

/// Runs the program with the arguments of the process; the exit code tells how it came out.
pub fn main() -> std::process::ExitCode {
    let parsed = help::command().try_get_matches().and_then(|found| Arguments::from_arg_matches(&found));
    let arguments = match parsed {
        Ok(arguments) => arguments,
        Err(error) => {
            // Text that it takes over from the command line may be the name of any file.
            let text = error.render().to_string();
            let printed = if Clean::text(&text).as_str() == text {
                error.print()
            } else {
                Output::new(None).note(text.trim_end());
                Ok(())
            };
            if error.use_stderr() {
                return Exit::Usage.into();
            }
            output::keep(printed);
            return ended(&mut Output::new(None), Exit::Done).into();
        }
    };
    let mut output = Output::new(arguments.width);
    let result = on_own_stack(move || {
        let result = dispatch(&arguments, &mut output);
        (output, result)
    });
    let (mut output, result) = match result {
        Ok(both) => both,
        Err(_) => return Exit::Broken.into(),
    };
    match result {
        Ok(exit) => ended(&mut output, exit).into(),
        Err(error) => {
            output.error(&error);
            error.exit().into()
        }
    }
}

/// How the program ends, which is no success where what it printed was lost.
fn ended(output: &mut Output, exit: Exit) -> Exit {
    match output::lost() {
        None => exit,
        Some(error) => {
            output.error(&error);
            error.exit()
        }
    }
}

/// Scripts nest deeper than a thread's usual stack.
fn on_own_stack<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, ()> {
    std::thread::Builder::new()
        .stack_size(crate::script::engine::STACK)
        .spawn(work)
        .map_err(|_| ())?
        .join()
        .map_err(|_| ())
}

fn dispatch(arguments: &Arguments, output: &mut Output) -> Result<Exit, CliError> {
    let settings = settings::find(arguments)?;
    match &arguments.command {
        Command::Run(run) => commands::run::run(&settings, run, output),
        Command::Resume(resume) => commands::resume::resume(&settings, resume, output),
        Command::Batch(batch) => commands::batch::batch(&settings, batch, output),
        Command::Show(show) => commands::show::show(&settings, show, output),
        Command::Sign(sign) => commands::sign::sign(&settings, sign, output),
        Command::Verify(verify) => commands::verify::verify(&settings, arguments.shop.is_some(), verify, output),
        Command::Pack(pack) => commands::pack::pack(&settings, pack, output),
        Command::Rejudge(rejudge) => commands::rejudge::rejudge(&settings, rejudge, output),
        Command::Key(key) => commands::key::key(&settings, key, output),
        Command::Report(report) => commands::report::report(&settings, report, output),
        Command::List(list) => commands::list::list(&settings, list, output),
        Command::Circuit(circuit) => commands::circuit::circuit(&settings, circuit, output),
        Command::Prove(prove) => commands::prove::prove(&settings, prove, output),
        Command::Repl => commands::repl::repl(&settings, output),
    }
}
