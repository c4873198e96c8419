//! Whose key signs: the person's own file, or one in a running ssh-agent.

use crate::cli::error::CliError;
use crate::cli::keys::agent::{Agent, AgentError};
use crate::cli::keys::key_file::{KeyFile, NoKeyFile, OpenKey};
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::words;
use crate::records::bounded;
use crate::records::store::slug;
use crate::run::signature::{seal, signed_data};
use ssh_key::{Algorithm, HashAlg, PublicKey};
use std::path::{Path, PathBuf};
use zeroize::Zeroizing;

/// The environment variable that names a file whose first line is the passphrase.
pub const PASSPHRASE_VARIABLE: &str = "OHMWRIGHT_PASSPHRASE_FILE";

/// How often a passphrase is asked for.
const TRIES: usize = 3;

/// What keeps a key from signing.
#[derive(Debug, thiserror::Error)]
pub enum KeyError {
    /// No key file that signs.
    #[error("{} {problem}", path.display())]
    NoKey {
        /// The file.
        path: PathBuf,
        /// Why.
        problem: NoKeyFile,
    },
    /// The passphrase does not open it.
    #[error("the passphrase does not open {}", path.display())]
    WrongPassphrase {
        /// The file.
        path: PathBuf,
        /// What to do.
        hint: Option<String>,
    },
    /// Nobody to ask.
    #[error("there is no terminal to ask for the passphrase of {what} ({problem})")]
    NoTerminal {
        /// Of what.
        what: String,
        /// Why.
        problem: std::io::Error,
    },
    /// A file that only its owner may read, and that others may read.
    #[error("others on this computer may read or write {} (its mode is {mode:04o}), so it can't be used", path.display())]
    OpenToOthers {
        /// The file.
        path: PathBuf,
        /// Its mode.
        mode: u32,
    },
    /// A file without an end, or another one than was meant.
    #[error("{} is longer than {most} bytes, and no such file is", path.display())]
    TooLong {
        /// The file.
        path: PathBuf,
        /// The most bytes.
        most: u64,
    },
    /// A passphrase file that is no text.
    #[error("{} is not UTF-8 text, so there is no passphrase in it", path.display())]
    NotText {
        /// The file.
        path: PathBuf,
    },
    /// Typed twice, and not the same.
    #[error("the two passphrases are not the same")]
    Differ,
    /// None at all.
    #[error("the passphrase is empty: anybody who gets hold of the file could sign with it")]
    Empty,
    /// Somebody else's.
    #[error("{} holds the key {found}, and the shop lists {listed} for {}", path.display(), Clean::name(name))]
    Another {
        /// The file.
        path: PathBuf,
        /// Fingerprint of what it holds.
        found: String,
        /// Fingerprint of what the shop lists.
        listed: String,
        /// Whose.
        name: String,
    },
    /// Nowhere to be found.
    #[error("the key of {} is neither in a running ssh-agent nor in {}", Clean::name(name), path.display())]
    Nowhere {
        /// Whose.
        name: String,
        /// Where it was looked for.
        path: PathBuf,
    },
    /// The agent.
    #[error(transparent)]
    Agent(#[from] AgentError),
    /// The library that signs.
    #[error("the signature can't be made: {0}")]
    Signing(#[from] ssh_key::Error),
    /// No home.
    #[error("there is no folder for this user's settings")]
    NoHome,
}

impl From<KeyError> for CliError {
    fn from(error: KeyError) -> Self {
        let hint = match &error {
            KeyError::NoTerminal { .. } => {
                Some(format!("give --passphrase-file FILE or {PASSPHRASE_VARIABLE}, or put the key into an ssh-agent"))
            }
            KeyError::TooLong { .. } | KeyError::NotText { .. } => {
                Some("look whether it is the file that you meant".to_owned())
            }
            KeyError::Nowhere { .. } => {
                Some("name the key's file with --key, or put it into the agent with `ssh-add FILE`".to_owned())
            }
            KeyError::WrongPassphrase { hint, .. } => hint.clone(),
            KeyError::OpenToOthers { path, .. } => {
                Some(format!("make it its owner's alone: `chmod 600 {}`", path.display()))
            }
            KeyError::Agent(_) => Some("`ssh-add -l` says what it holds; with --key FILE it is not asked".to_owned()),
            _ => None,
        };
        Self::Usage { sentence: error.to_string(), hint }
    }
}

/// Where the key of a person lies if nothing else is said.
pub fn default_path(name: &str) -> Result<PathBuf, KeyError> {
    use etcetera::BaseStrategy;
    let folders = etcetera::choose_base_strategy().map_err(|_| KeyError::NoHome)?;
    Ok(folders.config_dir().join("ohmwright").join("keys").join(slug(name)))
}

/// Where a passphrase comes from.
#[derive(Clone, Debug, Default)]
pub struct Passphrase {
    file: Option<PathBuf>,
}

impl Passphrase {
    /// From the file named by the flag, else by the environment, else typed.
    pub fn from(flag: Option<&Path>) -> Self {
        let environment = || std::env::var(PASSPHRASE_VARIABLE).ok().map(PathBuf::from);
        Self { file: flag.map(Path::to_owned).or_else(environment) }
    }

    fn ask(&self, question: &str, what: &str) -> Result<Zeroizing<String>, CliError> {
        match &self.file {
            Some(path) => {
                refuse_open_to_others(path)?;
                let bytes = read(path, LONGEST_PASSPHRASE_FILE)?;
                let text = std::str::from_utf8(&bytes).map_err(|_| KeyError::NotText { path: path.to_owned() })?;
                Ok(Zeroizing::new(text.lines().next().unwrap_or_default().to_owned()))
            }
            None => Ok(Zeroizing::new(
                rpassword::prompt_password(Clean::name(question).as_str())
                    .map_err(|problem| KeyError::NoTerminal { what: what.to_owned(), problem })?,
            )),
        }
    }

    /// Opens a locked file; a typed passphrase may be mistyped. `later` says how to go on where none of them opens it.
    fn open(&self, file: &KeyFile, path: &Path, later: Option<&str>, output: &mut Output) -> Result<OpenKey, CliError> {
        let what = path.display().to_string();
        let tries = if self.file.is_some() || !file.is_locked() { 1 } else { TRIES };
        for left in (0..tries).rev() {
            let typed = if file.is_locked() {
                self.ask(&format!("Passphrase for {what}: "), &what)?
            } else {
                Zeroizing::new(String::new())
            };
            match file.open(&typed).map_err(|problem| KeyError::NoKey { path: path.to_owned(), problem })? {
                Some(key) => return Ok(key),
                None if left > 0 => {
                    let tries = words::count(left, "more try", "more tries");
                    output.note(&format!("That does not open it; {tries}."));
                }
                None => {}
            }
        }
        let hint = match &self.file {
            Some(file) => Some(format!("the passphrase is the first line of {}", file.display())),
            None => later.map(str::to_owned),
        };
        Err(KeyError::WrongPassphrase { path: path.to_owned(), hint }.into())
    }

    /// For a new key: typed twice.
    pub fn new_one(&self, name: &str) -> Result<Zeroizing<String>, CliError> {
        let what = format!("the key of {}", Clean::name(name));
        let passphrase = self.ask(&format!("Passphrase for {what}: "), &what)?;
        if passphrase.is_empty() {
            return Err(KeyError::Empty.into());
        }
        if self.file.is_none() && self.ask("The same again: ", &what)? != passphrase {
            return Err(KeyError::Differ.into());
        }
        Ok(passphrase)
    }
}

/// A key that can sign.
pub enum Signer {
    /// Opened.
    File(Box<OpenKey>),
    /// In the agent.
    #[cfg(unix)]
    Agent(Box<Agent<std::os::unix::net::UnixStream>>, Box<PublicKey>),
}

/// Whose key is looked for, and how it is opened.
pub struct Wanted<'a> {
    /// Whose.
    pub name: &'a str,
    /// The keys that the shop lists for them.
    pub listed: &'a [&'a PublicKey],
    /// The file that was named.
    pub file: Option<&'a Path>,
    /// Where its passphrase comes from.
    pub passphrase: &'a Passphrase,
    /// How to go on where no passphrase opens it.
    pub later: Option<&'a str>,
}

