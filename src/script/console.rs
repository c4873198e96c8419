//! The prompt's side of the language: one line after another, with what was said before at hand.

use super::check;
use super::console_bench::{self, Answering, FindCircuit};
use super::console_docs::FUNCTION_DOCS;
use super::diagnose::{self, Source};
use super::engine::{Language, names_in};
use super::function_docs;
use super::help;
use super::procedure::{self, Library};
use super::type_name::TypeName;
use crate::circuit::netlist::Circuit;
use crate::model::diagnostic::Diagnostic;
use crate::model::quantity::Quantity;
use rhai::{
    AST, Dynamic, Engine, EvalAltResult, FnPtr, FuncRegistration, ImmutableString, Module, ParseErrorType, Scope,
    Shared,
};
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

/// The variable that has the last result.
pub const LAST: &str = "last";

fn own_words() -> impl Iterator<Item = &'static str> {
    FUNCTION_DOCS.iter().chain(console_bench::FUNCTION_DOCS).map(|word| word.name)
}

/// Library files by name.
pub type LibraryFiles = dyn Fn(&str) -> Option<Source> + Send + Sync;

type Print = dyn Fn(&str) + Send + Sync;

/// A conversation in the language. What of it was not yet said is not made yet.
pub struct Console {
    engine: Engine,
    said: BTreeSet<String>,
    own: Vec<Shared<Module>>,
    /// Whether help was asked for since the last line.
    helped: Arc<AtomicBool>,
    print: Arc<Print>,
    scope: Scope<'static>,
    functions: AST,
    answering: Answering,
    find: Option<Arc<FindCircuit>>,
    find_library: Option<Arc<LibraryFiles>>,
    libraries: Vec<Library>,
    names: Arc<Mutex<Vec<String>>>,
    pub(super) procedure_names: Vec<String>,
    pub(super) circuit_names: Vec<String>,
}

/// What a procedure at the prompt is: its title, and the names in it that can be typed.
pub struct Opened {
    /// The output.
    pub text: String,
    /// Ids, points and roles.
    pub names: Vec<String>,
}

/// Loads a procedure, or runs the one that is loaded; a sentence where it can't be done.
pub type Procedures = dyn Fn(Option<&str>) -> Result<Opened, String> + Send + Sync;

/// The result of a line.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// A result, as text.
    Result(String),
    /// The help text.
    Help(String),
    /// Nothing to show.
    Nothing,
    /// More lines are needed.
    Incomplete,
    /// An error, with its place.
    Wrong(Box<Diagnostic>),
}

impl Console {
    /// With everything loaded.
    pub fn new() -> Self {
        let mut module = Module::new();
        let helped = Arc::new(AtomicBool::new(false));
        let asked = Arc::clone(&helped);
        FuncRegistration::new("help").in_global_namespace().set_into_module(&mut module, move || {
            asked.store(true, Ordering::Relaxed);
            help::index()
        });
        let asked = Arc::clone(&helped);
        FuncRegistration::new("help").in_global_namespace().set_into_module(
            &mut module,
            move |name: ImmutableString| {
                asked.store(true, Ordering::Relaxed);
                help::of(&name)
            },
        );
        let mut scope = Scope::new();
        scope.push_dynamic(LAST, Dynamic::UNIT);
        let mut console = Self {
            engine: Engine::new_raw(),
            said: BTreeSet::new(),
            own: vec![module.into()],
            helped,
            print: Arc::new(|_| {}),
            scope,
            functions: AST::empty(),
            answering: Answering::default(),
            find: None,
            find_library: None,
            libraries: vec![],
            names: Arc::default(),
            procedure_names: vec![],
            circuit_names: vec![],
        };
        console.renew();
        console
    }

    /// An engine with this much of the language and all that only the prompt has.
    fn engine_of(&self, language: &Language) -> Engine {
        let mut engine = language.engine();
        for module in &self.own {
            engine.register_global_module(Shared::clone(module));
        }
        for library in &self.libraries {
            library.put_into(&mut engine);
        }
        let print = Arc::clone(&self.print);
        engine.on_print(move |text| print(text));
        engine
    }

    /// Makes what this text can reach.
    fn learn(&mut self, text: &str) {
        let before = self.said.len();
        self.said.extend(names_in(text).map(str::to_owned));
        if self.said.len() > before {
            self.renew();
        }
    }

