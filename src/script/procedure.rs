//! A procedure, read and checked, ready to run.

use super::check::{self, Known};
use super::diagnose::{self, Source};
use super::engine::Language;
use super::header::{self, Header};
use crate::model::answered_by::AnsweredBy;
use crate::model::diagnostic::Diagnostic;
use crate::model::event::NamedCause;
use crate::model::points::Points;
use crate::model::started::Started;
use crate::model::words;
use rhai::{AST, Engine, Module, OptimizationLevel, Scope, Shared};
use std::collections::BTreeSet;
use std::sync::Arc;

/// A library file that a procedure uses.
#[derive(Clone)]
pub struct Library {
    /// Its name.
    pub name: String,
    /// Its text.
    pub source: Source,
    module: Shared<Module>,
    ast: AST,
}

/// A procedure, read and checked.
pub struct Procedure {
    /// Its name.
    pub name: String,
    /// Its text.
    pub source: Source,
    /// Its header.
    pub header: Header,
    /// Library files, in the order of the header.
    pub libraries: Vec<Library>,
    /// Causes that it may conclude.
    pub causes: Arc<Vec<NamedCause>>,
    /// How many step headings it has.
    pub steps: usize,
    /// What is said in vain in the headers of its library files.
    header_errors: Vec<Diagnostic>,
    language: Language,
    pub(super) ast: AST,
    /// The functions that counters call, where what runs is counted.
    counting: Option<Shared<Module>>,
}

/// Where library files come from: by name, file name and text.
pub type FindLibrary<'a> = dyn Fn(&str) -> Option<Source> + 'a;

impl Library {
    /// Makes its functions callable by its name.
    pub(super) fn put_into(&self, engine: &mut Engine) {
        engine.register_static_module(self.name.as_str(), Shared::clone(&self.module));
    }
}

