//! How functions are registered: once, beside the words that help has of them.

use super::{actions, answers, arithmetic, limits, prompts, steps};
use crate::script::help::Word;

/// Functions: name, kinds of arguments and result, what help says of it, what it calls. Makes the words for help, which no
/// run needs, and what registers the functions.
macro_rules! functions {
    (volatile: $volatile:literal; $($name:literal [$($kind:literal),*] $doc:literal => $call:expr;)+) => {
        /// What help says of these functions.
        pub const WORDS: &[$crate::script::help::Word] = &[
            $($crate::script::help::Word { name: $name, kinds: &[$($kind),*], doc: $doc }),+
        ];

        fn register(module: &mut rhai::Module, wanted: &$crate::script::engine::Wanted<'_>) {
            $(
                if wanted.has($name) {
                    rhai::FuncRegistration::new($name)
                        .in_global_namespace()
                        .with_volatility($volatile)
                        .set_into_module(module, $call);
                }
            )+
        }
    };
}
pub(super) use functions;

/// What help says of the language's own functions.
pub fn words() -> impl Iterator<Item = &'static Word> {
    [arithmetic::WORDS, answers::WORDS, limits::WORDS, prompts::WORDS, actions::WORDS, steps::WORDS]
        .into_iter()
        .flatten()
}
