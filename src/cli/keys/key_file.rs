//! A file with an OpenSSH private key: read, opened with its passphrase, and signing.
//!
//! Source of the format: OpenSSH's `PROTOCOL.key` (from memory), held against `ssh-keygen` by the tests. The library reads
//! this format, too, but not every key in it: of an ECDSA key whose secret number begins with a zero byte (every other one
//! with P-521) it says that it is damaged, and RSA keys it reads and can't sign with.

use crate::run::public_key::{Unfit, fit};
use rsa::pkcs1v15;
use rsa::sha2::Sha512;
use rsa::signature::{RandomizedSigner, SignatureEncoding, Signer};
use ssh_encoding::pem::PemLabel;
use ssh_encoding::{Decode, DecodePem, Encode, Reader};
use ssh_key::private::{KeypairData, RsaKeypair};
use ssh_key::public::KeyData;
use ssh_key::rand_core::OsRng;
use ssh_key::{Algorithm, Cipher, EcdsaCurve, HashAlg, Kdf, PublicKey, Signature};
use zeroize::Zeroizing;

/// What every such file begins with.
const MAGIC: &[u8] = b"openssh-key-v1\0";
/// Bytes of the tag of a cipher that has one.
const TAG: usize = 16;

/// What keeps a file from being a key that signs.
#[derive(Debug, thiserror::Error)]
pub enum NoKeyFile {
    /// The half that everybody may have.
    #[error("is the public half of a key: name the file of the key itself, or leave --key away if an ssh-agent has it")]
    Public,
    /// A certificate.
    #[error("is a certificate: name the file of the key itself")]
    Certificate,
    /// A private key as other programs write it.
    #[error("has a private key in another form than OpenSSH's: `ssh-keygen -p -f FILE` writes it anew")]
    OtherForm,
    /// A handle for a security key, which only the device can sign with.
    #[error(
        "is for a security key, which signs by way of the ssh-agent: `ssh-add FILE`, then sign again without --key"
    )]
    Device,
    /// A kind that signs no records.
    #[error("can't sign: {0}")]
    Unfit(#[from] Unfit),
    /// Locked in a way that is not known here.
    #[error("is locked with {cipher}, which is not known here: `ssh-keygen -p -f FILE` locks it anew")]
    Cipher {
        /// With what.
        cipher: String,
    },
    /// Nothing of the kind.
    #[error("is no OpenSSH private key: {problem}")]
    Unreadable {
        /// Why.
        problem: String,
    },
}

impl From<ssh_key::Error> for NoKeyFile {
    fn from(error: ssh_key::Error) -> Self {
        Self::Unreadable { problem: error.to_string() }
    }
}

impl From<ssh_encoding::Error> for NoKeyFile {
    fn from(error: ssh_encoding::Error) -> Self {
        Self::Unreadable { problem: error.to_string() }
    }
}

/// A key file, with its secret half as it stands in the file.
pub struct KeyFile {
    /// The public half, which stands there in clear.
    pub public: PublicKey,
    cipher: Cipher,
    kdf: Kdf,
    secret: Zeroizing<Vec<u8>>,
    tag: Option<[u8; TAG]>,
}

/// The file's armour.
struct Container(Zeroizing<Vec<u8>>);

impl PemLabel for Container {
    const PEM_LABEL: &'static str = "OPENSSH PRIVATE KEY";
}

impl Decode for Container {
    type Error = ssh_key::Error;
    fn decode(reader: &mut impl Reader) -> Result<Self, Self::Error> {
        let mut bytes = Zeroizing::new(vec![0; reader.remaining_len()]);
        reader.read(&mut bytes)?;
        Ok(Self(bytes))
    }
}

impl KeyFile {
    /// Reads a file's bytes.
    ///
    /// # Errors
    /// What it is instead, and kinds of keys that sign no records.
    pub fn read(file: &[u8]) -> Result<Self, NoKeyFile> {
        let text = String::from_utf8_lossy(file);
        if let Some(instead) = instead(text.trim()) {
            return Err(instead);
        }
        let container = Container::decode_pem(file)?.0;
        let mut rest = container.strip_prefix(MAGIC).ok_or_else(|| damaged("it does not begin as one"))?;
        let name = String::decode(&mut rest)?;
        let cipher = match Cipher::new(&name) {
            Ok(cipher) if cipher != Cipher::TDesCbc => cipher,
            _ => return Err(NoKeyFile::Cipher { cipher: name }),
        };
        let kdf = Kdf::decode(&mut rest)?;
        if u32::decode(&mut rest)? != 1 {
            return Err(damaged("it holds more than one key"));
        }
        let public = PublicKey::from(rest.read_prefixed(KeyData::decode)?);
        let secret = Zeroizing::new(Vec::decode(&mut rest)?);
        let tag = match cipher.has_tag() {
            true => Some(rest.try_into().map_err(|_| damaged("it is cut short"))?),
            false if rest.is_empty() => None,
            false => return Err(damaged("something stands behind the key")),
        };
        if !secret.len().is_multiple_of(cipher.block_size()) {
            return Err(damaged("its length is not one that its cipher makes"));
        }
        if cipher.is_some() == kdf.is_none() {
            return Err(damaged("it is locked without a passphrase"));
        }
        fit(&public)?;
        if matches!(public.algorithm(), Algorithm::SkEd25519 | Algorithm::SkEcdsaSha2NistP256) {
            return Err(NoKeyFile::Device);
        }
        Ok(Self { public, cipher, kdf, secret, tag })
    }

