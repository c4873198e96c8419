//! A signature as OpenSSH writes it: read byte for byte, checked, and written.
//!
//! Sources: OpenSSH's `PROTOCOL.sshsig` (the blob, what is signed, RSA only with SHA-2), `PROTOCOL.u2f` (what a security key
//! signs; from memory), RFC 8332 (RSA with SHA-2; from memory), RFC 5656 (ECDSA; from memory).
//!
//! ```
//! use ohmwright::run::signature::{parse_signature, seal, signed_data};
//! use rsa::signature::Signer;
//! use ssh_key::{Algorithm, PrivateKey, rand_core::OsRng};
//! let key = PrivateKey::random(&mut OsRng, Algorithm::Ed25519)?;
//! let signature = key.key_data().try_sign(&signed_data(b"a line\n")?)?;
//! let text = seal(key.public_key().key_data(), signature)?;
//! assert!(text.starts_with("-----BEGIN SSH SIGNATURE-----\nU1NIU0lH"));
//! assert_eq!(parse_signature(&text)?.public_key(), key.public_key().key_data());
//! assert!(parse_signature(text.trim_end()).is_err(), "byte for byte as OpenSSH writes it");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use super::public_key::{LONGEST_RSA, Unfit, fit};
use crate::model::signoff::{NAMESPACE, Statement};
use rsa::pkcs1v15;
use rsa::sha2::{Sha256, Sha512};
use rsa::signature::Verifier;
use ssh_encoding::pem::PemLabel;
use ssh_encoding::{Decode, DecodePem, Encode, EncodePem, Reader, Writer};
use ssh_key::public::{KeyData, RsaPublicKey};
use ssh_key::{Algorithm, HashAlg, LineEnding, PublicKey, Signature, SshSig};

/// Bytes behind a security key's signature: flags and a counter of four bytes. Source: `PROTOCOL.u2f` (from memory).
const DEVICE_TRAILER: usize = 5;
/// The flag that says that somebody touched the security key. Source: `PROTOCOL.u2f` (from memory).
const TOUCHED: u8 = 1;

/// Why a signature does not hold.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Broken {
    /// No SSHSIG of the form in which OpenSSH writes it.
    #[error("what stands there is no OpenSSH signature: {problem}")]
    Unreadable {
        /// Why.
        problem: String,
    },
    /// A kind of key that is not taken here.
    #[error("{0}")]
    Kind(#[from] Unfit),
    /// RSA over SHA-1, which can be forged.
    #[error("it was made over SHA-1 (`ssh-rsa`), which shows nothing any more; RSA keys sign with rsa-sha2-512")]
    Sha1,
    /// Another kind of signature than the key makes.
    #[error("a key of the kind {key} makes no signature of the kind {signature}")]
    Mixed {
        /// The key's kind.
        key: String,
        /// The signature's kind.
        signature: String,
    },
    /// Made by a security key that nobody touched.
    #[error("it was made by a security key that nobody touched, so that it shows nobody's will")]
    Untouched,
    /// The statement names no key.
    #[error("the statement's key is no OpenSSH public key")]
    NoKey,
    /// Made with another key.
    #[error("it was made with another key than the statement names")]
    OtherKey,
    /// Made for something else.
    #[error("it was made for `{namespace}`, not for a record")]
    Namespace {
        /// For what.
        namespace: String,
    },
    /// The bytes are others, or the key.
    #[error("it does not fit the lines that it stands for")]
    Bytes,
    /// Means the same, but other bytes.
    #[error("its line is not as it was written")]
    Rewritten,
}

/// The bytes inside the armour.
struct Blob(Vec<u8>);

impl PemLabel for Blob {
    const PEM_LABEL: &'static str = "SSH SIGNATURE";
}

impl Decode for Blob {
    type Error = ssh_key::Error;
    fn decode(reader: &mut impl Reader) -> Result<Self, Self::Error> {
        let mut bytes = vec![0; reader.remaining_len()];
        reader.read(&mut bytes)?;
        Ok(Self(bytes))
    }
}

impl Encode for Blob {
    fn encoded_len(&self) -> ssh_encoding::Result<usize> {
        Ok(self.0.len())
    }
    fn encode(&self, writer: &mut impl Writer) -> ssh_encoding::Result<()> {
        writer.write(&self.0)
    }
}

impl Blob {
    /// Of a signature. What a security key with ECDSA signed, the library writes otherwise than OpenSSH reads it.
    fn of(signature: &SshSig) -> ssh_encoding::Result<Self> {
        let mut inner = Vec::new();
        let bytes = signature.signature_bytes();
        let trailer = if is_of_device(&signature.algorithm()) { DEVICE_TRAILER } else { 0 };
        let (bytes, trailer) = bytes.split_at_checked(bytes.len() - trailer.min(bytes.len())).unwrap_or((bytes, &[]));
        signature.algorithm().encode(&mut inner)?;
        bytes.encode(&mut inner)?;
        inner.extend_from_slice(trailer);

        let mut blob = b"SSHSIG".to_vec();
        signature.version().encode(&mut blob)?;
        signature.public_key().encode_prefixed(&mut blob)?;
        signature.namespace().encode(&mut blob)?;
        signature.reserved().encode(&mut blob)?;
        signature.hash_alg().encode(&mut blob)?;
        inner.encode(&mut blob)?;
        Ok(Self(blob))
    }

    /// The kind of the signature in it, where it can be read so far.
    fn kind(&self) -> Option<String> {
        let mut rest = self.0.get(b"SSHSIG".len() + 4..)?;
        for _ in ["key", "namespace", "reserved", "hash"] {
            Vec::<u8>::decode(&mut rest).ok()?;
        }
        let inner = Vec::<u8>::decode(&mut rest).ok()?;
        String::decode(&mut inner.as_slice()).ok()
    }
}

