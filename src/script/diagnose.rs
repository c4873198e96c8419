//! The engine's errors in the words of the trade, at their place.

use super::context::Stopped;
use super::place;
use super::type_name::TypeName;
use super::work::{CURRY, Halt, MAX_OPERATIONS, MOST_HELD};
use crate::model::diagnostic::{Diagnostic, Place};
use crate::model::unit::Unit;
use crate::model::words;
use crate::run::stop::{ScriptError, Stop};
use rhai::{EvalAltResult, LexError, ParseError, ParseErrorType, Position};

/// A file's name and text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// As it was named.
    pub file: String,
    /// Its text.
    pub text: String,
}

/// A syntax error.
pub fn of_parse(source: &Source, error: &ParseError) -> Diagnostic {
    let mut hint = None;
    if let Some(diagnostic) = spoken_operator(source, error).or_else(|| of_another_language(source, error)) {
        return diagnostic;
    }
    let title = match error.err_type() {
        ParseErrorType::ExprTooDeep => {
            hint = Some("give a part of it a name with `let`, or put it into a function of its own".to_owned());
            "brackets or blocks lie too deep within each other here".to_owned()
        }
        ParseErrorType::UnexpectedEOF => "the script ends in the middle of something".to_owned(),
        ParseErrorType::MissingToken(token, what) => format!("`{token}` is missing {what}"),
        ParseErrorType::VariableUndefined(name) => {
            if !super::function_docs::takes(name).is_empty() {
                hint = Some(format!("a function is called with brackets: `{name}()`"));
            }
            format!("there is no variable `{name}` here")
        }
        ParseErrorType::Reserved(word) if word == "import" => {
            hint = Some("name library files in the header: `//! uses = [\"name\"]`".to_owned());
            "a procedure imports nothing".to_owned()
        }
        ParseErrorType::Reserved(word) if word == "switch" => {
            hint = Some("write it with `if` and `else if`".to_owned());
            "there is no `switch` in a procedure: it would compare unlike things without a word".to_owned()
        }
        ParseErrorType::Reserved(word) => {
            hint = Some("choose another name".to_owned());
            format!("`{word}` is a word of the language")
        }
        ParseErrorType::ModuleUndefined(name) => {
            let (title, advice) = no_library(name);
            hint = Some(advice);
            title
        }
        ParseErrorType::BadInput(problem) => match problem {
            LexError::UnterminatedString => "a text has no closing quote".to_owned(),
            LexError::UnexpectedInput(sign) => format!("`{sign}` does not belong here"),
            LexError::ImproperSymbol(word, _) if word == "eval" => "a procedure has no `eval`".to_owned(),
            other => other.to_string(),
        },
        other => other.to_string(),
    };
    let mut diagnostic = at(source, error.position(), title);
    diagnostic.hint = hint;
    diagnostic
}

