//! How a run begins.

use crate::run::stop::Stop;
use crate::shop::error::ShopError;

/// A session that could not begin.
pub fn journal_failed(stop: Stop) -> ShopError {
    match stop {
        Stop::Journal(problem) => ShopError::Files(problem),
        other => ShopError::Files(format!("the run could not begin: {other:?}")),
    }
}
