//! The words that Tab offers at the repl's prompt: words, units and properties after a point, names inside quotes.

use super::console::Console;
use super::function_doc::Kind;
use super::function_docs;
use crate::model::unit::Unit;

/// Units that the trade writes down; there are many more, which are found once their first letters are typed.
const USUAL: &[&str] = &[
    "V",
    "mV",
    "kV",
    "A",
    "mA",
    "uA",
    "ohm",
    "mohm",
    "kohm",
    "Mohm",
    "W",
    "kW",
    "Hz",
    "kHz",
    "uF",
    "nF",
    "mH",
    "uH",
    "s",
    "ms",
    "us",
    "min",
    "h",
    "Ah",
    "pct",
    "degC",
    "degF",
    "m",
    "mm",
    "mm2",
    "ft",
    "ohm_per_m",
    "bar",
    "kPa",
    "psi",
    "Nm",
    "rpm",
    "kmh",
    "mph",
    "deg",
];

/// What can stand at the end of this text: where the word to be replaced begins, and the words.
pub fn candidates(console: &Console, before: &str) -> (usize, Vec<String>) {
    if before.matches('"').count() % 2 == 1 {
        let start = before.rfind('"').map_or(0, |quote| quote + 1);
        let word = &before[start..];
        let mut names = names_for(console, &before[..start - 1]);
        names.retain(|name| name.starts_with(word));
        names.sort();
        names.dedup();
        return (start, names);
    }
    let is_of_a_word = |c: char| c.is_alphanumeric() || c == '_';
    let start =
        before.rfind(|c| !is_of_a_word(c)).map_or(0, |at| at + before[at..].chars().next().map_or(1, char::len_utf8));
    let word = &before[start..];
    if let Some(of) = before[..start].strip_suffix('.') {
        return (start, behind_a_point(console, of, word));
    }
    if word.is_empty() {
        return (start, vec![]);
    }
    let mut known = console.words();
    known.retain(|known| known.starts_with(word));
    (start, known)
}

/// Units after a number; after anything else its properties, too.
fn behind_a_point(console: &Console, of: &str, word: &str) -> Vec<String> {
    let last: &str = &of[of
        .rfind(|c: char| !(c.is_alphanumeric() || matches!(c, '_' | '.')))
        .map_or(0, |at| at + of[at..].chars().next().map_or(1, char::len_utf8))..];
    let is_number = last.starts_with(|c: char| c.is_ascii_digit());
    let mut units: Vec<String> =
        USUAL.iter().map(|unit| (*unit).to_owned()).filter(|unit| unit.starts_with(word)).collect();
    if units.is_empty() {
        units = Unit::every().map(|(unit, _)| unit).filter(|unit| unit.starts_with(word)).collect();
    }
    if is_number || console.is_quantity(last) {
        return units;
    }
    let asked = function_docs::properties().map(|property| property.name.to_owned());
    let mut all: Vec<String> =
        function_docs::fields().map(str::to_owned).chain(asked).filter(|name| name.starts_with(word)).collect();
    // A list of everything that anything can be asked helps nobody: something of the name must be there.
    if word.is_empty() {
        all.clear();
    }
    all.extend(units);
    all.sort();
    all.dedup();
    all
}

