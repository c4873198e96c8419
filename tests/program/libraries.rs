//! Library files that procedures name in `uses`.

use crate::place::Place;
use insta::assert_snapshot;

/// With a library file in a shop.
fn with_library(library: &str, body: &str) -> Place {
    let place = Place::new();
    place.file("shop.toml", "name = \"Test shop\"\n");
    place.file("library/common.rhai", format!("//! title = \"Common\"\n//!\n//! [causes]\n//! shared = {{ cause = \"Shared ground open\", correction = \"Repair it\" }}\n{library}"));
    place.file("p.rhai", format!("//! title = \"Test\"\n//! revision = 1\n//! uses = [\"common\"]\n{body}"));
    place
}

#[test]
fn what_a_librarys_header_says_in_vain_is_named_before_a_record_is_begun() {
    let place = with_library("fn f() { }\n", "common::f();\n");
    let text = place.read("library/common.rhai").replace("//!\n", "//! uses = [\"meter\"]\n//! circuit = \"lamp\"\n");
    place.file("library/common.rhai", text);
    let shown = place.with_answers("").ended(3);
    shown
        .says("`uses` does nothing in the header of a library file")
        .says("library/common.rhai:2:5")
        .says("common.rhai:3:5");
    assert!(place.records().is_empty());
}

#[test]
fn an_error_in_a_library_function_is_shown_in_the_library_file() {
    let library = "\n// A comment.\nfn inner(q) {\n    if q > 5 { step(\"x\"); }\n}\nfn outer(q) { inner(q); }\nfn adds(q) { q + 1.A }\nfn finds() { let c = \"sharde\"; conclude(c); }\nfn zone() { let z = \"lfit\"; step(\"x\", near(z)); }\n";
    for (call, at, title) in [
        (
            "common::outer(5.V)",
            "library/common.rhai:8:10",
            "can't compare 5 V with the bare number 5: give the number a unit",
        ),
        ("common::adds(5.V)", "library/common.rhai:11:16", "can't add 5 V and 1 A"),
        ("common::finds()", "library/common.rhai:12:32", "the header has no cause `sharde`; did you mean `shared`?"),
        ("common::zone()", "library/common.rhai:13:29", "`lfit` is not a zone that a caution knows"),
    ] {
        let shown = with_library(library, &format!("{call};\n")).with_answers("").ended(3);
        assert!(shown.err.contains(at) && shown.flat().contains(title), "{call}\n{shown}");
    }
    assert_snapshot!(with_library(library, "common::outer(5.V);\n").with_answers("").ended(3), @r#"
    exit 3
    --- stdout
    The procedure has an error: [folder]/library/common.rhai:8:
      can't compare 5 V with the bare number 5: give the number a unit.

    procedure    Test (revision 1)
    record       1  2026-11-24-090000-p
    entered on   2026-11-24 09:00 UTC
    found it     key off, engine stopped, vehicle down, wheels chocked, battery
                 connected, high-voltage system absent
    meter        none named; accuracy assumed, not your meter
    answered by  an answers file
    clock        set by hand

    The procedure has an error. Correct it first. Continue with: ohmwright resume 1
    --- stderr
    error: can't compare 5 V with the bare number 5: give the number a unit
      ╭▸ [folder]/library/common.rhai:8:10
      │
    8 │     if q > 5 { step("x"); }
      ╰╴         ━
    "#);
}

#[test]
fn what_can_be_found_in_a_library_file_without_running_is_shown_there() {
    assert_snapshot!(with_library("fn outer() { setp(\"x\"); }\n", "conclude(\"shared\");\n").with_answers("").ended(3).err, @r#"
    error: there is no function `setp`
      ╭▸ [folder]/library/common.rhai:5:14
      │
    5 │ fn outer() { setp("x"); }
      │              ━━━━
      ╰╴
    help: did you mean `step`?
    "#);
    assert_snapshot!(with_library("step(\"x\");\n", "conclude(\"shared\");\n").with_answers("").ended(3).err, @r#"
    error: a library file has functions only, nothing outside of them
      ╭▸ [folder]/library/common.rhai:5:1
      │
    5 │ step("x");
      │ ━━━━
      ╰╴
    help: put it into a `fn`
    "#);
    assert_snapshot!(with_library("fn outer() {}\n", "common::outre();\ncommon::outer(1);\ncomon::outer();\n").with_answers("").ended(3).err, @r#"
    error: `comon` is not a library file that this procedure uses
      ╭▸ p.rhai:6:1
      │
    6 │ comon::outer();
      │ ━━━━━
      ╰╴
    help: add it to the header: `//! uses = ["comon"]`
    "#);
}

#[test]
fn a_library_function_concludes_with_its_own_cause() {
    with_library("fn find() { conclude(\"shared\"); }\n", "common::find();\n")
        .with_answers("")
        .ended(0)
        .says("Shared ground open");
}

#[test]
fn a_shop_library_file_goes_before_one_of_the_program() {
    let place = with_library("", "three_wire::mine();\n");
    place.file("library/three_wire.rhai", "//! title = \"Mine\"\n//! [causes]\n//! own = { cause = \"Own cause\", correction = \"x\" }\nfn mine() { conclude(\"own\"); }\n");
    place.file("p.rhai", "//! title = \"Test\"\n//! revision = 1\n//! uses = [\"three_wire\"]\nthree_wire::mine();\n");
    place.with_answers("").ended(0).says("Own cause");
}

#[test]
fn a_library_file_from_outside_the_library_folder_can_not_be_named() {
    let place = Place::new();
    place.file("shop.toml", "").file("secret.rhai", "//! title = \"x\"\nfn f() {}\n");
    place.file("p.rhai", "//! title = \"Test\"\n//! revision = 1\n//! uses = [\"../secret\"]\n");
    place.with_answers("").ended(3).says("there is no library file `../secret`");
}
