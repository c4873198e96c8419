//! A file that takes its place once it is whole, with the rights that this user's files have.

use std::path::Path;
use tempfile::{Builder, NamedTempFile};

/// A file in a folder that is not there under its name yet, and goes away if it never gets one. Without `random` its name is
/// `prefix`: what was left behind under it has to be taken away before.
///
/// # Errors
/// The folder can't be written.
pub fn begin(folder: &Path, prefix: &str, random: bool) -> std::io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(prefix);
    if !random {
        builder.rand_bytes(0);
    }
    // Others may have to read it: a folder of records is shared as its owner's umask says.
    #[cfg(unix)]
    let builder = {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666))
    };
    builder.tempfile_in(folder)
}
