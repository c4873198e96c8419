//! How narrowly each limit decides.

use super::tally::Limit;
use crate::model::proof::case::Case;
use crate::model::proof::margin::LimitMargin;
use std::collections::BTreeMap;

/// How close the readings come to each limit, from both sides; a case belongs outside when most of its runs read so.
pub(super) fn margins(cases: &[Case], limits: &BTreeMap<String, Limit>) -> Vec<LimitMargin> {
    let mut margins = Vec::new();
    for (prompt, limit) in limits {
        for (side, value) in [("low", limit.low), ("high", limit.high)] {
            let Some(value) = value else { continue };
            let (mut inside, mut outside): (Option<f64>, Option<f64>) = (None, None);
            for asked in cases.iter().filter_map(|case| case.prompts.get(prompt)) {
                let (Some(least), Some(greatest)) = (asked.least, asked.greatest) else { continue };
                let count = if side == "low" { asked.low } else { asked.high };
                let belongs_outside = 2 * count > asked.asked;
                match (side, belongs_outside) {
                    ("low", false) => inside = Some(inside.map_or(least, |inside| inside.min(least))),
                    ("low", true) => outside = Some(outside.map_or(greatest, |outside| outside.max(greatest))),
                    (_, false) => inside = Some(inside.map_or(greatest, |inside| inside.max(greatest))),
                    (_, true) => outside = Some(outside.map_or(least, |outside| outside.min(least))),
                }
            }
            let overlap = match (inside, outside) {
                (Some(inside), Some(outside)) if side == "low" => inside <= outside,
                (Some(inside), Some(outside)) => inside >= outside,
                _ => false,
            };
            let best = match (inside, outside) {
                (Some(inside), Some(outside)) if !overlap => Some((inside + outside) / 2.0),
                _ => None,
            };
            let unit = limit.unit.word();
            margins.push(LimitMargin {
                prompt: prompt.clone(),
                side,
                limit: value,
                varies: limit.varies,
                unit,
                inside,
                outside,
                best,
                overlap,
            });
        }
    }
    let closeness = |margin: &LimitMargin| -> f64 {
        let scale = margin.limit.abs().max(1e-9);
        [margin.inside, margin.outside]
            .into_iter()
            .flatten()
            .map(|value| (value - margin.limit).abs() / scale)
            .fold(f64::INFINITY, f64::min)
    };
    margins.sort_by(|a, b| b.overlap.cmp(&a.overlap).then(closeness(a).total_cmp(&closeness(b))));
    margins
}
