//! Pages in headless Chromium: an accessibility checker in light and dark, wide and narrow; no request, no script; paper.

use crate::workshop::Workshop;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

const NEEDS: &str = "these checks need Node 20, Chromium and two npm packages: \
    `apt-get install nodejs npm chromium`, then run tests/reports/install (CHROMIUM names the browser if it is elsewhere)";

fn browser() -> PathBuf {
    if let Some(named) = std::env::var_os("CHROMIUM") {
        return named.into();
    }
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path)
        .flat_map(|folder| ["chromium", "chromium-browser"].map(|name| folder.join(name)))
        .find(|file| file.is_file())
        .unwrap_or_else(|| panic!("there is no Chromium; {NEEDS}"))
}

/// What the browser says of pages.
fn check(folder: &Path, pages: &[PathBuf]) -> Vec<Value> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reports");
    for package in ["axe-core", "playwright-core"] {
        assert!(here.join("node_modules").join(package).is_dir(), "{package} is not installed; {NEEDS}");
    }
    let output = Command::new("node")
        .arg(here.join("check.mjs"))
        .arg(browser())
        .arg(folder)
        .args(pages)
        .output()
        .unwrap_or_else(|error| panic!("node can't be started ({error}); {NEEDS}"));
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn every_form_is_accessible_fits_screen_and_paper_and_reaches_for_nothing() {
    let shop = Workshop::copied();
    let (before, after) = (shop.before(), shop.after());
    let (starter, astray) = (shop.starter(), shop.astray());
    let long = shop.with_a_long_concern(&before);
    let mut pages = Vec::new();
    for (name, record, form) in [
        ("long-customer", long, "customer"),
        ("starter", starter.clone(), "full"),
        ("starter-customer", starter, "customer"),
        ("astray", astray, "full"),
        ("full", before.clone(), "full"),
        ("customer", before, "customer"),
        ("after", after.clone(), "full"),
        ("after-customer", after, "customer"),
    ] {
        let path = shop.path().join(format!("{name}.html"));
        std::fs::write(&path, shop.report(&record, &["--form", form])).unwrap();
        pages.push(path);
    }
    let found = check(shop.path(), &pages);
    assert_eq!(found.len(), pages.len());
    for page in &found {
        let name = page["file"].as_str().unwrap();
        assert_eq!(page["requests"], Value::Array(vec![]), "{name}");
        assert_eq!((&page["dialogs"], &page["scripts"]), (&0.into(), &0.into()), "{name}");
        let looks = page["looks"].as_array().unwrap();
        assert_eq!(looks.len(), 4);
        for look in looks {
            let at = format!("{name}, {}", look["name"]);
            assert_eq!(look["violations"], Value::Array(vec![]), "{at}");
            assert!(look["passes"].as_u64().unwrap() > 20, "{at}: the checker saw next to nothing");
            assert_eq!((&look["overflow"], &look["tooWide"]), (&0.into(), &Value::Array(vec![])), "{at}");
        }
        assert_ne!(looks[0]["background"], looks[1]["background"], "{name}: dark is as light");
        for paper in ["A4", "Letter"] {
            let sheets = page["pdfPages"][paper].as_u64().unwrap();
            let most = if name.contains("customer") { 1 } else { 6 };
            assert!((1..=most).contains(&sheets), "{name} takes {sheets} sheets of {paper}");
        }
    }
}

#[test]
fn the_checker_finds_what_is_wrong_with_a_bad_page() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bad.html");
    let bad = "<!DOCTYPE html><html><head><title>x</title></head><body style=\"background:#fff\">\
        <script>alert(1)</script><p style=\"color:#bbb\">faint</p><svg role=\"img\" width=\"9\" height=\"9\"></svg>\
        <div style=\"width:2000px\">wide</div><p style=\"width:1900px\">too wide a line</p>\
        <img alt=\"\" src=\"http://127.0.0.1:9/picture.png\"></body></html>";
    std::fs::write(&path, bad).unwrap();
    let found = check(folder.path(), &[path]);
    let look = &found[0]["looks"][0];
    let rules: Vec<&str> =
        look["violations"].as_array().unwrap().iter().map(|rule| rule["rule"].as_str().unwrap()).collect();
    for rule in ["color-contrast", "html-has-lang", "svg-img-alt"] {
        assert!(rules.contains(&rule), "{rule} in {rules:?}");
    }
    assert!(look["overflow"].as_u64().unwrap() > 0);
    assert_eq!(look["tooWide"], serde_json::json!(["P: too wide a line"]));
    let requests = found[0]["requests"].as_array().unwrap();
    assert!(requests.contains(&"http://127.0.0.1:9/picture.png".into()), "{requests:?}");
    assert!(found[0]["scripts"].as_u64().unwrap() > 0 && found[0]["dialogs"].as_u64().unwrap() > 0);
}
