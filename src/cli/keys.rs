//! Whose key signs: the person's own file, or one in a running ssh-agent.

use super::agent::{Agent, AgentError};
use super::error::CliError;
use super::store::slug;
use crate::model::signoff::NAMESPACE;
use ssh_key::{Algorithm, HashAlg, LineEnding, PrivateKey, PublicKey, SshSig};
use std::path::{Path, PathBuf};

/// The environment variable that names a file whose first line is the passphrase.
pub const PASSPHRASE_VARIABLE: &str = "OHMWRIGHT_PASSPHRASE_FILE";

/// What keeps a key from signing.
#[derive(Debug, thiserror::Error)]
pub enum KeyError {
    /// No key file.
    #[error("{} is no OpenSSH private key: {problem}", path.display())]
    NoKey {
        /// The file.
        path: PathBuf,
        /// Why.
        problem: String,
    },
    /// A kind that does not sign records.
    #[error("{} holds a key of the kind {algorithm}; only Ed25519 keys sign records", path.display())]
    Kind {
        /// The file.
        path: PathBuf,
        /// The kind.
        algorithm: Algorithm,
    },
    /// The passphrase does not open it.
    #[error("the passphrase does not open {}", path.display())]
    WrongPassphrase {
        /// The file.
        path: PathBuf,
    },
    /// Nobody to ask.
    #[error("there is no terminal to ask for the passphrase of {what} ({problem})")]
    NoTerminal {
        /// Of what.
        what: String,
        /// Why.
        problem: std::io::Error,
    },
    /// Typed twice, and not the same.
    #[error("the two passphrases are not the same")]
    Differ,
    /// None at all.
    #[error("the passphrase is empty: anybody who gets hold of the file could sign with it")]
    Empty,
    /// Somebody else's.
    #[error("{} holds the key {found}, and the shop lists {listed} for {name}", path.display())]
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
    #[error("the key of {name} is neither in a running ssh-agent nor in {}", path.display())]
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
            KeyError::Nowhere { .. } => {
                Some("name the key's file with --key, or put it into the agent with `ssh-add FILE`".to_owned())
            }
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

    fn ask(&self, question: &str, what: &str) -> Result<String, CliError> {
        match &self.file {
            Some(path) => {
                let text = fs_err::read_to_string(path)?;
                Ok(text.lines().next().unwrap_or_default().to_owned())
            }
            None => Ok(rpassword::prompt_password(question)
                .map_err(|problem| KeyError::NoTerminal { what: what.to_owned(), problem })?),
        }
    }

    /// For a new key: typed twice.
    pub fn new_one(&self, name: &str) -> Result<String, CliError> {
        let what = format!("the key of {name}");
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
    File(Box<PrivateKey>),
    /// In the agent.
    #[cfg(unix)]
    Agent(Box<Agent<std::os::unix::net::UnixStream>>, Box<PublicKey>),
}

impl Signer {
    /// The person's key: in `file` if that is given, else in the agent, else where `ohmwright key` puts it.
    pub fn find(
        name: &str,
        listed: &PublicKey,
        file: Option<&Path>,
        passphrase: &Passphrase,
    ) -> Result<Self, CliError> {
        if let Some(path) = file {
            return Self::open(name, listed, path, passphrase);
        }
        if let Some(signer) = Self::in_agent(listed)? {
            return Ok(signer);
        }
        let path = default_path(name)?;
        if path.is_file() {
            return Self::open(name, listed, &path, passphrase);
        }
        Err(KeyError::Nowhere { name: name.to_owned(), path }.into())
    }

    #[cfg(unix)]
    fn in_agent(listed: &PublicKey) -> Result<Option<Self>, CliError> {
        let Some(socket) = std::env::var_os("SSH_AUTH_SOCK").filter(|socket| !socket.is_empty()) else {
            return Ok(None);
        };
        // A socket that nobody listens at any more is as good as none.
        let Ok(mut agent) = Agent::connect(Path::new(&socket)) else { return Ok(None) };
        let keys = agent.identities().map_err(KeyError::Agent)?;
        let found = keys.into_iter().find(|key| key.key_data() == listed.key_data());
        Ok(found.map(|key| Self::Agent(Box::new(agent), Box::new(key))))
    }

    #[cfg(not(unix))]
    fn in_agent(_listed: &PublicKey) -> Result<Option<Self>, CliError> {
        Ok(None)
    }

    fn open(name: &str, listed: &PublicKey, path: &Path, passphrase: &Passphrase) -> Result<Self, CliError> {
        let text = fs_err::read(path)?;
        let key = PrivateKey::from_openssh(&text)
            .map_err(|error| KeyError::NoKey { path: path.to_owned(), problem: error.to_string() })?;
        if key.algorithm() != Algorithm::Ed25519 {
            return Err(KeyError::Kind { path: path.to_owned(), algorithm: key.algorithm() }.into());
        }
        // The public half stands in the file in clear: a wrong file is told before anybody types a passphrase.
        if key.public_key().key_data() != listed.key_data() {
            return Err(KeyError::Another {
                path: path.to_owned(),
                found: key.fingerprint(HashAlg::Sha256).to_string(),
                listed: listed.fingerprint(HashAlg::Sha256).to_string(),
                name: name.to_owned(),
            }
            .into());
        }
        if !key.is_encrypted() {
            return Ok(Self::File(Box::new(key)));
        }
        let what = path.display().to_string();
        let typed = passphrase.ask(&format!("Passphrase for {what}: "), &what)?;
        let key = key.decrypt(typed).map_err(|_| KeyError::WrongPassphrase { path: path.to_owned() })?;
        Ok(Self::File(Box::new(key)))
    }

    /// The signature over these bytes, as OpenSSH writes it.
    pub fn sign(&mut self, bytes: &[u8]) -> Result<String, KeyError> {
        let signature = match self {
            Self::File(key) => key.sign(NAMESPACE, HashAlg::Sha512, bytes)?,
            #[cfg(unix)]
            Self::Agent(agent, key) => {
                let data = SshSig::signed_data(NAMESPACE, HashAlg::Sha512, bytes)?;
                let signature = agent.sign(key, &data)?;
                SshSig::new(key.key_data().clone(), NAMESPACE, HashAlg::Sha512, signature)?
            }
        };
        Ok(signature.to_pem(LineEnding::LF)?)
    }
}
