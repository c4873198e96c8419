//! The program: everything else is in the library.
fn main() -> std::process::ExitCode {
    ohmwright::cli::main()
}