/// `and`, `or` and `not` where the language has signs for them.
fn spoken_operator(source: &Source, error: &ParseError) -> Option<Diagnostic> {
    let wrong = matches!(
        error.err_type(),
        ParseErrorType::MissingToken(..) | ParseErrorType::VariableUndefined(_) | ParseErrorType::UnexpectedEOF
    );
    if !wrong || error.position().is_none() {
        return None;
    }
    let here = place::span(&source.text, error.position());
    let word = source.text.get(here.clone())?;
    let before = source.text.get(..here.start)?.trim_end();
    let last = before.rsplit(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap_or("");
    let sign = |word: &str| match word {
        "and" | "AND" => Some("&&"),
        "or" | "OR" => Some("||"),
        "not" | "NOT" => Some("!"),
        _ => None,
    };
    let (word, range, sign) = match (sign(word), sign(last)) {
        (Some(sign), _) => (word, here, sign),
        (None, Some(sign)) => (last, before.len() - last.len()..before.len(), sign),
        (None, None) => return None,
    };
    let title = format!("`{word}` is written `{sign}`");
    Some(
        Diagnostic::at(&source.file, &source.text, range, title)
            .with_hint("`&&` is and, `||` is or, `!` is not: `r.high && !r.skipped`"),
    )
}

/// Words and signs that other languages have, each with what it is here.
const ELSEWHERE: [(&str, &str); 9] = [
    ("#", "a comment begins with `//`"),
    ("elseif", "write `else if`, in two words"),
    ("elsif", "write `else if`, in two words"),
    ("elif", "write `else if`, in two words"),
    ("def", "a function begins with `fn`: `fn reading(role) { … }`"),
    ("func", "a function begins with `fn`: `fn reading(role) { … }`"),
    ("function", "a function begins with `fn`: `fn reading(role) { … }`"),
    ("var", "a variable begins with `let`: `let feed = …`"),
    ("then", "write what to do then in braces: `if feed.low { … }`"),
];

/// Text written as in another language, and a unit that follows its number without a point.
fn of_another_language(source: &Source, error: &ParseError) -> Option<Diagnostic> {
    if error.position().is_none() {
        return None;
    }
    let here = place::span(&source.text, error.position());
    let word = source.text.get(here.clone())?;
    let at =
        |title: String, range, hint: String| Diagnostic::at(&source.file, &source.text, range, title).with_hint(hint);
    match error.err_type() {
        ParseErrorType::VariableUndefined(_) | ParseErrorType::Reserved(_) | ParseErrorType::MissingToken(..) => {}
        _ => return None,
    }
    if let Some((_, meant)) = ELSEWHERE.iter().find(|(elsewhere, _)| *elsewhere == word) {
        return Some(at(format!("`{word}` is not a word of this language"), here, (*meant).to_owned()));
    }
    let before = source.text.get(..here.start)?.trim_end_matches(' ');
    let number = before.rsplit(|c: char| !(c.is_ascii_digit() || c == '.')).next()?;
    let unit = word.parse::<Unit>().ok().map(Unit::word)?;
    let start = before.len() - number.len();
    number.parse::<f64>().ok()?;
    (before.len() < here.start)
        .then(|| at("a unit comes after a point".to_owned(), start..here.end, format!("write {number}.{unit}")))
}

/// An error while the script ran. `library` finds a library file by its name.
pub fn of_run<'a>(
    procedure: &'a Source,
    library: impl Fn(&str) -> Option<&'a Source>,
    error: &EvalAltResult,
) -> Diagnostic {
    // The outermost position is the call's; the innermost is the real place.
    let mut inner = error;
    let mut source = procedure;
    let mut around = (source, Position::NONE);
    while let EvalAltResult::ErrorInFunctionCall(_, file, nested, call) = inner {
        if !call.is_none() {
            around = (source, *call);
        }
        if let Some(found) = library(file) {
            source = found;
        }
        inner = nested;
    }
    let mut hint = None;
    let mut position = inner.position();
    if position.is_none() && !around.1.is_none() {
        // The engine does not say where: at the call that it came out of.
        (source, position) = around;
    }
    let mut range = None;
    let title = match inner {
        EvalAltResult::ErrorRuntime(value, _) => words::cut(value.to_string(), LONGEST_THROWN),
        EvalAltResult::ErrorTerminated(value, _) => match value.clone().try_cast::<Stopped>() {
            Some(stopped) => {
                position = stopped.position;
                if let Some(found) = stopped.library.as_deref().and_then(&library) {
                    source = found;
                }
                match stopped.stop {
                    Stop::ScriptError(script_error) => {
                        if let ScriptError::TooManyEvents(_) = script_error {
                            hint =
                                Some("look for a loop that asks nothing; else raise `events` in the header".to_owned());
                        }
                        script_error.to_string()
                    }
                    other => format!("the run stopped: {other:?}"),
                }
            }
            None => match value.clone().try_cast::<Halt>() {
                Some(Halt::RanAway) => ran_away(&mut hint),
                Some(Halt::HoldsTooMuch) => {
                    hint = Some("look for a function that is given to itself, over and over".to_owned());
                    format!("a function holds more than {MOST_HELD} values, with those of the functions that it holds")
                }
                None => "the run was stopped".to_owned(),
            },
        },
        EvalAltResult::ErrorFunctionNotFound(signature, _) => {
            let (words, advice) = not_found(signature);
            hint = comma_in_number(&source.text, position).or(advice);
            words
        }
        EvalAltResult::ErrorTooManyOperations(_) => ran_away(&mut hint),
        EvalAltResult::ErrorDataRace(what, _) => {
            if position.is_none() {
                range = in_use(&source.text, what);
            }
            hint = Some("give a copy another name before, with `let`, and use that one inside the function".to_owned());
            "a list, a map or a function is used inside the function that is at work on it".to_owned()
        }
        EvalAltResult::ErrorStackOverflow(_) => {
            hint = Some("look for a function that calls itself".to_owned());
            "functions call each other too deep".to_owned()
        }
        EvalAltResult::ErrorDataTooLarge(what, _) => {
            let what = match what.as_str() {
                "Length of string" => "a text, or all texts of a list together,",
                "Size of object map" => "a map",
                "Size of array/BLOB" => "a list",
                other => other,
            };
            format!("{what} grew too large")
        }
        EvalAltResult::ErrorVariableNotFound(name, _) => format!("there is no variable `{name}` here"),
        EvalAltResult::ErrorModuleNotFound(name, _) => {
            let (title, advice) = no_library(name);
            hint = Some(advice);
            title
        }
        EvalAltResult::ErrorPropertyNotFound(name, _) => format!("there is no property `{name}`"),
        EvalAltResult::ErrorDotExpr(text, _) => match property(text) {
            Some((name, kind)) => {
                hint = unit_like(name, kind);
                format!("{kind} has no `.{name}`")
            }
            None => text.clone(),
        },
        EvalAltResult::ErrorMismatchDataType(wanted, got, _) => {
            if TypeName::of(got) == TypeName::YesNo {
                hint = Some("write `.yes` or `.no`".to_owned());
            }
            format!("{} is wanted here, not {}", TypeName::of(wanted), TypeName::of(got))
        }
        EvalAltResult::ErrorParsing(kind, _) => kind.to_string(),
        other => {
            let mut text = other.to_string();
            if let Some(end) = text.rfind(" (line ") {
                text.truncate(end);
            }
            text
        }
    };
    let title = words::cut(title, LONGEST_TITLE);
    let mut diagnostic = match range {
        Some(range) => Diagnostic::at(&source.file, &source.text, range, title),
        None => at(source, position, title),
    };
    diagnostic.hint = hint;
    diagnostic
}

