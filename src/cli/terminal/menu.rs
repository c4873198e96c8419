//! The lines that are no answers: keys, the menu's numbers, words.

use crate::cli::terminal::key::{self, ACCEPTED, Key, MENU, NOTHING_TO_UNDO, REASONS};
use crate::cli::terminal::person::Person;
use crate::cli::terminal::plain_word::{self, PlainWord};
use crate::cli::terminal::possible::After;
use crate::cli::terminal::takes::Takes;
use crate::report::question::{flow, with_label};
use crate::report::verdict_line::VerdictLine;
use crate::run::reply::Form;

/// The meaning of a line.
pub enum Typed {
    /// A reply.
    Form(Form),
    /// Something that was dealt with: the same is asked again.
    Again,
    /// It was about something else; this is the line to go on with.
    Line(String),
}

impl Person {
    /// Sorts a line: an answer, a key or one of the words.
    pub(super) fn understand(&mut self, text: String, options: &[String], takes: Takes) -> Typed {
        let trimmed = text.trim();
        let free_text = takes == Takes::Note;
        if options.iter().any(|option| option.eq_ignore_ascii_case(trimmed)) {
            return Typed::Form(Form::text(text));
        }
        let quoted = trimmed.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).filter(|_| free_text);
        if let Some(quoted) = quoted.filter(|quoted| PlainWord::of(quoted.trim(), free_text, self.past.ids()).is_some())
        {
            return Typed::Form(Form::text(quoted.to_owned()));
        }
        if let Some(key) = Key::of(trimmed) {
            return self.key(key, takes);
        }
        match PlainWord::of(trimmed, free_text, self.past.ids()) {
            Some(word) => self.word(word, takes),
            None => Typed::Form(Form::text(text)),
        }
    }

    fn word(&mut self, word: PlainWord, takes: Takes) -> Typed {
        match word {
            PlainWord::Why => self.why_again(),
            PlainWord::Help => self.help(takes),
            PlainWord::Back(to) => Typed::Form(Form::Back { to }),
            PlainWord::Pause => Typed::Form(Form::Pause),
            PlainWord::Possible => self.possible(),
            PlainWord::Change(id) => self.change(&id).map_or(Typed::Again, Typed::Form),
            PlainWord::Skip(reason) if reason.is_empty() => self.skip(takes),
            PlainWord::Skip(reason) => Typed::Form(Form::Skip { reason }),
            PlainWord::Note(note) if note.is_empty() => self.note(),
            PlainWord::Note(note) => Typed::Form(Form::Note(note)),
        }
    }

    fn key(&mut self, key: Key, takes: Takes) -> Typed {
        match key {
            Key::Undo => self.undo(),
            Key::Skip => self.skip(takes),
            Key::More => self.menu(takes),
            Key::Plus if matches!(takes, Takes::Doubt(_)) => Typed::Form(Form::text(ACCEPTED)),
            Key::Plus => self.tell(key::NOTHING_TO_CONFIRM),
            Key::Half => self.tell(key::HALF),
            Key::NumLockOff => self.tell(key::NUM_LOCK),
        }
    }

    pub(super) fn tell(&mut self, text: &str) -> Typed {
        self.indented(text);
        Typed::Again
    }

    fn why_again(&mut self) -> Typed {
        let why =
            if self.why.is_empty() { "The procedure gives no reason for this step.".into() } else { self.why.clone() };
        self.tell(&why)
    }

    /// Names the answer to undo; `+` undoes it.
    fn undo(&mut self) -> Typed {
        let last = match self.sweep.last() {
            Some(reading) => Some(format!("the last reading of the sweep, {}", reading.text)),
            None => self.past.last(),
        };
        let Some(last) = last else { return self.tell(NOTHING_TO_UNDO) };
        self.indented(&format!("Undo {last}?"));
        let Some(line) = self.input.line("+ undoes it, Enter does not > ", &mut self.output) else {
            return Typed::Form(Form::Pause);
        };
        match line.trim() {
            "+" => Typed::Form(Form::Back { to: None }),
            "" => self.tell("Nothing was undone."),
            _ => {
                self.indented("Nothing was undone.");
                Typed::Line(line)
            }
        }
    }

    /// Asks for the reason to skip, by number.
    fn skip(&mut self, takes: Takes) -> Typed {
        if !takes.can_be_skipped() {
            return self.tell("There is nothing to skip here.");
        }
        let reasons: Vec<String> = (1..).zip(REASONS).map(|(number, reason)| format!("{number} {reason}")).collect();
        let words = flow("SKIP", &reasons, self.output.width());
        self.output.line(&words);
        loop {
            let Some(line) = self.input.line("Why? Number, or Enter: not skipped > ", &mut self.output) else {
                return Typed::Form(Form::Pause);
            };
            let typed = line.trim();
            match typed.parse::<usize>() {
                Ok(number) if number == REASONS.len() => {
                    return self.in_words("Reason > ", |reason| Form::Skip { reason });
                }
                Ok(number) if (1..REASONS.len()).contains(&number) => {
                    return Typed::Form(Form::Skip { reason: REASONS[number - 1].to_owned() });
                }
                _ if typed.is_empty() || typed.eq_ignore_ascii_case("back") || typed == "--" => {
                    return self.tell("Not skipped.");
                }
                // In words of one's own.
                _ if typed.chars().any(char::is_alphabetic) => {
                    return Typed::Form(Form::Skip { reason: typed.to_owned() });
                }
                _ => self.indented(&format!("Type a number from 1 to {}.", REASONS.len())),
            }
        }
    }

    fn note(&mut self) -> Typed {
        self.in_words("Note (Enter: none) > ", Form::Note)
    }

    /// What belongs to a key or a word, asked for.
    fn in_words(&mut self, prompt: &str, reply: impl FnOnce(String) -> Form) -> Typed {
        match self.input.line(prompt, &mut self.output) {
            None => Typed::Form(Form::Pause),
            // Nothing to write.
            Some(words) if matches!(words.trim().to_lowercase().as_str(), "" | "back" | "--") => Typed::Again,
            Some(words) => Typed::Form(reply(words.trim().to_owned())),
        }
    }

    fn menu(&mut self, takes: Takes) -> Typed {
        let entries: Vec<String> = MENU.iter().map(|(number, entry)| format!("{number} {entry}")).collect();
        let drawn = flow("MORE", &entries, self.output.width());
        self.output.line(&drawn);
        let Some(line) = self.input.line("Number, or Enter: back to the prompt > ", &mut self.output) else {
            return Typed::Form(Form::Pause);
        };
        match line.trim() {
            "" | ".." | ",," | "--" => Typed::Again,
            "1" => self.why_again(),
            "2" => self.readings_so_far(),
            "3" => self.note(),
            "4" => self.change("").map_or(Typed::Again, Typed::Form),
            "5" => Typed::Form(Form::Pause),
            "6" => self.help(takes),
            "7" => self.possible(),
            word => match PlainWord::of(word, false, self.past.ids()) {
                Some(word) => self.word(word, takes),
                None => self.tell("That is not in the menu."),
            },
        }
    }

    fn possible(&mut self) -> Typed {
        match self.still_possible() {
            After::Prompt => Typed::Again,
            After::Line(line) => Typed::Line(line),
            After::End => Typed::Form(Form::Pause),
        }
    }

    fn readings_so_far(&mut self) -> Typed {
        let lines = self.past.lines();
        if lines.is_empty() {
            return self.tell("Nothing is answered yet.");
        }
        for line in lines {
            self.indented(&line);
        }
        Typed::Again
    }

    fn help(&mut self, takes: Takes) -> Typed {
        let width = self.output.width();
        let here = takes.help(self.bench).into_iter();
        let everywhere =
            plain_word::help(takes.can_be_skipped()).into_iter().map(|(word, what)| (word, what.to_owned()));
        for (typed, what) in here.chain(everywhere) {
            let line = with_label(&format!("{typed:<10}"), &what, width);
            self.output.line(&line);
        }
        Typed::Again
    }

    /// A verdict: in letters that are read from two meters away, where the shop or the technician wants that.
    pub(super) fn show_verdict(&mut self, line: &VerdictLine) {
        let width = self.output.width();
        let parts: Vec<String> = std::iter::once(line.value.clone()).chain(line.rest.iter().cloned()).collect();
        if self.large
            && let Some(rows) = crate::report::large::drawn(line.word, &line.value, width)
        {
            for row in rows {
                self.output.toned(line.tone, &row);
            }
            let rest = flow(line.word, &line.rest, width);
            if !line.rest.is_empty() {
                self.output.line(&rest);
            }
            return;
        }
        self.output.verdict(line.tone, line.word, &flow(&format!("{:<8}", line.word), &parts, width));
    }
}