    /// Whether a passphrase is needed.
    pub fn is_locked(&self) -> bool {
        self.cipher.is_some()
    }

    /// Opens it; `None` if the passphrase is not the one.
    ///
    /// # Errors
    /// Files that are damaged.
    pub fn open(&self, passphrase: &str) -> Result<Option<OpenKey>, NoKeyFile> {
        if !self.is_locked() {
            return self.opened(&self.secret);
        }
        // No key is locked with nothing.
        if passphrase.is_empty() {
            return Ok(None);
        }
        let (key, iv) = self.kdf.derive_key_and_iv(self.cipher, passphrase)?;
        let mut secret = self.secret.clone();
        match self.cipher.decrypt(&key, &iv, &mut secret, self.tag) {
            Ok(()) => self.opened(&secret),
            // A cipher with a tag tells by itself.
            Err(_) => Ok(None),
        }
    }

    fn opened(&self, mut secret: &[u8]) -> Result<Option<OpenKey>, NoKeyFile> {
        let rest = &mut secret;
        if u32::decode(rest)? != u32::decode(rest)? {
            return if self.is_locked() { Ok(None) } else { Err(damaged("its two check numbers are not the same")) };
        }
        let pair = key_pair(rest)?;
        String::decode(rest)?;
        // Behind the comment stand 1, 2, 3 … up to the cipher's block.
        if !rest.iter().zip(1..=u8::MAX).all(|(byte, number)| *byte == number) || rest.len() > u8::MAX.into() {
            return Err(damaged("what fills it up is not as it should be"));
        }
        if KeyData::try_from(&pair)? != *self.public.key_data() {
            return Err(damaged("its two halves are not of the same key"));
        }
        Ok(Some(OpenKey { pair, public: self.public.key_data().clone() }))
    }
}

/// What a file is that is no OpenSSH private key, where that can be told.
fn instead(text: &str) -> Option<NoKeyFile> {
    if text.starts_with("-----BEGIN ") {
        let label = text.lines().next().unwrap_or_default();
        return (label.contains("PRIVATE KEY") && !label.contains(Container::PEM_LABEL))
            .then_some(NoKeyFile::OtherForm);
    }
    let kind = text.split_whitespace().next()?;
    if kind.contains("-cert-v0") {
        return Some(NoKeyFile::Certificate);
    }
    text.lines().next()?.parse::<PublicKey>().ok().map(|_| NoKeyFile::Public)
}

fn damaged(problem: &str) -> NoKeyFile {
    NoKeyFile::Unreadable { problem: problem.to_owned() }
}

/// The two halves. The secret number of an ECDSA key is written without zeros in front (RFC 4251, section 5, `mpint`), and
/// the library wants it as long as its curve.
fn key_pair(rest: &mut &[u8]) -> Result<KeypairData, NoKeyFile> {
    let mut ahead = *rest;
    let Algorithm::Ecdsa { curve } = Algorithm::decode(&mut ahead)? else {
        return Ok(KeypairData::decode(rest)?);
    };
    let (name, point) = (String::decode(&mut ahead)?, Vec::<u8>::decode(&mut ahead)?);
    let number = Zeroizing::new(Vec::<u8>::decode(&mut ahead)?);
    *rest = ahead;
    let length: usize = match curve {
        EcdsaCurve::NistP256 => 32,
        EcdsaCurve::NistP384 => 48,
        EcdsaCurve::NistP521 => 66,
    };
    let zeros = number.iter().take_while(|byte| **byte == 0).count();
    let number = &number[zeros..];
    let missing =
        length.checked_sub(number.len()).ok_or_else(|| damaged("its secret number is too long for its curve"))?;
    let mut whole = Zeroizing::new(Vec::with_capacity(256));
    Algorithm::Ecdsa { curve }.encode(&mut *whole)?;
    name.encode(&mut *whole)?;
    point.encode(&mut *whole)?;
    length.encode(&mut *whole)?;
    whole.extend(std::iter::repeat_n(0, missing));
    whole.extend_from_slice(number);
    Ok(KeypairData::decode(&mut whole.as_slice())?)
}