/// Where something is used inside the function that is at work on it, found by the name of the call that the engine gives
/// without its place: `argument #1 of function 'map'`.
fn in_use(text: &str, what: &str) -> Option<std::ops::Range<usize>> {
    let call = format!(".{}(", what.split('\'').nth(1)?);
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    text.match_indices(&call).find_map(|(at, _)| {
        let before = text[..at].trim_end_matches(is_word).len();
        let (name, behind) = (&text[before..at], &text[at + call.len()..]);
        let mut open = 1;
        let end = behind.find(|c| {
            open += i32::from(c == '(') - i32::from(c == ')');
            open == 0
        })?;
        let is_used = !name.is_empty() && behind[..end].split(|c| !is_word(c)).any(|word| word == name);
        is_used.then(|| before..at + call.len() - 1)
    })
}

/// Letters that are shown of what went wrong.
const LONGEST_TITLE: usize = 400;
/// Letters that are shown of what a script throws: it may be a text of any length.
const LONGEST_THROWN: usize = 200;

fn ran_away(hint: &mut Option<String>) -> String {
    *hint = Some("look for a loop that never ends".to_owned());
    format!("the script ran away: more than {MAX_OPERATIONS} operations")
}

/// A library file that the header does not name: what is wrong, and what to do.
pub fn no_library(name: &str) -> (String, String) {
    (
        format!("`{name}` is not a library file that this procedure uses"),
        format!("add it to the header: `//! uses = [\"{name}\"]`"),
    )
}

/// `Unknown property 'x' - a getter is not registered for type 'y'`
fn property(text: &str) -> Option<(&str, TypeName<'_>)> {
    let mut quoted = text.split('\'').skip(1).step_by(2);
    Some((quoted.next()?, TypeName::of(quoted.next()?)))
}

/// The unit that somebody may have meant after a number or a quantity.
fn unit_like(name: &str, kind: TypeName<'_>) -> Option<String> {
    if !matches!(kind, TypeName::Number | TypeName::Quantity) {
        return None;
    }
    unit_meant(name).map(|unit| format!("did you mean `.{unit}`?"))
}

/// Units as they are spoken.
const SPOKEN: &[(&str, &str)] = &[
    ("volt", "V"),
    ("amp", "A"),
    ("ampere", "A"),
    ("watt", "W"),
    ("hertz", "Hz"),
    ("sec", "s"),
    ("second", "s"),
    ("minute", "min"),
    ("hour", "h"),
    ("percent", "pct"),
    ("celsius", "degC"),
    ("fahrenheit", "degF"),
    ("metre", "m"),
    ("meter", "m"),
];