    /// Reads the library files that a text calls into, and those that they do, each once.
    fn read_libraries(&mut self, text: &str, inside: &mut Vec<String>) -> Result<(), Box<Diagnostic>> {
        let Some(find) = self.find_library.clone() else { return Ok(()) };
        for name in called_into(text) {
            if inside.iter().any(|outer| outer == name) || self.libraries.iter().any(|library| library.name == name) {
                continue;
            }
            let Some(source) = find(name) else { continue };
            inside.push(name.to_owned());
            self.read_libraries(&source.text, inside)?;
            inside.pop();
            self.learn(&source.text);
            let library = procedure::load(name, source, &self.engine)
                .map_err(|problems| problems.into_iter().next().map(Box::new))
                .map_err(|first| first.unwrap_or_else(|| Box::new(Diagnostic::of_file(name, "it can't be read"))))?;
            library.put_into(&mut self.engine);
            self.libraries.push(library);
        }
        Ok(())
    }

    /// With library files that can be called into as in a procedure.
    pub fn with_libraries(mut self, find: Arc<LibraryFiles>) -> Self {
        self.find_library = Some(find);
        self
    }

    fn renew(&mut self) {
        self.engine = self.engine_of(&Language::with(self.said.iter().map(String::as_str)));
    }

    /// With simulated circuits to measure on, and procedures to step through.
    pub fn with_procedures(mut self, find: Arc<FindCircuit>, procedures: Arc<Procedures>) -> Self {
        let (names, load) = (Arc::clone(&self.names), Arc::clone(&procedures));
        let open = move |given: Option<&str>| -> Result<ImmutableString, Box<EvalAltResult>> {
            let opened = load(given)?;
            if given.is_some()
                && let Ok(mut names) = names.lock()
            {
                *names = opened.names;
            }
            Ok(opened.text.into())
        };
        let through = open.clone();
        self.find = Some(Arc::clone(&find));
        let mut module = console_bench::module(find, &self.answering);
        FuncRegistration::new("load")
            .in_global_namespace()
            .set_into_module(&mut module, move |name: ImmutableString| open(Some(&name)));
        FuncRegistration::new("step_through").in_global_namespace().set_into_module(&mut module, move || through(None));
        self.own.push(module.into());
        self.renew();
        self
    }

    /// Ids of the procedure at hand, and the points and roles that it names.
    pub(super) fn names(&self) -> Vec<String> {
        self.names.lock().map(|names| names.clone()).unwrap_or_default()
    }

    /// Sends what `print` says somewhere.
    pub fn on_print(&mut self, print: impl Fn(&str) + Send + Sync + 'static) {
        self.print = Arc::new(print);
        self.renew();
    }

    /// Whether more lines are needed before this can be said.
    pub fn is_incomplete(&self, text: &str) -> bool {
        match self.engine.compile_with_scope(&self.scope, text) {
            Ok(_) => false,
            Err(error) => match error.err_type() {
                ParseErrorType::UnexpectedEOF => true,
                ParseErrorType::MissingToken(token, _) => {
                    // A closing bracket that may still come, not one that is missing in the middle.
                    let at_end = error.position().line().is_none_or(|line| line >= text.lines().count());
                    matches!(token.as_str(), "}" | ")" | "]" | "," | ";") && at_end && open_brackets(text)
                }
                _ => false,
            },
        }
    }

    /// Says a line.
    pub fn say(&mut self, text: &str) -> Said {
        if text.trim().is_empty() {
            return Said::Nothing;
        }
        if let Err(problem) = self.read_libraries(text, &mut Vec::new()) {
            return Said::Wrong(problem);
        }
        if self.is_incomplete(text) {
            return Said::Incomplete;
        }
        self.learn(text);
        let source = Source { file: "prompt".to_owned(), text: text.to_owned() };
        let ast = match self.engine.compile_with_scope(&self.scope, text) {
            Ok(ast) => ast,
            Err(error) => {
                let mut problem = diagnose::of_parse(&source, &error);
                if let ParseErrorType::ModuleUndefined(name) = error.err_type() {
                    problem.title = format!("there is no library file `{name}`");
                    problem.hint =
                        Some("library files lie in the shop's `library` folder, or come with the program".to_owned());
                }
                return Said::Wrong(Box::new(problem));
            }
        };
        let whole = self.functions.merge(&ast);
        let own = FUNCTION_DOCS.iter().chain(console_bench::FUNCTION_DOCS).map(|word| (word.name, word.takes.len()));
        if let Some(problem) = check::first_wrong_call(&source, &ast, &self.functions, own) {
            return Said::Wrong(Box::new(problem));
        }
        self.helped.store(false, Ordering::Relaxed);
        match self.engine.eval_ast_with_scope::<Dynamic>(&mut self.scope, &whole) {
            Ok(value) => {
                self.functions = whole.clone_functions_only();
                if value.is_unit() {
                    return Said::Nothing;
                }
                let text = self.show(&value);
                let is_help = value.is_string() && self.helped.load(Ordering::Relaxed);
                self.scope.set_value(LAST, value);
                if is_help { Said::Help(text) } else { Said::Result(text) }
            }
            Err(error) => {
                let library = |name: &str| {
                    self.libraries.iter().find(|library| library.name == name).map(|library| &library.source)
                };
                Said::Wrong(Box::new(diagnose::of_run(&source, library, &error)))
            }
        }
    }

