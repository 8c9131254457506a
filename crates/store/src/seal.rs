//! A digest of a row, kept beside it: the database finds broken pages, not a digit that changed within one.

use sha2::{Digest, Sha256};

/// The first half of the SHA-256 over all parts and their lengths.
pub(crate) fn seal(parts: &[&[u8]]) -> Vec<u8> {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part);
    }
    hash.finalize()[..16].to_vec()
}
