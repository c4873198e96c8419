//! What a run begins with: the procedure and all that it depends on, the job, the vehicle's state.

use crate::circuit::netlist::Circuit;
use crate::model::caution::CautionRules;
use crate::model::diagnostic::{self, Diagnostic};
use crate::model::points::Points;
use crate::model::source::{SourceKind, SourceRef};
use crate::records::store::Store;
use crate::run::answerer::{Answerer, Answering, MeterInUse};
use crate::run::journal::{Clock, Journal};
use crate::run::session::Parts;
use crate::script::diagnose::Source;
use crate::script::header;
use crate::script::procedure::Procedure;
use crate::shop::circuits::find;
use crate::shop::error::ShopError;
use crate::shop::settings::Settings;
use std::sync::Arc;

/// The answerer of a run, and what depends on it.
pub type WhoAnswers = (Box<dyn Answerer>, Answering);

/// A procedure with all that it depends on.
pub struct Loaded {
    /// The procedure.
    pub procedure: Procedure,
    /// The circuit's names.
    pub points: Option<Arc<Points>>,
    /// Caution rules.
    pub rules: Arc<CautionRules>,
    /// Whether the circuit's pins, colors and values are an example's.
    pub is_example: bool,
    sources: Vec<(SourceKind, String, String)>,
    circuit_errors: Vec<Diagnostic>,
}

impl Loaded {
    /// By name or path, with the shop's and the program's library.
    pub fn find(settings: &Settings, given: &str) -> Result<Self, ShopError> {
        let (name, source) = settings.shop.procedure(given)?;
        let procedure =
            Procedure::compile(&name, source, &|library| settings.shop.library(library)).map_err(ShopError::Input)?;
        let rules = settings.shop.cautions()?;
        let kept = match settings.shop.shop.cautions.is_empty() {
            true => crate::shop::builtin::cautions().1.to_owned(),
            false => toml::to_string(&rules).map_err(|error| ShopError::Files(error.to_string()))?,
        };
        let circuit = match &procedure.header.circuit {
            Some(circuit) => Some(settings.shop.circuit(circuit).map_err(|error| no_circuit(&procedure, error))?),
            None => None,
        };
        let loaded = Self::assembled(procedure, (rules, kept), circuit)?;
        if !loaded.circuit_errors.is_empty() {
            return Err(ShopError::Input(loaded.circuit_errors));
        }
        loaded.without_slips(loaded.points.as_deref())?;
        Ok(loaded)
    }

    /// Refuses what can be seen to be wrong on a circuit with these names.
    pub fn without_slips(&self, points: Option<&Points>) -> Result<(), ShopError> {
        let zones = self.rules.zones().into_iter().map(|zone| zone.as_str()).collect();
        let semantic_errors = self.procedure.semantic_errors(&zones, points);
        if semantic_errors.is_empty() { Ok(()) } else { Err(ShopError::Input(semantic_errors)) }
    }

    /// What in the procedure is probably not meant as it stands.
    pub fn remarks(&self) -> Vec<Diagnostic> {
        self.procedure.remarks()
    }

    /// From the copies that were kept with a record.
    pub fn kept(store: &Store, name: &str, sources: &[SourceRef]) -> Result<Self, ShopError> {
        let one = |kind: SourceKind| sources.iter().find(|source| source.kind == kind);
        let procedure = one(SourceKind::Procedure)
            .ok_or_else(|| ShopError::refused(format!("the record of {name} names no procedure")))?;
        let source = Source { file: procedure.name.clone(), text: store.kept(procedure)? };
        let mut libraries: Vec<(String, Source)> = Vec::new();
        for library in sources.iter().filter(|source| source.kind == SourceKind::Library) {
            libraries.push((
                library.name.clone(),
                Source { file: format!("{}.rhai", library.name), text: store.kept(library)? },
            ));
        }
        let find = |wanted: &str| libraries.iter().find(|(name, _)| name == wanted).map(|(_, source)| source.clone());
        let procedure = Procedure::compile(name, source, &find).map_err(ShopError::Input)?;
        let rules = match one(SourceKind::Cautions) {
            Some(cautions) => {
                let text = store.kept(cautions)?;
                let rules = toml::from_str(&text)
                    .map_err(|error| ShopError::input(diagnostic::of_toml(&cautions.name, &text, &error)))?;
                (rules, text)
            }
            None => Default::default(),
        };
        let circuit = match one(SourceKind::Circuit) {
            Some(circuit) => {
                Some((circuit.name.clone(), Source { file: circuit.name.clone(), text: store.kept(circuit)? }))
            }
            None => None,
        };
        Self::assembled(procedure, rules, circuit)
    }

