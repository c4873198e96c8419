//! Scripts that run away: each is stopped by count, at its line, in little memory, and leaves a small record.

use crate::place::{Place, Shown, of_kind};
use insta::assert_snapshot;
use sha2::Digest;

/// Kilobytes of address space that a run may have: a script that fills memory dies of it.
const MEMORY: u32 = 1_000_000;

/// Runs a body that is given nothing, in bounded memory.
fn run(body: &str) -> Shown {
    let place = Place::with(body);
    place.answers("");
    place.call("run p.rhai --answers answers.toml").under(&format!("ulimit -v {MEMORY}")).go()
}

/// The error of each body with its line, and the hint.
fn refused(bodies: &[&str]) -> String {
    let one = |body: &&str| {
        let shown = run(body);
        assert_eq!(shown.code, 3, "{body}\n{shown}");
        assert!(!shown.err.contains("panicked"), "{body}\n{shown}");
        let is_wanted = |line: &&str| ["error:", "help:"].iter().any(|word| line.trim_start().starts_with(word));
        let mut lines: Vec<&str> = shown.err.lines().filter(is_wanted).map(str::trim).collect();
        let place = shown.err.lines().find_map(|line| line.split_once("p.rhai:")).map(|(_, place)| place);
        let place = format!("line {}", place.and_then(|place| place.split(':').next()).unwrap_or("unknown"));
        lines.push(&place);
        format!("{body}\n    {}", lines.join("\n    "))
    };
    bodies.iter().map(one).collect::<Vec<_>>().join("\n")
}