/// What can stand between the quotes that follow this text: it depends on the function whose brackets are open.
fn names_for(console: &Console, before: &str) -> Vec<String> {
    let circuit = console.circuit();
    let of_circuit = || circuit.as_ref().map(|circuit| circuit.names()).unwrap_or_default();
    let ends = || -> Vec<String> { of_circuit().ends.into_keys().collect() };
    let Some((function, arguments)) = open_call(before) else { return [console.names(), ends()].concat() };
    match (function, arguments.contains(',')) {
        ("help", _) => {
            let pages = Kind::WITH_PAGE.into_iter().filter_map(Kind::page).map(str::to_owned);
            console.words().into_iter().chain(pages).collect()
        }
        ("load", _) => console.procedure_names.clone(),
        ("bench", false) => console.circuit_names.clone(),
        ("bench", true) => {
            let name = arguments.split('"').nth(1).unwrap_or_default();
            let faults = |circuit: &crate::circuit::netlist::Circuit| {
                circuit.faults().iter().map(|fault| fault.id.0.clone()).collect()
            };
            console.circuit_named(name).as_deref().map(faults).unwrap_or_default()
        }
        ("unplug" | "plug", _) => of_circuit().connectors.into_iter().collect(),
        ("take_out" | "put_back", _) => of_circuit().parts.into_iter().collect(),
        ("hold" | "release", false) => of_circuit().movable.into_keys().collect(),
        ("module_shows", false) => of_circuit().signals.into_iter().collect(),
        ("volts" | "ac_volts" | "ohms" | "diode" | "duty" | "hertz" | "connect" | "disconnect", _) => ends(),
        ("amperes", _) => ends().into_iter().chain(of_circuit().in_line).collect(),
        _ => [console.names(), ends()].concat(),
    }
}

/// The function whose brackets are open at the end of a text, and what stands between them so far.
fn open_call(before: &str) -> Option<(&str, &str)> {
    let mut depth = 0_usize;
    let mut in_text = false;
    for (at, c) in before.char_indices().rev() {
        match c {
            '"' => in_text = !in_text,
            _ if in_text => {}
            ')' => depth += 1,
            '(' if depth > 0 => depth -= 1,
            '(' => {
                let name = before[..at].trim_end();
                let start = name
                    .rfind(|c: char| !(c.is_alphanumeric() || c == '_'))
                    .map_or(0, |at| at + name[at..].chars().next().map_or(1, char::len_utf8));
                return Some((&name[start..], &before[at + 1..]));
            }
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::console::Said;

    fn offered(console: &Console, before: &str) -> String {
        let (start, names) = candidates(console, before);
        format!("{}|{}", &before[..start], names.join(" "))
    }

    #[test]
    fn a_word_begins_behind_anything_that_is_no_letter() {
        let mut console = Console::new();
        assert_eq!(console.say("let supply = 12.6.V;"), Said::Nothing);
        assert_eq!(offered(&console, "2 * sup"), "2 * |supply");
        assert_eq!(offered(&console, "\u{3a9}(ohms_l"), "\u{3a9}(|ohms_law");
        assert_eq!(offered(&console, "5 + "), "5 + |");
        assert_eq!(offered(&console, ""), "|");
    }

    #[test]
    fn behind_a_point_stand_units_and_what_a_value_can_be_asked() {
        let mut console = Console::new();
        assert_eq!(console.say("let supply = 12.6.V;"), Said::Nothing);
        assert_eq!(offered(&console, "370.m"), "370.|mV mA mohm mH ms min m mm mm2 mph");
        assert_eq!(offered(&console, "4.7.ko"), "4.7.|kohm");
        assert_eq!(offered(&console, "supply.k"), "supply.|kV kohm kW kHz kPa kmh");
        assert_eq!(offered(&console, "10.nH"), "10.|nHz nH");
        let (_, every) = candidates(&console, "5.");
        assert!(every.len() < 45 && !every.contains(&"pbar".to_owned()), "{every:?}");
        assert_eq!(offered(&console, "ohms_law(12.V, 4.ohm).wat"), "ohms_law(12.V, 4.ohm).|watts");
        assert_eq!(offered(&console, "last.skip"), "last.|skipped");
    }

    #[test]
    fn between_quotes_stands_what_the_function_takes() {
        let console = Console::new().with_names(vec!["flap".to_owned()], vec!["lamp".to_owned()]);
        assert_eq!(offered(&console, "load(\""), "load(\"|flap");
        assert_eq!(offered(&console, "bench(\""), "bench(\"|lamp");
        assert_eq!(offered(&console, "help(\"ohms_"), "help(\"|ohms_law");
        assert_eq!(offered(&console, "help(\"Read"), "help(\"|Reading");
        assert_eq!(offered(&console, "volts(\""), "volts(\"|");
        assert_eq!(open_call("f(g(1), \")\", h"), Some(("f", "g(1), \")\", h")));
        assert_eq!(open_call("f(1) + "), None);
    }
}
