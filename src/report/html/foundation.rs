//! What the record rests on, in small print; what did not go straight.

use super::comparison::state_words;
use crate::model::link::LinkKind;
use crate::report::detours;
use crate::report::material::{Material, file_name};
use crate::report::one_line::{named, plain};
use maud::{Markup, html};

/// What was skipped, taken back, doubted.
pub fn detours(material: &Material) -> Markup {
    let all = detours::of(&material.record);
    html! {
        section aria-labelledby="detours" {
            h2 id="detours" { "Skipped, undone, doubted" }
            @if all.is_empty() { p { "Nothing was skipped, undone or doubted." } } @else {
                table class="detours" {
                    caption class="unseen" { "What was skipped, undone or doubted, and why" }
                    thead { tr {
                        th scope="col" { "Where" }
                        th scope="col" { "What" }
                        th scope="col" { "Why, and what it was" }
                    } }
                    tbody { @for detour in &all { tr {
                        th scope="row" { (detour.at) }
                        td { (detour.what) }
                        td { (detour.detail) }
                    } } }
                }
            }
        }
    }
}

/// Digests of the journal and of everything that the run depended on.
pub fn digests(material: &Material) -> Markup {
    let started = &material.record.started;
    html! {
        section class="small" aria-labelledby="digests" {
            h2 id="digests" { "What the record rests on" }
            table class="digests" {
                caption { "SHA-256 of the journal and of the files that were kept with it. Written by " (plain(&started.program)) "." }
                thead { tr {
                    th scope="col" { "What" }
                    th scope="col" { "SHA-256" }
                } }
                tbody {
                    tr {
                        th scope="row" { "journal " (named(&material.name)) }
                        td { code { (material.journal_sha256) } }
                    }
                    @if let Some(link) = &started.link {
                        tr {
                            th scope="row" {
                                (link_words(link.kind)) " " (named(&link.record))
                                @if let Some(earlier) = &material.earlier { span class="aside" { (state_words(earlier.state)) } }
                            }
                            td { code { (plain(&link.sha256)) } }
                        }
                    }
                    @for source in &started.sources {
                        tr {
                            th scope="row" { (source.kind.in_words()) " " (plain(file_name(source))) }
                            td { code { (plain(&source.sha256)) } }
                        }
                    }
                }
            }
        }
    }
}

/// How a record came out of another, before that one's name.
pub const fn link_words(kind: LinkKind) -> &'static str {
    match kind {
        LinkKind::AfterRepair => "check after the repair of",
        LinkKind::EditedProcedure => "edited procedure, begun as",
        LinkKind::ChangedRow => "changed row, before as",
    }
}