#[test]
fn functions_that_hold_each_other_are_stopped() {
    assert_snapshot!(refused(&[
        "let f = |x| x;\nloop { f = f.curry(f); }",
        "let f = |x| x;\nloop { f = curry(f, f); }",
        "let f = || 1;\nloop { let g = f; f = || g.call(); }",
        "let l = [];\nl.pad(300, 1);\nlet f = |x| x;\nf.curry(l);",
    ]), @r##"
    let f = |x| x;
    loop { f = f.curry(f); }
        error: a function holds more than 256 values, with those of the functions that it holds
        help: look for a function that is given to itself, over and over
        line 7
    let f = |x| x;
    loop { f = curry(f, f); }
        error: a function holds more than 256 values, with those of the functions that it holds
        help: look for a function that is given to itself, over and over
        line 7
    let f = || 1;
    loop { let g = f; f = || g.call(); }
        error: a function holds more than 256 values, with those of the functions that it holds
        help: look for a function that is given to itself, over and over
        line 7
    let l = [];
    l.pad(300, 1);
    let f = |x| x;
    f.curry(l);
        error: a function holds more than 256 values, with those of the functions that it holds
        help: look for a function that is given to itself, over and over
        line 9
    "##);
}

#[test]
fn a_function_can_hold_some_of_its_arguments() {
    let shown = run("let add = |a, b| a + b;\nlet two = add.curry(2);\nif two.call(3) == 5 { conclude(\"wire\"); }");
    assert!(shown.out.contains("Wire open"), "{shown}");
    let shown = run("fn add(a, b, c) { a + b + c }\nif Fn(\"add\").curry(2, 3).call(4) == 9 { conclude(\"wire\"); }");
    assert!(shown.out.contains("Wire open"), "{shown}");
    let shown = run("let n = 2;\nlet f = |a| a + n;\nif [1, 2].map(f) == [3, 4] { conclude(\"wire\"); }");
    assert!(shown.out.contains("Wire open"), "{shown}");
}

#[test]
fn work_on_long_lists_and_texts_counts_by_their_length() {
    const LIST: &str = "let l = [];\nl.pad(10000, 1);\n";
    const TEXT: &str = "let s = \"\";\ns.pad(60000, \"x\");\n";
    let bodies = [
        (LIST, "loop { l.map(|x| x); }"),
        (LIST, "loop { l.index_of(2); }"),
        (LIST, "loop { l.sort(|a, b| a - b); }"),
        (LIST, "loop { l.sort(); }"),
        (LIST, "let k = l;\nl.map(|x| k.map(|y| y));"),
        (LIST, "loop { let k = l; }"),
        (LIST, "l.pad(20000, 1);"),
        ("let l = [];\n", "loop { let k = []; k.pad(10000, 1); }"),
        (LIST, "let k = [];\nk.pad(100, l);"),
        (TEXT, "loop { s.split(\"y\"); }"),
        (TEXT, "loop { let t = s + \"x\"; }"),
        (TEXT, "let t = s;\nt.replace(\"x\", s);"),
        (TEXT, "[1].pad(10, 2);\nlet l = [];\nl.pad(10000, 1);\nl.map(|x| s + \"y\");"),
        ("let s = \"\";\n", "loop { s += \"x\"; }"),
        ("let s = \"\";\n", "loop { let t = \"\"; t.pad(60000, \"xy\"); }"),
    ];
    let bodies: Vec<String> = bodies.iter().map(|(before, body)| format!("{before}{body}")).collect();
    let bodies: Vec<&str> = bodies.iter().map(String::as_str).collect();
    assert_snapshot!(refused(&bodies), @r##"
    let l = [];
    l.pad(10000, 1);
    loop { l.map(|x| x); }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 8
    let l = [];
    l.pad(10000, 1);
    loop { l.index_of(2); }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 8
    let l = [];
    l.pad(10000, 1);
    loop { l.sort(|a, b| a - b); }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 8
    let l = [];
    l.pad(10000, 1);
    loop { l.sort(); }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 8
    let l = [];
    l.pad(10000, 1);
    let k = l;
    l.map(|x| k.map(|y| y));
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 9
    let l = [];
    l.pad(10000, 1);
    loop { let k = l; }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 8
    let l = [];
    l.pad(10000, 1);
    l.pad(20000, 1);
        error: a list grew too large
        line 8
    let l = [];
    loop { let k = []; k.pad(10000, 1); }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 7
    let l = [];
    l.pad(10000, 1);
    let k = [];
    k.pad(100, l);
        error: a list grew too large
        line 9
    let s = "";
    s.pad(60000, "x");
    loop { s.split("y"); }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 8
    let s = "";
    s.pad(60000, "x");
    loop { let t = s + "x"; }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 8
    let s = "";
    s.pad(60000, "x");
    let t = s;
    t.replace("x", s);
        error: a text, or all texts of a list together, grew too large
        line 9
    let s = "";
    s.pad(60000, "x");
    [1].pad(10, 2);
    let l = [];
    l.pad(10000, 1);
    l.map(|x| s + "y");
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 11
    let s = "";
    loop { s += "x"; }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 7
    let s = "";
    loop { let t = ""; t.pad(60000, "xy"); }
        error: the script ran away: more than 5000000 operations
        help: look for a loop that never ends
        line 7
    "##);
}

#[test]
fn what_is_at_work_on_itself_is_said_in_words_with_its_line() {
    assert_snapshot!(refused(&[
        "let l = [1, 2];\nl.filter(|x| l.len() > 1);",
        "let l = [1, 2];\nfor n in 0..2 {\n  l.map(|x| x);\n  l.map(|x| l.map(|y| y));\n}",
        "let f = |n| n;\nf = |n| if n == 0 { 0 } else { f.call(n - 1) };\nf.call(5);",
    ]), @r##"
    let l = [1, 2];
    l.filter(|x| l.len() > 1);
        error: a list, a map or a function is used inside the function that is at work on it
        help: give a copy another name before, with `let`, and use that one inside the function
        line 7
    let l = [1, 2];
    for n in 0..2 {
      l.map(|x| x);
      l.map(|x| l.map(|y| y));
    }
        error: a list, a map or a function is used inside the function that is at work on it
        help: give a copy another name before, with `let`, and use that one inside the function
        line 9
    let f = |n| n;
    f = |n| if n == 0 { 0 } else { f.call(n - 1) };
    f.call(5);
        error: a list, a map or a function is used inside the function that is at work on it
        help: give a copy another name before, with `let`, and use that one inside the function
        line 7
    "##);
}

#[test]
fn texts_without_end_are_cut_where_they_are_printed() {
    let long = "let s = \"\";\ns.pad(60000, \"x\");\n";
    for body in ["throw s;", "ask(s, \"What?\");", "step(s);", "ask(\"a\", s);", "carry_out(s);", "unplug(s);"] {
        let shown = run(&format!("{long}{body}"));
        assert_eq!(shown.code, 3, "{shown}");
        assert!(shown.err.contains("p.rhai:8"), "{shown}");
        assert!(shown.err.len() + shown.out.len() < 4_000, "{body}: {} bytes", shown.err.len() + shown.out.len());
    }
    let shown = run(&format!("{long}throw s;"));
    assert!(shown.err.contains(&format!("error: {}\u{2026}", "x".repeat(200))), "{shown}");
    let shown = run(&format!("{long}step(s);"));
    assert!(shown.err.contains("the text of a step has at most 4000 letters, and this one has 60000"), "{shown}");
}

#[test]
fn a_loop_that_asks_nothing_ends_with_a_small_record() {
    for body in ["loop { key_on(); }", "loop { step(\"s\"); }", "loop { wait(0.s); }"] {
        let place = Place::with(body);
        place.answers("");
        let shown = place.call("run p.rhai --answers answers.toml").go().ended(3);
        assert!(shown.err.contains("this run has 10000 events, and the procedure allows no more"), "{shown}");
        assert!(shown.err.contains("p.rhai:6"), "{shown}");
        let record = place.record();
        let events = place.events_of(&record);
        // A key that was turned on is left so, which is written down before the end.
        let left = of_kind(&events, "left_changed").len();
        assert_eq!(left, usize::from(body.contains("key_on")));
        assert_eq!(events.len(), 10_001 + left);
        assert_eq!(events[10_000 + left]["how"], "failed");
        let bytes = std::fs::metadata(place.journal_of(&record)).unwrap().len();
        assert!(bytes < 2_000_000, "{body}: {bytes} bytes");
        place.call("verify --allow-unsigned").go().ended(0);
    }
}

#[test]
fn the_header_says_how_many_events_a_run_may_have() {
    let header = |events: &str| {
        format!(
            "//! title = \"Test\"\n//! revision = 1\n//! events = {events}\n\
             for n in 0..40 {{ key_on(); }}\nif ask(\"a\", \"Clean?\").yes {{ conclude(\"not_present\"); }}\n"
        )
    };
    let run = |events: &str| {
        let place = Place::new();
        place.file("p.rhai", header(events));
        let shown = place.with_answers("a = true");
        (place, shown)
    };
    let (_, shown) = run("20");
    assert!(shown.err.contains("this run has 20 events, and the procedure allows no more"), "{shown}");
    let (place, shown) = run("43");
    shown.ended(0);
    for wrong in ["0", "100001", "\"many\""] {
        let (_, shown) = run(wrong);
        assert_eq!(shown.code, 3, "{shown}");
        assert!(shown.err.contains("p.rhai:3"), "{shown}");
    }
    // A record from before is none the worse: what the kept procedure says now was not said then.
    let digest = |text: &str| sha2::Sha256::digest(text).iter().map(|byte| format!("{byte:02x}")).collect::<String>();
    let (was, is) = (header("43"), header("20"));
    place.file(&format!("records/sources/{}", digest(&is)), &is);
    let path = place.journal_of(&place.record());
    let journal = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, journal.replace(&digest(&was), &digest(&is))).unwrap();
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_record_with_a_longer_text_than_is_allowed_now_comes_out_the_same() {
    let body = |letters: usize| {
        format!("step(\"{}\");\nif ask(\"a\", \"Clean?\").yes {{ conclude(\"wire\"); }}", "x".repeat(letters))
    };
    let place = Place::with(&body(3_000));
    place.with_answers("a = true").ended(0);
    let was = place.read("p.rhai");
    let is = place.procedure(&body(5_000)).read("p.rhai");
    let digest = |text: &str| sha2::Sha256::digest(text).iter().map(|byte| format!("{byte:02x}")).collect::<String>();
    place.file(&format!("records/sources/{}", digest(&is)), &is);
    let path = place.journal_of(&place.record());
    let journal = std::fs::read_to_string(&path).unwrap().replace(&digest(&was), &digest(&is));
    std::fs::write(&path, journal.replace(&"x".repeat(3_000), &"x".repeat(5_000))).unwrap();
    place.call("verify --allow-unsigned").go().ended(0);
    let shown = place.with_answers("a = true");
    assert!(shown.err.contains("has at most 4000 letters, and this one has 5000"), "{shown}");
}
