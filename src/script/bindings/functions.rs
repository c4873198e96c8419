//! How functions are registered: once, beside the words that help has of them.

/// Functions: name, names and kinds of its arguments, kind of its result, what help says of it, what it calls. Makes the
/// words for help, which no run needs, and what registers the functions.
macro_rules! functions {
    (volatile: $volatile:literal;
     $($name:literal ($($argument:ident: $kind:ident),*) $(-> $gives:ident)? $doc:literal => $call:expr;)+) => {
        /// The help texts of these functions.
        pub const FUNCTION_DOCS: &[$crate::script::function_doc::FunctionDoc] = &[
            $($crate::script::function_doc::FunctionDoc::function(
                $name,
                &[$((stringify!($argument), $crate::script::function_doc::Kind::$kind)),*],
                $crate::script::bindings::functions::given!($($gives)?),
                $doc,
            )),+
        ];

        fn register(module: &mut rhai::Module, wanted: &$crate::script::wanted::Wanted<'_>) {
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

/// The kind of a result; nothing where none is written.
macro_rules! given {
    () => {
        $crate::script::function_doc::Kind::Nothing
    };
    ($kind:ident) => {
        $crate::script::function_doc::Kind::$kind
    };
}
pub(super) use given;
