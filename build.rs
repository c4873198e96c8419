//! Builds the program again when a procedure or a library file appears, changes or goes.
#![expect(clippy::disallowed_macros, reason = "this is how a build script speaks to cargo")]

fn main() {
    for folder in ["procedures", "stdlib"] {
        println!("cargo:rerun-if-changed={folder}");
    }
}