impl Signer {
    /// The person's key: in the file if one is named, else in the agent, else where `ohmwright key` puts it. With which of
    /// the listed ones it is.
    pub fn find(wanted: &Wanted<'_>, output: &mut Output) -> Result<(Self, usize), CliError> {
        if let Some(path) = wanted.file {
            return Self::open(wanted, path, output);
        }
        let path = default_path(wanted.name);
        let there = path.as_ref().is_ok_and(|path| path.is_file());
        match Self::in_agent(wanted.listed) {
            Ok(Some(found)) => return Ok(found),
            // An agent that is of no use does not stand in the way of a file.
            Err(problem) if there => output.note(&format!("note: {problem}; the key is taken from its file")),
            Err(problem) => return Err(KeyError::Agent(problem).into()),
            Ok(None) => {}
        }
        let path = path?;
        if there {
            return Self::open(wanted, &path, output);
        }
        Err(KeyError::Nowhere { name: wanted.name.to_owned(), path }.into())
    }

    #[cfg(unix)]
    fn in_agent(listed: &[&PublicKey]) -> Result<Option<(Self, usize)>, AgentError> {
        let Some(socket) = std::env::var_os("SSH_AUTH_SOCK").filter(|socket| !socket.is_empty()) else {
            return Ok(None);
        };
        // A socket that nobody listens at any more is as good as none.
        let Ok(mut agent) = Agent::connect(Path::new(&socket)) else { return Ok(None) };
        let keys = agent.identities()?;
        let found = keys.into_iter().find_map(|key| place(&key, listed).map(|which| (key, which)));
        Ok(found.map(|(key, which)| (Self::Agent(Box::new(agent), Box::new(key)), which)))
    }