    /// A value as the prompt shows it: what is in a list or a map, too.
    fn show(&self, value: &Dynamic) -> String {
        if let Some(number) = value.read_lock::<f64>() {
            return crate::model::unit::significant(*number, 6);
        }
        if let Some(list) = value.read_lock::<rhai::Array>() {
            return format!("[{}]", list.iter().map(|item| self.show_inside(item)).collect::<Vec<_>>().join(", "));
        }
        if let Some(map) = value.read_lock::<rhai::Map>() {
            let fields = map.iter().map(|(name, item)| format!("{name}: {}", self.show_inside(item)));
            return format!("#{{{}}}", fields.collect::<Vec<_>>().join(", "));
        }
        let own = FnPtr::new("to_string")
            .and_then(|to_string| to_string.call::<ImmutableString>(&self.engine, &AST::empty(), (value.clone(),)));
        match own {
            // The engine's last resort is the name of the type.
            Ok(text) if text != self.engine.map_type_name(value.type_name()) => text.into(),
            _ => TypeName::of(value.type_name()).to_string(),
        }
    }

    fn show_inside(&self, value: &Dynamic) -> String {
        match value.read_lock::<ImmutableString>() {
            Some(text) => format!("{:?}", text.as_str()),
            None if value.is_unit() => "nothing".to_owned(),
            None => self.show(value),
        }
    }

    /// Every word that can be typed: functions and variables.
    pub fn words(&self) -> Vec<String> {
        let mut words: Vec<String> = function_docs::names()
            .into_iter()
            .chain(own_words())
            .map(str::to_owned)
            .chain(self.scope.iter().map(|(name, _, _)| name.to_owned()))
            .chain(self.functions.iter_functions().map(|function| function.name.to_owned()))
            .collect();
        words.sort();
        words.dedup();
        words
    }

    /// Whether there is a variable of this name that holds a quantity.
    pub(super) fn is_quantity(&self, variable: &str) -> bool {
        self.scope.get(variable).is_some_and(|value| value.is::<Quantity>())
    }

    /// The circuit that answers, if one was taken.
    pub(super) fn circuit(&self) -> Option<Arc<Circuit>> {
        self.answering.lock().ok()?.as_ref().map(|bench| Arc::clone(bench.circuit()))
    }

    /// A circuit by its name.
    pub(super) fn circuit_named(&self, name: &str) -> Option<Arc<Circuit>> {
        self.find.as_ref().and_then(|find| find(name).ok())
    }

    /// Names of procedures and circuits that can be typed.
    pub fn with_names(mut self, procedures: Vec<String>, circuits: Vec<String>) -> Self {
        (self.procedure_names, self.circuit_names) = (procedures, circuits);
        self
    }
}

impl Default for Console {
    fn default() -> Self {
        Self::new()
    }
}

/// The names before `::` in a text, comments apart.
fn called_into(text: &str) -> impl Iterator<Item = &str> {
    let code = text.lines().map(|line| line.split("//").next().unwrap_or_default());
    code.flat_map(|line| line.match_indices("::").map(move |(at, _)| (line, at))).filter_map(|(line, at)| {
        let before = line.get(..at)?;
        let name = before.rsplit(|c: char| !(c.is_alphanumeric() || c == '_')).next()?;
        (!name.is_empty()).then_some(name)
    })
}

