//! What ran of the scripts, in the tracefile format that coverage viewers read.

use super::one_line::plain;
use crate::model::proof::coverage::Script;
use std::collections::BTreeMap;
use std::fmt::Write;

/// The scripts as one tracefile.
pub fn lcov<'a>(scripts: impl Iterator<Item = &'a Script>) -> String {
    let mut out = String::new();
    for script in scripts {
        let _ = writeln!(out, "TN:\nSF:{}", plain(&script.file));
        let mut numbers: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for branch in &script.branches {
            // A viewer knows a branch by its line, its group and its number there.
            let number = numbers.entry((branch.line, branch.group)).or_default();
            let taken = if branch.reached { branch.runs.to_string() } else { "-".to_owned() };
            let _ = writeln!(out, "BRDA:{},{},{number},{taken}", branch.line, branch.group);
            *number += 1;
        }
        let ran = script.branches.len() - script.never_ran().count();
        let _ = writeln!(out, "BRF:{}\nBRH:{ran}", script.branches.len());
        for line in &script.lines {
            let _ = writeln!(out, "DA:{},{}", line.line, line.runs);
        }
        let hit = script.lines.iter().filter(|line| line.runs > 0).count();
        let _ = writeln!(out, "LF:{}\nLH:{hit}\nend_of_record", script.lines.len());
    }
    out
}