/// A key that can sign.
pub struct OpenKey {
    pair: KeypairData,
    public: KeyData,
}

impl OpenKey {
    /// The public half.
    pub const fn public(&self) -> &KeyData {
        &self.public
    }

    /// The signature over these bytes; of an RSA key with SHA-512 (RFC 8332, section 3).
    ///
    /// # Errors
    /// What the libraries say of a key that contradicts itself.
    pub fn sign(&self, data: &[u8]) -> Result<Signature, ssh_key::Error> {
        match &self.pair {
            KeypairData::Rsa(pair) => rsa_signature(pair, data),
            pair => Ok(pair.try_sign(data)?),
        }
    }
}

fn rsa_signature(pair: &RsaKeypair, data: &[u8]) -> Result<Signature, ssh_key::Error> {
    let number = |number: &ssh_key::Mpint| {
        number.as_positive_bytes().map(rsa::BigUint::from_bytes_be).ok_or(ssh_key::Error::FormatEncoding)
    };
    let primes = vec![number(&pair.private.p)?, number(&pair.private.q)?];
    let (modulus, exponent) = (number(&pair.public.n)?, number(&pair.public.e)?);
    let key = rsa::RsaPrivateKey::from_components(modulus, exponent, number(&pair.private.d)?, primes)
        .map_err(|_| ssh_key::Error::Crypto)?;
    // With random numbers in it, what it takes tells nothing of the key; the signature comes out the same.
    let signature = pkcs1v15::SigningKey::<Sha512>::new(key).try_sign_with_rng(&mut OsRng, data)?;
    Signature::new(Algorithm::Rsa { hash: Some(HashAlg::Sha512) }, signature.to_vec())
}

#[cfg(test)]
mod tests {
    use super::*;
    use ssh_encoding::EncodePem;
    use ssh_key::{LineEnding, PrivateKey};

    /// A container's bytes in their armour.
    struct Armoured<'a>(&'a [u8]);

    impl PemLabel for Armoured<'_> {
        const PEM_LABEL: &'static str = Container::PEM_LABEL;
    }
    impl Encode for Armoured<'_> {
        fn encoded_len(&self) -> ssh_encoding::Result<usize> {
            Ok(self.0.len())
        }
        fn encode(&self, writer: &mut impl ssh_encoding::Writer) -> ssh_encoding::Result<()> {
            writer.write(self.0)
        }
    }

    fn read(bytes: &[u8]) -> Result<KeyFile, NoKeyFile> {
        KeyFile::read(Armoured(bytes).encode_pem_string(LineEnding::LF).unwrap().as_bytes())
    }

    #[test]
    fn no_damage_to_a_file_makes_it_panic_or_another_key() {
        for curve in [EcdsaCurve::NistP256, EcdsaCurve::NistP384, EcdsaCurve::NistP521] {
            let key = PrivateKey::random(&mut OsRng, Algorithm::Ecdsa { curve }).unwrap();
            let good = key.to_bytes().unwrap();
            let whole = read(&good).unwrap().open("").unwrap().unwrap();
            assert_eq!(whole.public(), key.public_key().key_data());
            for length in 0..good.len() {
                assert!(read(&good[..length]).is_err(), "cut at {length}");
            }
            for position in 0..good.len() {
                for bit in [1, 0x80] {
                    let mut bad = good.to_vec();
                    bad[position] ^= bit;
                    // What still opens holds the same public half, and signs or says that it can't.
                    if let Ok(Ok(Some(open))) = read(&bad).map(|file| file.open("")) {
                        assert_eq!(open.public(), whole.public(), "bit {bit} of byte {position}");
                        let _ = open.sign(b"bytes");
                    }
                }
            }
        }
    }

    #[test]
    fn a_passphrase_that_is_empty_opens_no_locked_file() {
        let key = PrivateKey::random(&mut OsRng, Algorithm::Ed25519).unwrap();
        let locked = key.encrypt(&mut OsRng, "wide and long").unwrap().to_bytes().unwrap();
        let file = read(&locked).unwrap();
        assert!(file.is_locked());
        assert!(matches!(file.open(""), Ok(None)) && matches!(file.open("narrow"), Ok(None)));
        assert!(matches!(file.open("wide and long"), Ok(Some(_))));
    }
}