fn open_brackets(text: &str) -> bool {
    let count = |open: char, close: char| text.matches(open).count() > text.matches(close).count();
    count('(', ')') || count('[', ']') || count('{', '}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_print_in_the_prefix_that_a_meter_would_show() {
        let mut console = Console::new();
        assert_eq!(console.say("5.V / 220.ohm"), Said::Result("22.73 mA".into()));
        assert_eq!(console.say("last * 220.ohm"), Said::Result("5 V".into()));
        assert_eq!(console.say("let supply = 12.6.V;"), Said::Nothing);
        assert_eq!(console.say("supply / 4.ohm"), Said::Result("3.15 A".into()));
        assert_eq!(console.say("fn half(x) { x / 2 }"), Said::Nothing);
        assert_eq!(console.say("half(supply)"), Said::Result("6.3 V".into()));
    }

    #[cfg(feature = "engine-names")]
    #[test]
    fn help_tells_of_every_function_that_only_the_prompt_has_and_of_no_other() {
        let find = |_: &str| Err("no circuit here".to_owned());
        let procedures = |_: Option<&str>| Err("no procedure here".to_owned());
        let console = Console::new().with_procedures(Arc::new(find), Arc::new(procedures));
        let mut engine = Engine::new_raw();
        for module in &console.own {
            engine.register_global_module(Shared::clone(module));
        }
        let named = |info: rhai::FuncInfo| Some(info.metadata.name.to_string());
        let has: BTreeSet<String> = engine.collect_fn_metadata(None, named, true).into_iter().collect();
        let told: BTreeSet<String> = own_words().map(str::to_owned).collect();
        assert_eq!(has, told);
    }

    #[test]
    fn help_finds_what_only_the_prompt_has_and_what_answers_can_be_asked() {
        assert!(help::of("volts").contains("red on one point"), "{}", help::of("volts"));
        assert!(
            help::of("drops_out").starts_with("Sweep.drops_out \u{2192} true or false\n"),
            "{}",
            help::of("drops_out")
        );
    }

    #[test]
    fn help_tells_of_a_kind_of_answer_what_it_can_be_asked() {
        let told = help::of("Reading");
        assert!(told.starts_with("Reading: given by `module_shows`, `read`, `read_ac`, `read_diode`"), "{told}");
        assert!(told.contains("\n.low \u{2192} true or false\n"), "{told}");
        let told = help::of("Limits");
        assert!(told.contains("`at_least`, `at_most`, `between`") && told.contains("\nTaken by: `"), "{told}");
        assert!(help::of("bench").contains("bench(circuit: text) \u{2192} text\n  Takes a healthy circuit"));
        assert!(!help::index().contains("sleep"));
    }

    #[test]
    fn results_with_several_fields_lists_maps_and_limits_print_what_is_in_them() {
        let mut console = Console::new();
        for (said, shown) in [
            ("ohms_law(12.V, 4.ohm)", "volts 12 V, amperes 3 A, ohms 4 Ω, watts 36 W"),
            ("[ohms_law(12.V, 4.ohm).watts, \"a\", 1.5, ()]", "[36 W, \"a\", 1.5, nothing]"),
            ("#{drop: 370.mV, at: [1, 2]}", "#{at: [1, 2], drop: 370 mV}"),
            ("between(4.75.V, 5.25.V)", "4.75 … 5.25 V"),
            ("near(\"lift\")", "a place near hazards"),
            ("5.V > 4.V", "true"),
        ] {
            assert_eq!(console.say(said), Said::Result(shown.into()), "{said}");
        }
    }

    #[test]
    fn a_function_that_was_not_named_before_is_there_when_it_is() {
        let mut console = Console::new();
        assert_eq!(console.say("fn twice(f, x) { f.call(x) + f.call(x) }"), Said::Nothing);
        assert_eq!(console.say("twice(|x| x / 2, 6.V)"), Said::Result("6 V".into()));
        assert!(matches!(console.say("[1.V, 2.A].contains(1.A)"), Said::Wrong(_)));
        assert_eq!(console.say("Fn(\"ohms\" + \"_law\").call(12.V, 4.ohm).amperes"), Said::Result("3 A".into()));
    }

    #[test]
    fn lines_go_on_until_the_brackets_close_and_errors_end_nothing() {
        let mut console = Console::new();
        assert_eq!(console.say("(5.V +"), Said::Incomplete);
        assert_eq!(console.say("(5.V +\n1.V)"), Said::Result("6 V".into()));
        assert!(matches!(console.say("5.V + 1.A"), Said::Wrong(_)));
        assert!(matches!(console.say("5.V ++"), Said::Wrong(_)));
        assert!(matches!(console.say("nonsense(3)"), Said::Wrong(_)));
        assert_eq!(console.say("1.V + 1.V"), Said::Result("2 V".into()));
    }
}
