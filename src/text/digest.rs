//! Short stand-ins for texts: equal texts have equal ones, and no two others are known to.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Stands for some bytes: 32 bytes of BLAKE3.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Digest([u8; 32]);

impl Digest {
    /// Of several parts; where one ends and the next begins counts.
    #[must_use]
    pub fn of(parts: &[&[u8]]) -> Self {
        let mut hasher = blake3::Hasher::new();
        for part in parts {
            hasher.update(&(part.len() as u64).to_le_bytes());
            hasher.update(part);
        }
        Self(*hasher.finalize().as_bytes())
    }

    /// Of all that a stream gives.
    ///
    /// # Errors
    /// When the stream cannot be read.
    pub fn of_stream(stream: impl std::io::Read) -> std::io::Result<Self> {
        let mut hasher = blake3::Hasher::new();
        hasher.update_reader(stream)?;
        Ok(Self(*hasher.finalize().as_bytes()))
    }

    /// Its bytes.
    #[must_use]
    pub fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

/// 64 hexadecimal digits.
impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_parts_end_counts() {
        let of = |parts: &[&str]| Digest::of(&parts.iter().map(|part| part.as_bytes()).collect::<Vec<_>>());
        assert_eq!(of(&["ab", "c"]), of(&["ab", "c"]));
        assert_ne!(of(&["ab", "c"]), of(&["a", "bc"]));
        assert_ne!(of(&["ab"]), of(&["ab", ""]));
        assert_eq!(of(&["a"]).to_string().len(), 64);
        let stream = |text: &str| Digest::of_stream(text.as_bytes()).unwrap();
        assert_eq!(stream("ab"), stream("ab"));
        assert_ne!(stream("ab"), stream("ac"));
    }
}
