//! What makes a certificate checkable by anyone: canonical JSON, its hash, the short code made from
//! it, and the signature of the plant's key. Where keys are kept and who signs is the affair of acts.

use ed25519_dalek::pkcs8::{
    DecodePrivateKey, EncodePublicKey, KeypairBytes, spki::der::pem::LineEnding,
};
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use serde::{Deserialize, Serialize};

use super::audit::{hex, sha256_hex, unhex};

/// The digits of a code: no I, L, O or U, so that it can be read out and typed (Crockford's base 32).
const DIGITS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// Hexadecimal digits of the hash a code stands for: 60 bits.
const CODE_HEX: usize = 15;

/// The canonical text of a value after RFC 8785: what is hashed and signed.
///
/// # Errors
/// A value that cannot be written as JSON.
pub fn canonical<T: Serialize>(value: &T) -> Result<String, serde_json::Error> {
    serde_json_canonicalizer::to_string(value)
}

/// The part of a hash a code stands for.
pub fn beginning(sha256: &str) -> &str {
    sha256.get(..CODE_HEX).unwrap_or(sha256)
}

/// The short code of a record by its SHA-256: twelve digits in three groups, such as
/// `7K3M-9QXT-2HVW`. It is the first 60 bits of the hash, so it cannot be true of another record.
pub fn code_of(sha256: &str) -> String {
    let Ok(bits) = u64::from_str_radix(sha256.get(..CODE_HEX).unwrap_or("0"), 16) else {
        return String::new();
    };
    let mut code = String::new();
    for place in 0..12_u32 {
        if place > 0 && place % 4 == 0 {
            code.push('-');
        }
        let digit = usize::try_from((bits >> (5 * (11 - place))) & 31).unwrap_or(0);
        code.push(char::from(DIGITS[digit]));
    }
    code
}

/// The beginning of the hash a typed code stands for; nothing where it is no code. Spaces, hyphens
/// and small letters are fine, and the letters people read for digits.
pub fn hash_of_code(typed: &str) -> Option<String> {
    let mut bits: u64 = 0;
    let mut count = 0;
    for c in typed.chars() {
        let c = match c.to_ascii_uppercase() {
            ' ' | '-' | '\u{a0}' => continue,
            'O' => '0',
            'I' | 'L' => '1',
            other => other,
        };
        let digit = DIGITS.iter().position(|d| char::from(*d) == c)?;
        count += 1;
        if count > 12 {
            return None;
        }
        bits = (bits << 5) | u64::try_from(digit).ok()?;
    }
    (count == 12).then(|| format!("{bits:0CODE_HEX$x}"))
}

/// A public key of the plant.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PublicKey {
    /// The beginning of the key's own hash, by which people tell keys apart.
    pub fingerprint: String,
    /// The key, 32 bytes in hexadecimal.
    pub public_key: String,
}

impl PublicKey {
    fn of(key: &VerifyingKey) -> Self {
        Self {
            fingerprint: sha256_hex(key.as_bytes())[..16].to_owned(),
            public_key: hex(key.as_bytes()),
        }
    }

    fn verifying(&self) -> Option<VerifyingKey> {
        let bytes: [u8; 32] = unhex(&self.public_key)?.try_into().ok()?;
        VerifyingKey::from_bytes(&bytes).ok()
    }

    /// The key as other programs read it: PEM of a `SubjectPublicKeyInfo` (RFC 8410).
    pub fn pem(&self) -> Option<String> {
        self.verifying()?.to_public_key_pem(LineEnding::LF).ok()
    }

    /// Whether this key made that signature (64 bytes in hexadecimal) under a text. Strict: no
    /// second signature can be made from a first one.
    pub fn signed(&self, text: &str, signature: &str) -> bool {
        let verified = || {
            let bytes: [u8; 64] = unhex(signature)?.try_into().ok()?;
            let signature = Signature::from_bytes(&bytes);
            self.verifying()?
                .verify_strict(text.as_bytes(), &signature)
                .ok()
        };
        verified().is_some()
    }
}

/// The plant's key with its secret half.
pub struct PlantKey(SigningKey);

impl PlantKey {
    /// The key of 32 random bytes.
    pub fn of(secret: &[u8; 32]) -> Self {
        Self(SigningKey::from_bytes(secret))
    }

    /// Reads the key from its file's text: PEM of PKCS#8, as `openssl` writes it too.
    pub fn from_pem(text: &str) -> Option<Self> {
        SigningKey::from_pkcs8_pem(text).ok().map(Self)
    }

    /// The text of the key's file.
    pub fn pem(&self) -> Option<String> {
        use ed25519_dalek::pkcs8::EncodePrivateKey;
        let pair = KeypairBytes {
            secret_key: self.0.to_bytes(),
            // Without the public half it is the older form every program reads.
            public_key: None,
        };
        pair.to_pkcs8_pem(LineEnding::LF)
            .ok()
            .map(|text| text.as_str().to_owned())
    }

    /// The public half.
    pub fn public(&self) -> PublicKey {
        PublicKey::of(&self.0.verifying_key())
    }

    /// Signs a text: Ed25519 (RFC 8032), in hexadecimal.
    pub fn sign(&self, text: &str) -> String {
        hex(&self.0.sign(text.as_bytes()).to_bytes())
    }
}

impl std::fmt::Debug for PlantKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // The secret half is never written anywhere but into its file.
        f.debug_tuple("PlantKey")
            .field(&self.public().fingerprint)
            .finish()
    }
}

/// The seal of one certificate, as it stands on the paper and beside the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Seal {
    /// SHA-256 of the record's canonical text.
    pub sha256: String,
    /// The short code made from it.
    pub code: String,
    /// Ed25519 signature of the canonical text, in hexadecimal.
    pub signature: String,
    /// The key it was signed with.
    #[serde(flatten)]
    pub key: PublicKey,
}

impl Seal {
    /// The seal of a kept record.
    pub fn new(sha256: &str, signature: &str, key: PublicKey) -> Self {
        Self {
            sha256: sha256.to_owned(),
            code: code_of(sha256),
            signature: signature.to_owned(),
            key,
        }
    }

    /// Whether hash and signature belong to this record.
    pub fn holds(&self, record: &str) -> bool {
        sha256_hex(record.as_bytes()) == self.sha256 && self.key.signed(record, &self.signature)
    }
}