fn is_of_device(algorithm: &Algorithm) -> bool {
    matches!(algorithm, Algorithm::SkEd25519 | Algorithm::SkEcdsaSha2NistP256)
}

/// Reads an armoured SSHSIG, byte for byte as OpenSSH writes it.
///
/// # Errors
/// Anything else, and kinds of keys and of signatures that are not taken here.
pub fn parse_signature(text: &str) -> Result<SshSig, Broken> {
    let unreadable = |problem: String| Broken::Unreadable { problem };
    let blob = Blob::decode_pem(text).map_err(|error| unreadable(error.to_string()))?;
    if blob.kind().as_deref() == Some("ssh-rsa") {
        return Err(Broken::Sha1);
    }
    let mut rest = blob.0.as_slice();
    let parsed = SshSig::decode(&mut rest).map_err(|error| unreadable(error.to_string()))?;
    if !rest.is_empty() {
        return Err(unreadable(format!("{} bytes stand behind it", rest.len())));
    }
    if parsed.version() != SshSig::VERSION {
        return Err(unreadable(format!("its version is {}, not {}", parsed.version(), SshSig::VERSION)));
    }
    // OpenSSH leaves it empty, and checks signatures as if it were.
    if !parsed.reserved().is_empty() {
        return Err(unreadable("what is reserved in it is not empty".to_owned()));
    }
    let key = PublicKey::from(parsed.public_key().clone());
    fit(&key)?;
    if !goes_with(&key.algorithm(), &parsed.algorithm()) {
        let (key, signature) = (key.algorithm().to_string(), parsed.algorithm().to_string());
        return Err(Broken::Mixed { key, signature });
    }
    if armoured(&parsed).map_err(|error| unreadable(error.to_string()))? != text {
        return Err(Broken::Rewritten);
    }
    Ok(parsed)
}

/// Whether a key of this kind makes signatures of that one. RSA: RFC 8332, section 3; the others are named as their keys.
fn goes_with(key: &Algorithm, signature: &Algorithm) -> bool {
    match key {
        Algorithm::Rsa { .. } => matches!(signature, Algorithm::Rsa { hash: Some(_) }),
        key => key == signature,
    }
}

/// The signature as OpenSSH writes it.
///
/// # Errors
/// What can't be encoded.
pub fn armoured(signature: &SshSig) -> Result<String, ssh_key::Error> {
    Ok(Blob::of(signature)?.encode_pem_string(LineEnding::LF)?)
}

/// What a key signs to sign these bytes of a record.
///
/// # Errors
/// What can't be encoded.
pub fn signed_data(bytes: &[u8]) -> Result<Vec<u8>, ssh_key::Error> {
    SshSig::signed_data(NAMESPACE, HashAlg::Sha512, bytes)
}

/// What a key made of [`signed_data`], armoured.
///
/// # Errors
/// What can't be encoded.
pub fn seal(key: &KeyData, signature: Signature) -> Result<String, ssh_key::Error> {
    armoured(&SshSig::new(key.clone(), NAMESPACE, HashAlg::Sha512, signature)?)
}

/// Whether a signature holds for these bytes and for the key that the statement names.
///
/// # Errors
/// Why not.
pub fn holds(statement: &Statement, signature: &str, bytes: &[u8]) -> Result<(), Broken> {
    let parsed = parse_signature(signature)?;
    let key: PublicKey = statement.key.parse().map_err(|_| Broken::NoKey)?;
    if key.key_data() != parsed.public_key() {
        return Err(Broken::OtherKey);
    }
    if parsed.namespace() != NAMESPACE {
        return Err(Broken::Namespace { namespace: parsed.namespace().to_owned() });
    }
    match parsed.public_key() {
        KeyData::Rsa(key) => rsa_holds(key, &parsed, bytes).ok_or(Broken::Bytes)?,
        _ => key.verify(NAMESPACE, bytes, &parsed).map_err(|_| Broken::Bytes)?,
    }
    if is_of_device(&parsed.algorithm()) {
        let flags = parsed.signature_bytes().iter().rev().nth(DEVICE_TRAILER - 1).copied().unwrap_or(0);
        if flags & TOUCHED == 0 {
            return Err(Broken::Untouched);
        }
    }
    Ok(())
}

/// RSASSA-PKCS1-v1_5 with SHA-2, RFC 8332, section 3. The library that reads keys takes none above 4096 bits.
fn rsa_holds(key: &RsaPublicKey, parsed: &SshSig, bytes: &[u8]) -> Option<()> {
    let number = |number: &ssh_key::Mpint| number.as_positive_bytes().map(rsa::BigUint::from_bytes_be);
    let key = rsa::RsaPublicKey::new_with_max_size(number(&key.n)?, number(&key.e)?, LONGEST_RSA).ok()?;
    let data = SshSig::signed_data(parsed.namespace(), parsed.hash_alg(), bytes).ok()?;
    let signature = pkcs1v15::Signature::try_from(parsed.signature_bytes()).ok()?;
    match parsed.algorithm() {
        Algorithm::Rsa { hash: Some(HashAlg::Sha256) } => {
            pkcs1v15::VerifyingKey::<Sha256>::new(key).verify(&data, &signature).ok()
        }
        Algorithm::Rsa { hash: Some(HashAlg::Sha512) } => {
            pkcs1v15::VerifyingKey::<Sha512>::new(key).verify(&data, &signature).ok()
        }
        _ => None,
    }
}
