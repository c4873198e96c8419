//! A running ssh-agent, asked for its keys and for a signature.
//!
//! Only two requests of the agent protocol are spoken: list identities (11) and sign (13).
//! Source: `draft-ietf-sshm-ssh-agent`, and OpenSSH's `PROTOCOL.agent`; message numbers and flags from memory, checked
//! against OpenSSH's agent by the tests.

use ssh_key::{Algorithm, PublicKey, Signature};
use std::io::{ErrorKind, Read, Write};
use std::time::Duration;

const FAILURE: u8 = 5;
const REQUEST_IDENTITIES: u8 = 11;
const IDENTITIES_ANSWER: u8 = 12;
const SIGN_REQUEST: u8 = 13;
const SIGN_RESPONSE: u8 = 14;
/// The flag that asks an RSA key for SHA-512; without it an agent signs over SHA-1.
const RSA_WITH_SHA512: u32 = 4;
/// A person may have to confirm the use of a key or touch it.
const PATIENCE: Duration = Duration::from_secs(120);
/// No answer of an agent that holds a sensible number of keys is longer.
const LONGEST: usize = 256 * 1024;

/// What went wrong with the agent.
#[derive(Debug, thiserror::Error)]
pub enum AgentError {
    /// It can't be spoken to.
    #[error("the ssh-agent can't be spoken to: {0}")]
    Unreachable(std::io::Error),
    /// It went away.
    #[error("the ssh-agent ended before it answered")]
    Ended,
    /// It says nothing.
    #[error("the ssh-agent has not answered for {} seconds", PATIENCE.as_secs())]
    Silent,
    /// It says no.
    #[error(
        "the ssh-agent refused: it may be locked, the key gone, its use not confirmed, or a security key not touched"
    )]
    Refused,
    /// It does not know how RSA keys sign today.
    #[error(
        "the ssh-agent is too old for this RSA key: it signed over SHA-1 (`ssh-rsa`), which shows nothing any more"
    )]
    Sha1,
    /// It says something that is no answer.
    #[error("the ssh-agent's answer makes no sense: {problem}")]
    Nonsense {
        /// What.
        problem: &'static str,
    },
}

impl From<std::io::Error> for AgentError {
    fn from(error: std::io::Error) -> Self {
        match error.kind() {
            ErrorKind::UnexpectedEof | ErrorKind::BrokenPipe | ErrorKind::ConnectionReset => Self::Ended,
            ErrorKind::WouldBlock | ErrorKind::TimedOut => Self::Silent,
            _ => Self::Unreachable(error),
        }
    }
}

/// A conversation with an agent.
pub struct Agent<S> {
    stream: S,
}

#[cfg(unix)]
impl Agent<std::os::unix::net::UnixStream> {
    /// The agent behind this socket.
    pub fn connect(socket: &std::path::Path) -> Result<Self, AgentError> {
        let stream = std::os::unix::net::UnixStream::connect(socket)?;
        stream.set_read_timeout(Some(PATIENCE))?;
        stream.set_write_timeout(Some(Duration::from_secs(10)))?;
        Ok(Self { stream })
    }
}

impl<S: Read + Write> Agent<S> {
    /// Over any stream.
    #[cfg(test)]
    pub const fn over(stream: S) -> Self {
        Self { stream }
    }

    /// The keys that it holds; kinds that are not known here are left out.
    pub fn identities(&mut self) -> Result<Vec<PublicKey>, AgentError> {
        let answer = self.ask(REQUEST_IDENTITIES, &[], IDENTITIES_ANSWER)?;
        let mut rest = Wire(&answer);
        let count = rest.number()?;
        let mut keys = Vec::new();
        for _ in 0..count {
            let blob = rest.string()?;
            let comment = String::from_utf8_lossy(rest.string()?).into_owned();
            if let Ok(mut key) = PublicKey::from_bytes(blob) {
                key.set_comment(comment);
                keys.push(key);
            }
        }
        Ok(keys)
    }

    /// A signature of this key over this data.
    pub fn sign(&mut self, key: &PublicKey, data: &[u8]) -> Result<Signature, AgentError> {
        let blob = key.to_bytes().map_err(|_| AgentError::Nonsense { problem: "its key can't be written" })?;
        let mut request = Vec::new();
        put(&mut request, &blob);
        put(&mut request, data);
        let flags = if matches!(key.algorithm(), Algorithm::Rsa { .. }) { RSA_WITH_SHA512 } else { 0 };
        request.extend_from_slice(&flags.to_be_bytes());
        let answer = self.ask(SIGN_REQUEST, &request, SIGN_RESPONSE)?;
        let signature = Wire(&answer).string()?;
        if Wire(signature).string()? == b"ssh-rsa" {
            return Err(AgentError::Sha1);
        }
        Signature::try_from(signature).map_err(|_| AgentError::Nonsense { problem: "its signature can't be read" })
    }

