//! The edge: files, the clock, the terminal, exit codes, one file per command.
#![expect(clippy::disallowed_methods, reason = "the edge is where files, time and the environment are")]

mod agent;
pub mod arguments;
mod batch;
mod builtin;
mod cautions;
mod circuits;
mod clock;
mod columns;
mod digest;
mod error;
mod examine;
mod exit;
mod how;
mod input;
mod intake;
mod journal_file;
mod key;
mod key_file;
mod keys;
mod lines;
mod links;
mod list;
mod output;
mod pack;
mod person;
mod plain_word;
mod prove;
mod rejudge;
mod repl;
mod report;
mod resume;
mod row;
mod row_bench;
mod row_result;
mod run;
mod settings;
mod shop;
mod show;
mod sign;
mod simulated;
mod start;
mod store;
mod table_name;
mod table_text;
mod text_file;
mod verify;

pub use error::CliError;
pub use exit::Exit;
pub use output::Output;

use arguments::{Arguments, Command};
use clap::Parser;

/// Runs the program with the arguments of the process; the exit code tells how it came out.
pub fn main() -> std::process::ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            let printed = error.print();
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

/// Threads for a table, a folder of records or a proof, as many as there are cores, each with the stack that scripts need.
fn workers() -> Result<rayon::ThreadPool, CliError> {
    rayon::ThreadPoolBuilder::new()
        .stack_size(crate::script::engine::STACK)
        .build()
        .map_err(|error| CliError::Files(error.to_string()))
}

fn dispatch(arguments: &Arguments, output: &mut Output) -> Result<Exit, CliError> {
    let settings = settings::Settings::find(arguments)?;
    match &arguments.command {
        Command::Run(run) => run::run(&settings, run, output),
        Command::Resume(resume) => resume::resume(&settings, resume, output),
        Command::Batch(batch) => batch::batch(&settings, batch, output),
        Command::Show(show) => show::show(&settings, show, output),
        Command::Sign(sign) => sign::sign(&settings, sign, output),
        Command::Verify(verify) => verify::verify(&settings, arguments.shop.is_some(), verify, output),
        Command::Pack(pack) => pack::pack(&settings, pack, output),
        Command::Rejudge(rejudge) => rejudge::rejudge(&settings, rejudge, output),
        Command::Key(key) => key::key(&settings, key, output),
        Command::Report(report) => report::report(&settings, report, output),
        Command::List => list::list(&settings, output),
        Command::Circuit(circuit) => circuits::circuit(&settings, circuit, output),
        Command::Prove(prove) => prove::prove(&settings, prove, output),
        Command::Repl => repl::repl(&settings, output),
    }
}