impl Procedure {
    /// Reads and checks a procedure with its library files.
    ///
    /// # Errors
    /// Everything that can be found wrong without running it.
    pub fn compile(name: &str, source: Source, find_library: &FindLibrary<'_>) -> Result<Self, Vec<Diagnostic>> {
        not_too_long(&source)?;
        let header = header::parse(&source.file, &source.text).map_err(|error| vec![*error])?;
        // Left out; a revision that is written begins at 1.
        if header.revision == 0 {
            let start = source.text.find("//!").unwrap_or(0);
            return Err(vec![
                Diagnostic::at(&source.file, &source.text, start..start + 3, "the header has no `revision`")
                    .with_hint("add the line `//! revision = 1` among the `//!` lines"),
            ]);
        }
        let mut found = Vec::with_capacity(header.uses.len());
        for used in &header.uses {
            found.push((used, find(used, &source, find_library)?));
        }
        let mut texts = vec![source.text.as_str()];
        texts.extend(found.iter().map(|(_, library)| library.text.as_str()));
        let language = Language::of(&texts);
        let mut engine = language.engine();
        let mut libraries: Vec<Library> = Vec::new();
        let mut causes = header.named_causes();
        let mut header_errors = Vec::new();
        for (used, library) in found {
            let library = load(used, library, &engine)?;
            let library_header =
                header::parse(&library.source.file, &library.source.text).map_err(|error| vec![*error])?;
            header_errors.extend(header::does_nothing_in_a_library(&library_header, &library.source));
            for cause in library_header.named_causes() {
                if !causes.iter().any(|mine| mine.id == cause.id) {
                    causes.push(cause);
                }
            }
            // From here on the compiler knows its functions: it refuses those of a file that it never heard of.
            library.put_into(&mut engine);
            libraries.push(library);
        }
        let ast = compile(&engine, &source)?;
        let modules: Vec<_> =
            libraries.iter().map(|library| (library.name.clone(), Shared::clone(&library.module))).collect();
        let known = Known { libraries: &modules, causes: &causes };
        let mut problems = check::check(&source, &ast, &known);
        let mut steps = check::count_steps(&ast);
        for library in &libraries {
            problems.extend(check::check(&library.source, &library.ast, &known));
            steps += check::count_steps(&library.ast);
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let (name, causes) = (name.to_owned(), Arc::new(causes));
        Ok(Self { name, source, header, libraries, causes, steps, header_errors, language, ast, counting: None })
    }

    /// The first event of a run of it, of which nothing else is said.
    pub fn started(&self, answered_by: AnsweredBy) -> Started {
        Started::of(&self.name, &self.header.title, self.header.revision, answered_by)
    }

    /// The causes of its own header that no text in it or in its library files names.
    pub fn causes_never_named(&self) -> Vec<&str> {
        let mut scripts = vec![&self.ast];
        scripts.extend(self.libraries.iter().map(|library| &library.ast));
        let texts = check::texts(&scripts);
        self.header.causes.keys().map(String::as_str).filter(|cause| !texts.contains(*cause)).collect()
    }

    /// Slips in it and in its library files that show only where they are come to; `zones` are those that cautions know,
    /// `points` the names of its circuit.
    pub fn semantic_errors(&self, zones: &BTreeSet<&str>, points: Option<&Points>) -> Vec<Diagnostic> {
        let mut scripts = vec![(&self.source, &self.ast)];
        scripts.extend(self.libraries.iter().map(|library| (&library.source, &library.ast)));
        let mut semantic_errors = header::empty_texts(&self.header, &self.source);
        semantic_errors.extend(self.header_errors.iter().cloned());
        semantic_errors.extend(self.never_run_after_repair());
        semantic_errors.extend(check::semantic_errors(&scripts, zones, points));
        semantic_errors
    }

    /// What in it and in its library files is probably not meant as it stands; none of it is an error.
    pub fn remarks(&self) -> Vec<Diagnostic> {
        let mut scripts = vec![(&self.source, &self.ast)];
        scripts.extend(self.libraries.iter().map(|library| (&library.source, &library.ast)));
        check::remarks(&scripts)
    }

    /// What can be said of its prompts' ids, library files included, without running it.
    pub fn prompt_ids(&self) -> check::PromptIds {
        let mut scripts = vec![&self.ast];
        scripts.extend(self.libraries.iter().map(|library| &library.ast));
        check::PromptIds::of(&scripts)
    }

    /// An engine that finds this procedure's library files.
    pub(super) fn engine(&self) -> Engine {
        let mut engine = self.language.engine();
        if let Some(counting) = &self.counting {
            engine.register_global_module(Shared::clone(counting));
        }
        for library in &self.libraries {
            library.put_into(&mut engine);
        }
        engine
    }

    /// Its own text, and those of its library files.
    pub(super) fn texts(&self) -> Vec<&Source> {
        std::iter::once(&self.source).chain(self.libraries.iter().map(|library| &library.source)).collect()
    }

    /// One of these texts with everything that stands in it; else `if true` is gone before anybody sees it.
    pub(super) fn not_optimized(&self, text: &str) -> Option<AST> {
        let mut engine = self.engine();
        engine.set_optimization_level(OptimizationLevel::None);
        engine.compile(text).ok()
    }

    /// The same procedure with other texts, which call functions that count; and each of its scripts. `None` where the engine
    /// does not take them.
    pub(super) fn with_texts(&self, texts: &[&str], counting: Shared<Module>) -> Option<(Self, Vec<AST>)> {
        let mut engine = self.language.engine();
        engine.register_global_module(Shared::clone(&counting));
        engine.set_optimization_level(OptimizationLevel::None);
        // What is counted stands one block deeper.
        engine.set_max_expr_depths(0, 0);
        let (own, others) = texts.split_first()?;
        let mut libraries: Vec<Library> = Vec::with_capacity(others.len());
        for (library, text) in self.libraries.iter().zip(others) {
            let source = Source { file: library.source.file.clone(), text: (*text).to_owned() };
            let with_counters = load(&library.name, source, &engine).ok()?;
            with_counters.put_into(&mut engine);
            libraries.push(Library { source: library.source.clone(), ..with_counters });
        }
        let ast = engine.compile(own).ok()?;
        let scripts = std::iter::once(&ast).chain(libraries.iter().map(|library| &library.ast)).cloned().collect();
        let counted = Self {
            name: self.name.clone(),
            source: self.source.clone(),
            header: self.header.clone(),
            libraries,
            causes: Arc::clone(&self.causes),
            steps: self.steps,
            header_errors: vec![],
            language: self.language.clone(),
            ast,
            counting: Some(counting),
        };
        Some((counted, scripts))
    }

    /// Whether it has a check for after the repair.
    pub fn has_after_repair(&self) -> bool {
        self.ast.iter_functions().any(|function| function.name == AFTER_REPAIR && function.params.is_empty())
    }

    /// A function that was surely meant for after the repair, and is never run.
    fn never_run_after_repair(&self) -> Option<Diagnostic> {
        if self.has_after_repair() {
            return None;
        }
        let called = check::called(&self.ast);
        let meant = |name: &str| name == AFTER_REPAIR || words::nearest(name, [AFTER_REPAIR]).is_some();
        let mut functions = self.ast.shared_lib().iter_script_fn_info().filter(|(_, _, name, ..)| meant(name));
        let (_, _, name, takes, function) = functions.find(|(_, _, name, ..)| !called.contains(*name))?;
        let title = match takes {
            0 => format!("`{name}()` is never called"),
            _ => format!("`{name}` with {} is never called", words::arguments([takes])),
        };
        let place = super::place::span(&self.source.text, function.body.start_position());
        Some(
            Diagnostic::at(&self.source.file, &self.source.text, place, title)
                .with_hint(format!("did you mean `{AFTER_REPAIR}()`? That one is run after the repair")),
        )
    }

    /// The file of this library.
    pub(super) fn library(&self, name: &str) -> Option<&Source> {
        self.libraries.iter().find(|library| library.name == name).map(|library| &library.source)
    }
}

/// The function that is run after the repair.
pub const AFTER_REPAIR: &str = "after_repair";

/// Longest script that is read, in bytes: as long as a circuit may be.
const LONGEST_TEXT: usize = 512 * 1024;

fn not_too_long(source: &Source) -> Result<(), Vec<Diagnostic>> {
    let length = source.text.len();
    if length <= LONGEST_TEXT {
        return Ok(());
    }
    let kilobytes = LONGEST_TEXT / 1024;
    Err(vec![
        Diagnostic::of_file(
            &source.file,
            format!("a script has at most {kilobytes} KB, and this one has {}", length.div_ceil(1024)),
        )
        .with_hint("put what several procedures share into library files, or look whether this is a script at all"),
    ])
}

fn compile(engine: &Engine, source: &Source) -> Result<AST, Vec<Diagnostic>> {
    let scope = Scope::new();
    engine.compile_with_scope(&scope, &source.text).map_err(|error| vec![diagnose::of_parse(source, &error)])
}

fn find(name: &str, procedure: &Source, find_library: &FindLibrary<'_>) -> Result<Source, Vec<Diagnostic>> {
    find_library(name).ok_or_else(|| {
        let at = procedure.text.find(&format!("\"{name}\"")).unwrap_or(0);
        vec![
            Diagnostic::at(
                &procedure.file,
                &procedure.text,
                at..at + name.len() + 2,
                format!("there is no library file `{name}`"),
            )
            .with_hint("library files lie in the shop's `library` folder, or come with the program"),
        ]
    })
}

/// Reads a library file. The engine has to have the functions that it calls.
pub(super) fn load(name: &str, source: Source, engine: &Engine) -> Result<Library, Vec<Diagnostic>> {
    not_too_long(&source)?;
    let mut ast = compile(engine, &source)?;
    if ast.statements().iter().any(|statement| !matches!(statement, rhai::Stmt::Noop(_))) {
        let place = ast.statements()[0].position();
        return Err(vec![
            Diagnostic::at(
                &source.file,
                &source.text,
                super::place::span(&source.text, place),
                "a library file has functions only, nothing outside of them",
            )
            .with_hint("put it into a `fn`"),
        ]);
    }
    ast.set_source(name);
    let module = Module::eval_ast_as_new(Scope::new(), &ast, engine)
        .map_err(|error| vec![diagnose::of_run(&source, |_| None, &error)])?;
    Ok(Library { name: name.to_owned(), source, module: module.into(), ast })
}
