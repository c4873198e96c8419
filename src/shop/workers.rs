//! Threads for what can be done side by side.

use crate::shop::error::ShopError;

/// Threads for a table, a folder of records or a proof, as many as there are cores, each with the stack that scripts need.
pub fn workers() -> Result<rayon::ThreadPool, ShopError> {
    rayon::ThreadPoolBuilder::new()
        .stack_size(crate::script::engine::STACK)
        .build()
        .map_err(|error| ShopError::Files(error.to_string()))
}