    #[cfg(not(unix))]
    fn in_agent(_listed: &[&PublicKey]) -> Result<Option<(Self, usize)>, AgentError> {
        Ok(None)
    }

    fn open(wanted: &Wanted<'_>, path: &Path, output: &mut Output) -> Result<(Self, usize), CliError> {
        let text = read(path, LONGEST_KEY_FILE)?;
        let file = KeyFile::read(&text).map_err(|problem| KeyError::NoKey { path: path.to_owned(), problem })?;
        // The public half stands in the file in clear: a wrong file is told before anybody types a passphrase.
        let Some(which) = place(&file.public, wanted.listed) else {
            let prints: Vec<_> = wanted.listed.iter().map(|key| key.fingerprint(HashAlg::Sha256).to_string()).collect();
            return Err(KeyError::Another {
                path: path.to_owned(),
                found: file.public.fingerprint(HashAlg::Sha256).to_string(),
                listed: prints.join(" and "),
                name: wanted.name.to_owned(),
            }
            .into());
        };
        refuse_open_to_others(path)?;
        Ok((Self::File(Box::new(wanted.passphrase.open(&file, path, wanted.later, output)?)), which))
    }

    /// Whether somebody has to touch it.
    pub fn is_a_device(&self) -> bool {
        match self {
            Self::File(_) => false,
            #[cfg(unix)]
            Self::Agent(_, key) => matches!(key.algorithm(), Algorithm::SkEd25519 | Algorithm::SkEcdsaSha2NistP256),
        }
    }

    /// The signature over these bytes, as OpenSSH writes it.
    pub fn sign(&mut self, bytes: &[u8]) -> Result<String, KeyError> {
        let data = signed_data(bytes)?;
        match self {
            Self::File(key) => Ok(seal(key.public(), key.sign(&data)?)?),
            #[cfg(unix)]
            Self::Agent(agent, key) => {
                let signature = agent.sign(key, &data)?;
                Ok(seal(key.key_data(), signature)?)
            }
        }
    }
}

/// A passphrase file is no longer, in bytes.
const LONGEST_PASSPHRASE_FILE: u64 = 4 * 1024;

/// A key file is no longer, in bytes: the longest RSA keys come to a fifth of it.
const LONGEST_KEY_FILE: u64 = 64 * 1024;

/// The file, wiped when it was used; refused if it is longer than any of its kind.
fn read(path: &Path, most: u64) -> Result<Zeroizing<Vec<u8>>, CliError> {
    let bytes = bounded::read(path, most)?;
    Ok(Zeroizing::new(bytes.ok_or_else(|| KeyError::TooLong { path: path.to_owned(), most })?))
}

/// Which of the listed keys it is; their comments are no matter.
fn place(key: &PublicKey, listed: &[&PublicKey]) -> Option<usize> {
    listed.iter().position(|listed| listed.key_data() == key.key_data())
}

/// Refuses a file that others may read or write, as OpenSSH's own tools do. What is no file, such as a pipe, has no readers but
/// its own.
#[cfg(unix)]
fn refuse_open_to_others(path: &Path) -> Result<(), KeyError> {
    use std::os::unix::fs::PermissionsExt;
    let Ok(found) = fs_err::metadata(path) else { return Ok(()) };
    let mode = found.permissions().mode() & 0o777;
    if found.is_file() && mode & 0o077 != 0 {
        return Err(KeyError::OpenToOthers { path: path.to_owned(), mode });
    }
    Ok(())
}

/// Elsewhere rights are no modes.
#[cfg(not(unix))]
fn refuse_open_to_others(_path: &Path) -> Result<(), KeyError> {
    Ok(())
}

/// Makes the folder in which keys lie; nobody but its owner gets in, whatever the umask. One that is there stays as it is.
pub fn create_folder(folder: &Path) -> std::io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    if let Some(above) = folder.parent() {
        fs_err::create_dir_all(above)?;
    }
    let mut builder = std::fs::DirBuilder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    match builder.create(folder) {
        Err(error) if error.kind() != std::io::ErrorKind::AlreadyExists => {
            Err(std::io::Error::new(error.kind(), format!("{}: {error}", folder.display())))
        }
        _ => Ok(()),
    }
}
