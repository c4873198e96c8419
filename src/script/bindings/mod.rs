//! The language: functions and operators that scripts have, in small groups.
pub mod actions;
pub mod answers;
pub mod arithmetic;
pub mod comparisons;
pub mod limits;
pub mod prompts;
pub mod steps;
pub mod units;

/// Registers functions that ask the session: name, kinds of arguments and result, doc comment, what it calls.
macro_rules! functions {
    ($module:ident; $($name:literal [$($info:literal),*] $doc:literal => $call:expr;)+) => {$(
        rhai::FuncRegistration::new($name)
            .in_global_namespace()
            .with_volatility(true)
            .with_params_info([$($info),*])
            .with_comments([$doc])
            .set_into_module(&mut $module, $call);
    )+};
}
use functions;