    fn ask(&mut self, kind: u8, content: &[u8], wanted: u8) -> Result<Vec<u8>, AgentError> {
        let mut message = Vec::with_capacity(content.len() + 5);
        let length = u32::try_from(content.len() + 1).map_err(|_| AgentError::Nonsense { problem: "too long" })?;
        message.extend_from_slice(&length.to_be_bytes());
        message.push(kind);
        message.extend_from_slice(content);
        self.stream.write_all(&message)?;
        self.stream.flush()?;
        let mut length = [0; 4];
        self.stream.read_exact(&mut length)?;
        let length = usize::try_from(u32::from_be_bytes(length)).unwrap_or(usize::MAX);
        if length == 0 || length > LONGEST {
            return Err(AgentError::Nonsense { problem: "its length is not one that an agent sends" });
        }
        let mut answer = vec![0; length];
        self.stream.read_exact(&mut answer)?;
        let kind = answer.remove(0);
        match kind {
            FAILURE => Err(AgentError::Refused),
            kind if kind == wanted => Ok(answer),
            _ => Err(AgentError::Nonsense { problem: "it answers another question" }),
        }
    }
}

fn put(message: &mut Vec<u8>, bytes: &[u8]) {
    message.extend_from_slice(&u32::try_from(bytes.len()).unwrap_or(u32::MAX).to_be_bytes());
    message.extend_from_slice(bytes);
}

/// What is left of a message.
struct Wire<'a>(&'a [u8]);

impl<'a> Wire<'a> {
    fn take(&mut self, length: usize) -> Result<&'a [u8], AgentError> {
        let (taken, rest) = self.0.split_at_checked(length).ok_or(AgentError::Nonsense { problem: "it breaks off" })?;
        self.0 = rest;
        Ok(taken)
    }
    fn number(&mut self) -> Result<u32, AgentError> {
        let bytes = self.take(4)?;
        Ok(bytes.iter().fold(0, |number, byte| number << 8 | u32::from(*byte)))
    }
    fn string(&mut self) -> Result<&'a [u8], AgentError> {
        let length = self.number()?;
        self.take(usize::try_from(length).unwrap_or(usize::MAX))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Cursor;

    /// An agent that says one thing, whatever it is asked.
    struct Says(Cursor<Vec<u8>>, Vec<u8>);

    impl Says {
        fn new(answer: &[u8]) -> Self {
            let mut bytes = u32::try_from(answer.len()).unwrap().to_be_bytes().to_vec();
            bytes.extend_from_slice(answer);
            Self(Cursor::new(bytes), vec![])
        }
    }
    impl Read for Says {
        fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
            self.0.read(buffer)
        }
    }
    impl Write for Says {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            self.1.extend_from_slice(bytes);
            Ok(bytes.len())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }

    const KEY: &str = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAILM+rvN+ot98qgEN796jTiQfZfG1KaT0PtFDJ/XFSqti";

    #[test]
    fn the_list_is_read_and_unknown_kinds_are_left_out() {
        let key: PublicKey = KEY.parse().unwrap();
        let mut answer = vec![IDENTITIES_ANSWER, 0, 0, 0, 2];
        put(&mut answer, b"\0\0\0\x04what\0\0\0\x01x");
        put(&mut answer, b"of another kind");
        put(&mut answer, &key.to_bytes().unwrap());
        put(&mut answer, "ana@exämple".as_bytes());
        let mut agent = Agent::over(Says::new(&answer));
        let keys = agent.identities().unwrap();
        assert_eq!(agent.stream.1, [0, 0, 0, 1, REQUEST_IDENTITIES]);
        assert!(keys.iter().any(|found| found.key_data() == key.key_data() && found.comment() == "ana@exämple"));
    }

    #[test]
    fn what_breaks_off_or_lies_about_its_length_is_an_error() {
        let refused = Agent::over(Says::new(&[FAILURE])).identities();
        assert!(matches!(refused, Err(AgentError::Refused)));
        for answer in [
            &[IDENTITIES_ANSWER][..],
            &[IDENTITIES_ANSWER, 0, 0, 0, 1],
            &[IDENTITIES_ANSWER, 255, 255, 255, 255, 255, 255, 255, 255],
            &[IDENTITIES_ANSWER, 0, 0, 0, 1, 0, 0, 0, 9, 1],
            &[SIGN_RESPONSE, 0, 0, 0, 0],
        ] {
            let found = Agent::over(Says::new(answer)).identities();
            assert!(matches!(found, Err(AgentError::Nonsense { .. })), "{answer:?}");
        }
        let mut endless = Says::new(&[]);
        endless.0 = Cursor::new(vec![255; 64]);
        assert!(matches!(Agent::over(endless).identities(), Err(AgentError::Nonsense { .. })));
        let short = Agent::over(Says(Cursor::new(vec![0, 0, 0, 9, 12]), vec![])).identities();
        assert!(matches!(short, Err(AgentError::Ended)));
        let key: PublicKey = KEY.parse().unwrap();
        let signature = Agent::over(Says::new(&[SIGN_RESPONSE, 0, 0, 0, 2, 1, 2])).sign(&key, b"data");
        assert!(matches!(signature, Err(AgentError::Nonsense { .. })));
    }
}
