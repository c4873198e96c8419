//! Whether a path still names a file that is open.

use fs_err::File;
use std::path::Path;

/// Refuses where the path names no file any more, or another one: what is written then is in no folder that anybody sees.
///
/// # Errors
/// The file or its folder was moved, removed or replaced.
#[cfg(unix)]
pub fn still_names(path: &Path, file: &File) -> std::io::Result<()> {
    use std::os::unix::fs::MetadataExt;
    let open = file.metadata()?;
    let is_same = |found: std::fs::Metadata| found.dev() == open.dev() && found.ino() == open.ino();
    match std::fs::metadata(path).map(is_same) {
        Ok(true) => Ok(()),
        Ok(false) => Err(gone(path, "is another file now")),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Err(gone(path, "is no longer there")),
        Err(error) => Err(gone(path, &format!("can't be looked at any more ({error})"))),
    }
}

/// Elsewhere an open file can't be moved or removed.
#[cfg(not(unix))]
pub fn still_names(_path: &Path, _file: &File) -> std::io::Result<()> {
    Ok(())
}

#[cfg(unix)]
fn gone(path: &Path, what: &str) -> std::io::Error {
    std::io::Error::other(format!(
        "{} {what}: it, or a folder that it lies in, was moved, removed or replaced during the run",
        path.display()
    ))
}
