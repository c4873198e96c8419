//! Printing: one color policy, the terminal's width, and a closed pipe is nobody's fault. Everything that is printed goes through
//! here, and is cleaned here; styles are given apart from it.

use crate::cli::error::CliError;
use crate::model::clean::Clean;
use crate::model::diagnostic::Diagnostic;
use crate::report::diagnostic::{self, Drawn};
use crate::report::entry::Tone;
use crate::report::table::wrapped;
use anstream::AutoStream;
use anstyle::{AnsiColor, Style};
use std::io::{IsTerminal, Write};
use std::sync::Mutex;

/// The most lines that are kept to be shown again.
const KEPT: usize = 60;

/// Where text goes.
pub struct Output {
    /// The width that was asked for.
    fixed: Option<usize>,
    width: usize,
    /// The lines printed since the block began.
    block: Vec<(Style, Clean)>,
}

impl Output {
    /// With the width given, else the terminal's, else 80 columns.
    pub fn new(width: Option<usize>) -> Self {
        Self { fixed: width, width: found(width), block: Vec::new() }
    }

    /// Another one for the same screen.
    pub fn same(&self) -> Self {
        Self::new(self.fixed)
    }

    /// A new block begins: the terminal may have another width by now.
    pub fn begin_block(&mut self) {
        self.width = found(self.fixed);
        self.block.clear();
    }

    /// Shows again what stands since the block began.
    pub fn again(&self) {
        for (style, text) in &self.block {
            put(*style, text);
        }
    }

    fn print(&mut self, style: Style, text: Clean) {
        put(style, &text);
        if self.block.len() < KEPT {
            self.block.push((style, text));
        }
    }

    /// Columns.
    pub const fn width(&self) -> usize {
        self.width
    }

    /// Prints text with a line end.
    pub fn line(&mut self, text: &str) {
        self.print(Style::new(), Clean::text(text));
    }

    /// Prints text without a line end.
    pub fn text(&mut self, text: &str) {
        let mut stdout = anstream::stdout();
        keep(write!(stdout, "{}", Clean::text(text)).and_then(|()| stdout.flush()));
    }

    /// Prints a line in a tone.
    pub fn toned(&mut self, tone: Tone, text: &str) {
        self.print(style_of(tone), Clean::text(text));
    }

    /// Prints a line in a style of its own.
    pub fn styled(&mut self, style: Style, text: &str) {
        self.print(style, Clean::text(text));
    }

    /// Prints text whose first word has a style of its own.
    pub fn headed(&mut self, style: Style, word: &str, text: &str) {
        let rest = text.strip_prefix(word).unwrap_or(text);
        let (word, rest) = (Clean::text(word), Clean::text(rest));
        keep(writeln!(anstream::stdout(), "{style}{word}{style:#}{rest}"));
        if self.block.len() < KEPT {
            self.block.push((Style::new(), Clean::text(text)));
        }
    }

    /// Prints a line in bold letters.
    pub fn bold(&mut self, text: &str) {
        self.print(Style::new().bold(), Clean::text(text));
    }

    /// Prints a verdict: `text` begins with its word, which is reversed.
    pub fn verdict(&mut self, tone: Tone, word: &str, text: &str) {
        self.headed(style_of(tone).bold().invert(), word, text);
    }

    /// Prints to standard error.
    pub fn note(&mut self, text: &str) {
        let _ = writeln!(anstream::stderr(), "{}", Clean::text(text));
    }

    /// Prints a diagnostic to standard error.
    pub fn diagnostic(&mut self, found: &Diagnostic) {
        let _ = writeln!(anstream::stderr(), "{}", self.drawn(found));
    }

    fn drawn(&self, found: &Diagnostic) -> Drawn {
        let styled = AutoStream::choice(&std::io::stderr()) != anstream::ColorChoice::Never;
        diagnostic::render(found, self.width, styled)
    }

    fn wrapped(&self, word: &str, sentence: &str) -> String {
        wrapped(&format!("{word}: {sentence}"), self.width, "", "  ")
    }

    /// Prints an error with its place and what to do.
    pub fn error(&mut self, error: &CliError) {
        let text = match error {
            CliError::Input(diagnostics) => {
                for (number, found) in diagnostics.iter().enumerate() {
                    if number > 0 {
                        self.note("");
                    }
                    self.diagnostic(found);
                }
                return;
            }
            CliError::Usage { sentence, hint } => match hint {
                Some(hint) => format!("{}\n{}", self.wrapped("error", sentence), self.wrapped("help", hint)),
                None => self.wrapped("error", sentence),
            },
            CliError::Busy(_) => {
                let hint = "end it there first, or put it down with `pause`: one process writes at a time";
                format!("{}\n{}", self.wrapped("error", &error.to_string()), self.wrapped("help", hint))
            }
            CliError::Files(_) => self.wrapped("error", &error.to_string()),
        };
        self.note(&text);
    }
}

/// The width given, else the terminal's, else 80 columns.
fn found(fixed: Option<usize>) -> usize {
    let of_terminal = || terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    let width = fixed.or_else(|| if std::io::stdout().is_terminal() { of_terminal() } else { None });
    width.unwrap_or(80).clamp(24, 240)
}

fn put(style: Style, text: &Clean) {
    keep(writeln!(anstream::stdout(), "{style}{text}{style:#}"));
}

/// Why standard output, of which there is one, could not be written, if it could not.
static FAILED: Mutex<Option<String>> = Mutex::new(None);

/// Keeps the first failure of what was printed.
pub fn keep(written: std::io::Result<()>) {
    if let Err(error) = written
        // A reader that went away wants no more; there is nobody to tell.
        && error.kind() != std::io::ErrorKind::BrokenPipe
        && let Ok(mut failed) = FAILED.lock()
    {
        failed.get_or_insert_with(|| error.to_string());
    }
}

/// What of the printed could not be written, once everything is printed.
pub fn lost() -> Option<CliError> {
    keep(std::io::stdout().flush());
    let error = FAILED.lock().ok()?.take()?;
    Some(CliError::Files(format!("what was printed could not be written whole: {error}")))
}

/// Colors besides the words, never instead of them.
pub fn style_of(tone: Tone) -> Style {
    match tone {
        Tone::Good => AnsiColor::Green.on_default(),
        Tone::Bad => AnsiColor::Red.on_default().bold(),
        Tone::Doubtful => AnsiColor::Yellow.on_default(),
        Tone::Plain => Style::new(),
    }
}
