//! The full report.

use super::{cautions, comparison, foundation, frame, readings, result};
use crate::report::material::Material;
use crate::report::one_line::plain;
use maud::html;

/// As an HTML page.
pub fn page(material: &Material) -> String {
    let started = &material.record.started;
    let title = plain(started.title());
    let heading = match (started.entry_point().is_some(), material.is_after_a_repair()) {
        (false, _) => "Test record",
        (true, true) => "Test record: check after the repair",
        (true, false) => "Test record: tested again",
    };
    let content = html! {
        header {
            (frame::shop(material))
            p class="kind" { (heading) }
            h1 { (title) }
        }
        main {
            (frame::banner(material))
            (frame::notices(material))
            (result::result(material))
            (result::checks(material))
            (result::job(material))
            (comparison::comparison(material))
            (readings::steps(material))
            (foundation::detours(material))
            (cautions::cautions(material))
            (cautions::signoffs(material))
            (frame::deference(material))
            (foundation::digests(material))
        }
    };
    frame::page(&format!("{heading}: {title}"), "full", &content)
}