    fn assembled(
        procedure: Procedure,
        (rules, rules_text): (CautionRules, String),
        circuit: Option<(String, Source)>,
    ) -> Result<Self, ShopError> {
        let mut sources = vec![(SourceKind::Procedure, procedure.source.file.clone(), procedure.source.text.clone())];
        for library in &procedure.libraries {
            sources.push((SourceKind::Library, library.name.clone(), library.source.text.clone()));
        }
        let (mut circuit_errors, mut is_example) = (Vec::new(), false);
        let points = match circuit {
            Some((name, source)) => {
                let circuit = crate::shop::circuits::parse(&source)?;
                circuit_errors = crate::shop::circuits::semantic_errors(&source, &circuit);
                let points = circuit.names();
                is_example = circuit.is_example();
                sources.push((SourceKind::Circuit, name, source.text));
                Some(Arc::new(points))
            }
            None => None,
        };
        sources.push((SourceKind::Cautions, "cautions.toml".to_owned(), rules_text));
        Ok(Self { procedure, points, rules: Arc::new(rules), is_example, sources, circuit_errors })
    }

    /// The circuit's file, where there is one.
    pub fn circuit_source(&self) -> Option<Source> {
        let (_, name, text) = self.sources.iter().find(|(kind, ..)| *kind == SourceKind::Circuit)?;
        Some(Source { file: name.clone(), text: text.clone() })
    }

    /// Takes another circuit than the one that the procedure names.
    pub fn use_circuit(&mut self, name: &str, source: Source, circuit: &Circuit) {
        self.points = Some(Arc::new(circuit.names()));
        self.is_example = circuit.is_example();
        self.sources.retain(|(kind, ..)| *kind != SourceKind::Circuit);
        self.sources.push((SourceKind::Circuit, name.to_owned(), source.text));
    }

    /// Takes the circuit that another run depends on.
    pub fn use_circuit_of(&mut self, other: &Self) {
        self.points.clone_from(&other.points);
        self.is_example = other.is_example;
        self.sources.retain(|(kind, ..)| *kind != SourceKind::Circuit);
        self.sources.extend(other.sources.iter().filter(|(kind, ..)| *kind == SourceKind::Circuit).cloned());
    }

    /// Keeps everything that the run depends on, and names it by its digest.
    pub fn keep(&self, store: &Store, meter: &MeterInUse, shop_text: &str) -> Result<Vec<SourceRef>, ShopError> {
        let mut refs = Vec::new();
        for (kind, name, text) in &self.sources {
            refs.push(store.keep(*kind, name, text.as_bytes())?);
        }
        if let Some(meter) = meter.meter() {
            let text = toml::to_string(meter).map_err(|error| ShopError::Files(error.to_string()))?;
            refs.push(store.keep(SourceKind::Meter, &meter.name, text.as_bytes())?);
        }
        if !shop_text.is_empty() {
            refs.push(store.keep(SourceKind::People, "shop.toml", shop_text.as_bytes())?);
        }
        Ok(refs)
    }

    /// What a session of this procedure is made of.
    pub fn parts(
        &self,
        journal: Box<dyn Journal>,
        (answerer, answering): WhoAnswers,
        clock: Box<dyn Clock>,
        meter: Arc<MeterInUse>,
    ) -> Parts {
        let (rules, causes) = (Arc::clone(&self.rules), Arc::clone(&self.procedure.causes));
        Parts { journal, answerer, answering, clock, rules, meter, causes, past: None }
    }

    /// The digest of the procedure with its library files, circuit and cautions, to see whether any was edited.
    pub fn digests(&self) -> Vec<(SourceKind, String, String)> {
        self.sources
            .iter()
            .map(|(kind, name, text)| (*kind, name.clone(), crate::records::digest::digest(text.as_bytes())))
            .collect()
    }
}

/// A circuit that the header names and that can't be had, at its place.
fn no_circuit(procedure: &Procedure, error: ShopError) -> ShopError {
    let ShopError::NoSuchFile { sentence, hint } = error else { return error };
    let source = &procedure.source;
    let mut diagnostic = Diagnostic::at(&source.file, &source.text, header::place_of_circuit(source), sentence);
    diagnostic.hint = Some(hint);
    ShopError::input(diagnostic)
}

/// The circuit for a bench. The procedure's leads are then those of this circuit.
pub fn for_bench(
    settings: &Settings,
    loaded: &mut Loaded,
    wanted: Option<&str>,
) -> Result<(String, Arc<Circuit>), ShopError> {
    let named = match (wanted, &loaded.procedure.header.circuit) {
        (None, Some(circuit)) => circuit.clone(),
        (None, None) => {
            return Err(ShopError::refused_with(
                format!("`{}` names no circuit", loaded.procedure.name),
                "name one: --simulate CIRCUIT",
            ));
        }
        (Some(named), _) => named.to_owned(),
    };
    let (name, source, circuit) = find(settings, &named)?;
    loaded.use_circuit(&name, source, &circuit);
    loaded.without_slips(loaded.points.as_deref())?;
    Ok((name, circuit))
}
