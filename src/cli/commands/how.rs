//! `verify --how`: the commands with which anybody checks a record, with no program of ours.

use crate::cli::error::CliError;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::signoff::NAMESPACE;
use crate::records::store::{JOURNAL, slug};
use crate::report::table::harmless;
use crate::shop::examine::Examination;
use std::fmt::Write;
use std::path::Path;

/// Prints a shell script. `path` is the record's folder; `None` for a pack, which is unpacked first.
pub fn how(found: &Examination, path: Option<&Path>, output: &mut Output) -> Result<(), CliError> {
    let name = Clean::name(&found.name);
    if found.chain.sign_offs.is_empty() {
        return Err(CliError::usage(format!("{name} has no sign-off that could be checked")));
    }
    let mut line = |text: &str| output.line(text);
    line("# What this needs: a shell, sed, head, sha256sum and OpenSSH's ssh-keygen.");
    match path {
        Some(path) => line(&format!("cd -- {}", quoted(&path.canonicalize()?.display().to_string()))),
        None => line(&format!("# Unpack the file with `tar -xf FILE`, then:\ncd -- {}", quoted(&found.name))),
    }
    line("work=$(mktemp -d)");
    line("");
    line("# Whose keys: compare these fingerprints with what the shop tells you.");
    let mut signers = Vec::new();
    for sign_off in &found.chain.sign_offs {
        let who = principal(&sign_off.statement.name);
        let entry = format!("{who} namespaces=\"{NAMESPACE}\" {}", sign_off.statement.key);
        if !signers.contains(&entry) {
            line(&format!("# {}: {}", Clean::name(&sign_off.statement.name), sign_off.fingerprint));
            signers.push(entry);
        }
    }
    line("cat > \"$work/allowed_signers\" <<'END'");
    for signer in &signers {
        line(&harmless(signer));
    }
    line("END");
    for (index, sign_off) in found.chain.sign_offs.iter().enumerate() {
        let file = format!("\"$work/signature-{}\"", index + 1);
        let text = crate::report::entry::sign_off_text(&sign_off.statement, &sign_off.at);
        line("");
        line(&format!("# {text}: lines 1 to {}, {} bytes", sign_off.line, sign_off.covers));
        line(&format!(
            "printf '%b' \"$(sed -n '{}s/.*\"signature\":\"\\([^\"]*\\)\".*/\\1/p' {JOURNAL})\" > {file}",
            sign_off.line + 1
        ));
        line(&format!(
            "head -c {} {JOURNAL} | ssh-keygen -Y verify -f \"$work/allowed_signers\" -I {} -n {NAMESPACE} -s {file}",
            sign_off.covers,
            principal(&sign_off.statement.name)
        ));
    }
    let last = found.chain.sign_offs.last().map_or(0, |sign_off| sign_off.line + 1);
    line("");
    line("# The statements that were signed, and the lines after the last signature (nobody signed them):");
    line(&format!("grep '\"event\":\"stated\"' {JOURNAL}"));
    line(&format!("tail -n +{} {JOURNAL}", last + 1));
    line("");
    line("# What the first line and the statements name by digest; each is kept in a file of that name:");
    line("( cd ../sources && sha256sum -c <<'END'");
    let mut digests: Vec<_> = found.sources.iter().map(|source| harmless(&source.sha256)).collect();
    digests.sort();
    digests.dedup();
    for digest in digests {
        line(&format!("{digest}  {digest}"));
    }
    line("END");
    line(")");
    Ok(())
}

/// A name that OpenSSH takes as one word.
fn principal(name: &str) -> String {
    let plain = slug(name);
    if plain.is_empty() { "signer".to_owned() } else { plain }
}

/// A text that a shell takes as one word, whatever stands in it. What can't be shown as it is stands as the numbers of its bytes.
pub fn quoted(text: &str) -> String {
    let quoted = |text: &str| format!("'{}'", text.replace('\'', "'\\''"));
    if Clean::name(text).as_str() == text {
        return quoted(text);
    }
    let mut numbered = String::new();
    for byte in text.bytes() {
        match byte {
            b'\\' => numbered.push_str("\\\\"),
            b' '..=b'~' => numbered.push(char::from(byte)),
            // Writing into a string can't fail.
            _ => _ = write!(numbered, "\\0{byte:03o}"),
        }
    }
    format!("\"$(printf '%b' {})\"", quoted(&numbered))
}

#[cfg(test)]
mod tests {
    use super::quoted;
    use proptest::prelude::*;
    use std::process::Command;

    #[test]
    fn a_plain_name_is_quoted_as_it_is() {
        assert_eq!(quoted("it's"), r"'it'\''s'");
        assert_eq!(quoted("Ана"), "'Ана'");
        assert_eq!(quoted("a\u{1b}[2J\\n'"), r#""$(printf '%b' 'a\0033[2J\\n'\''')""#);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn a_shell_reads_the_true_name(text in "[ -~\\x01-\\x1f\\x7fé\u{202e}\u{200b}а\u{9b}]{0,12}x") {
            let script = format!("printf %s {}", quoted(&text));
            let output = Command::new("sh").args(["-c", &script]).output().unwrap();
            prop_assert_eq!(String::from_utf8_lossy(&output.stdout), text.as_str(), "{}", script);
        }
    }
}