/// The unit that a word stands for: in other letters, as it is spoken, or with a slip in it.
pub(super) fn unit_meant(name: &str) -> Option<String> {
    let units: Vec<String> = Unit::every().map(|(word, _)| word).collect();
    let other_letters = |unit: &&String| unit.to_lowercase() == name.to_lowercase();
    // `mv` is more likely mV than MV.
    let changed = |unit: &&String| unit.chars().zip(name.chars()).filter(|(a, b)| a != b).count();
    if let Some(unit) = units.iter().filter(other_letters).min_by_key(changed) {
        return Some(unit.clone());
    }
    let lower = name.to_lowercase();
    let prefixes = [("milli", "m"), ("kilo", "k"), ("mega", "M"), ("micro", "u"), ("", "")];
    for (spoken, prefix) in prefixes {
        let Some(rest) = lower.strip_prefix(spoken) else { continue };
        let rest = rest.strip_suffix('s').filter(|rest| rest.len() > 2).unwrap_or(rest);
        let word = SPOKEN.iter().find(|(spoken, _)| *spoken == rest).map_or(rest, |(_, word)| word);
        if let Some(unit) = units.iter().find(|unit| **unit == format!("{prefix}{word}")) {
            return Some(unit.clone());
        }
    }
    words::nearest(name, units.iter().map(String::as_str))
}

/// What to do where a number was written with a comma: `at_most(0,3.V)` has two.
fn comma_in_number(text: &str, position: Position) -> Option<String> {
    let call = text.get(place::span(text, position).start..)?.split([';', '\n']).next()?;
    let digit = |byte: Option<&u8>| byte.is_some_and(u8::is_ascii_digit);
    let bytes = call.as_bytes();
    let comma =
        (1..bytes.len()).find(|&at| bytes[at] == b',' && digit(bytes.get(at - 1)) && digit(bytes.get(at + 1)))?;
    let (before, after) = (&call[..comma], &call[comma + 1..]);
    let whole = before.rsplit(|c: char| !c.is_ascii_digit()).next()?;
    let part = after.split(|c: char| !c.is_ascii_digit()).next()?;
    Some(format!("a comma separates two things; a number has a point: {whole}.{part}"))
}

/// `measure (Quantity, i64)` in words.
fn not_found(signature: &str) -> (String, Option<String>) {
    let (name, arguments) = match signature.split_once(" (") {
        Some((name, rest)) => (name, rest.trim_end_matches(')')),
        None => (signature, ""),
    };
    let name = if name == CURRY { "curry" } else { name };
    let kinds: Vec<TypeName<'_>> = arguments
        .split(", ")
        .filter(|kind| !kind.is_empty())
        // A text goes by several names.
        .map(|kind| TypeName::of(kind.split(" | ").next().unwrap_or(kind).trim()))
        .collect();
    if let Some(getter) = name.strip_prefix("get$") {
        let kind = kinds.first().copied().unwrap_or(TypeName::Other("this"));
        return (format!("{kind} has no `.{getter}`"), unit_like(getter, kind));
    }
    if name.ends_with(" cannot be sorted") {
        return ("these can't be sorted".to_owned(), Some("take their numbers: `q.V`".to_owned()));
    }
    let in_words: Vec<String> = kinds.iter().map(TypeName::to_string).collect();
    let operator = !name.chars().any(|c| c.is_alphanumeric());
    if operator {
        let hint = kinds.contains(&TypeName::Reading).then(|| "take its `.value`".to_owned());
        if let [kind] = kinds.as_slice() {
            return (format!("`{name}` can't take {kind}"), hint);
        }
        return (format!("`{name}` does not go between {}", in_words.join(" and ")), hint);
    }
    let hint = if kinds.contains(&TypeName::Letter) {
        Some("write a text in double quotation marks: \"x\"".to_owned())
    } else if kinds.contains(&TypeName::Number) {
        Some("a number needs its unit: write 5.V, 2.2.kohm, 40.min".to_owned())
    } else {
        super::function_docs::how_to_call(name).map(|how| format!("write it as {how}"))
    };
    match kinds.as_slice() {
        [] => (format!("`{name}` needs something between its brackets"), hint),
        _ => (format!("`{name}` can't take {}", in_words.join(", ")), hint),
    }
}

fn at(source: &Source, position: Position, title: String) -> Diagnostic {
    if position.is_none() {
        return Diagnostic::of_file(&source.file, title);
    }
    let range = place::span(&source.text, position);
    Diagnostic {
        title,
        place: Some(Place { file: source.file.clone(), text: source.text.clone(), range, label: String::new() }),
        hint: None,
    }
}
