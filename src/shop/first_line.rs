//! A record's first line, held against the sources that were kept with it: what it says of them can be edited, they can't.

use crate::model::meter::Meter;
use crate::model::source::SourceKind;
use crate::model::started::Started;
use crate::script::procedure::Procedure;
use std::path::Path;

/// Where the first line says something else than the kept sources, each in a sentence. `meter` is the kept one.
pub fn differences(started: &Started, procedure: &Procedure, meter: Option<&Meter>) -> Vec<String> {
    let mut differences = Vec::new();
    let mut differ = |what: &str, says: &str, kept: &str| {
        if says != kept {
            differences.push(format!("line 1 has the {what} `{says}`, and the kept copy has `{kept}`"));
        }
    };
    if let Some(run) = started.procedure() {
        differ("title", &run.title, &procedure.header.title);
        differ("revision", &run.revision.to_string(), &procedure.header.revision.to_string());
        let source = started.sources.iter().find(|source| source.kind == SourceKind::Procedure);
        if let Some(stem) = source.and_then(|source| Path::new(&source.name).file_stem()).and_then(|stem| stem.to_str())
        {
            differ("procedure", &run.name, stem);
        }
    }
    // A simulated vehicle is measured with a meter of its own, which the job does not name.
    if let Some(meter) = meter.filter(|_| started.simulated.is_none()) {
        differ("meter", started.job.meter.as_deref().unwrap_or_default(), &meter.id);
    }
    let kept = |kind: SourceKind| started.sources.iter().any(|source| source.kind == kind);
    // Without a shop a meter is only a name, and nothing is kept of it.
    if let Some(named) = started.job.meter.as_deref().filter(|_| started.simulated.is_none())
        && kept(SourceKind::People)
        && !kept(SourceKind::Meter)
    {
        differences.push(format!("line 1 names the meter `{named}`, and none was kept"));
    }
    differences
}
