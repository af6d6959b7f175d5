//! SHA-256.

use std::fmt;

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

/// The SHA-256 of some bytes ([`FIPS180`](crate::sources::FIPS180)): equal digests mean the same bytes. It says nothing about
/// whether what the bytes tell is true.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Digest([u8; 32]);

impl Digest {
    /// What stands in the place of the hash before the first entry: 32 zeros.
    pub const NONE: Self = Self([0; 32]);

    /// Of bytes at hand.
    pub fn of(bytes: &[u8]) -> Self {
        let mut digester = Digester::default();
        digester.update(bytes);
        digester.finish()
    }

    /// From 64 hexadecimal digits in lower case, the one way in which it is written; `None` for anything else.
    pub fn parse(text: &str) -> Option<Self> {
        let digit = |b: u8| match b {
            b'0'..=b'9' => Some(b - b'0'),
            b'a'..=b'f' => Some(b - b'a' + 10),
            _ => None,
        };
        let mut out = [0; 32];
        if text.len() != 64 {
            return None;
        }
        for (byte, pair) in out.iter_mut().zip(text.as_bytes().chunks(2)) {
            *byte = digit(pair[0])? << 4 | digit(pair[1])?;
        }
        Some(Self(out))
    }

    /// The first twelve digits, for tables.
    pub fn short(&self) -> String {
        self.to_string()[..12].to_owned()
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self}")
    }
}

impl From<Digest> for String {
    fn from(digest: Digest) -> Self {
        digest.to_string()
    }
}

impl TryFrom<String> for Digest {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        Self::parse(&text).ok_or_else(|| "a SHA-256 is 64 hexadecimal digits in lower case".to_owned())
    }
}

/// Takes bytes piece by piece, so that a long file need not fit into memory.
#[derive(Clone, Default)]
pub struct Digester(Sha256);

impl Digester {
    /// The next piece.
    pub fn update(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    /// The digest of all pieces in their order.
    pub fn finish(self) -> Digest {
        Digest(self.0.finalize().into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The examples published with the standard: "abc", the message of 448 bits, the empty message, and a million "a".
    #[test]
    fn the_examples_of_the_standard() {
        for (message, digest) in [
            (b"abc".as_slice(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
            (
                b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
                "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            ),
            (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        ] {
            assert_eq!(Digest::of(message).to_string(), digest);
        }
        let mut digester = Digester::default();
        (0..1000).for_each(|_| digester.update(&[b'a'; 1000]));
        let million = "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0";
        assert_eq!(digester.finish(), Digest::parse(million).unwrap());
    }

    #[test]
    fn only_one_spelling_is_read() {
        let written = Digest::of(b"abc").to_string();
        assert_eq!(Digest::parse(&written), Some(Digest::of(b"abc")));
        assert_eq!(Digest::parse(&written.to_uppercase()), None);
        assert_eq!(Digest::parse(&written[1..]), None);
        assert_eq!(Digest::parse(&"é".repeat(32)), None);
    }
}
