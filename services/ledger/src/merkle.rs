//! The Merkle tree over entry hashes (RFC 9162 section 2.1), its root and its proofs.
//!
//! An entry's hash is the tree's leaf hash already, so the tree is derived data and can be rebuilt
//! from the chain at any time.
mod proof;

use sha2::{Digest, Sha256};

use crate::hash::Hash;

pub use proof::{consistency_proof, inclusion_proof, verify_consistency, verify_inclusion};

/// Computes an inner node, SHA-256(0x01 || left || right).
pub fn node(left: Hash, right: Hash) -> Hash {
    let hasher = Sha256::new()
        .chain_update([1])
        .chain_update(left.as_bytes())
        .chain_update(right.as_bytes());
    Hash::from_bytes(hasher.finalize().into())
}

/// The roots of the perfect subtrees that a tree of `size` leaves is made of, largest first: all
/// that is needed to add leaves and to give the root, at most 64 hashes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CompactRange {
    size: u64,
    peaks: Vec<Hash>,
}

impl CompactRange {
    /// Gives the range of a tree without leaves.
    pub const fn new() -> Self {
        Self {
            size: 0,
            peaks: Vec::new(),
        }
    }

    /// Gives the number of leaves.
    pub const fn size(&self) -> u64 {
        self.size
    }

    /// Adds a leaf hash.
    pub fn push(&mut self, leaf: Hash) {
        let mut peak = leaf;
        for _ in 0..self.size.trailing_ones() {
            if let Some(left) = self.peaks.pop() {
                peak = node(left, peak);
            }
        }
        self.peaks.push(peak);
        self.size += 1;
    }

    /// Gives the root; of an empty tree, the SHA-256 of nothing.
    pub fn root(&self) -> Hash {
        self.peaks
            .iter()
            .rev()
            .copied()
            .reduce(|right, left| node(left, right))
            .unwrap_or_else(|| Hash::of(b""))
    }
}

impl Extend<Hash> for CompactRange {
    fn extend<I: IntoIterator<Item = Hash>>(&mut self, leaves: I) {
        leaves.into_iter().for_each(|leaf| self.push(leaf));
    }
}

/// Computes the root over leaf hashes.
pub fn root(leaves: &[Hash]) -> Hash {
    let mut range = CompactRange::new();
    range.extend(leaves.iter().copied());
    range.root()
}
