//! Inclusion and consistency proofs, made and checked (RFC 9162 sections 2.1.3 and 2.1.4).
use super::{node, root};
use crate::hash::Hash;

/// Gives the largest power of two below `size`, which must be at least 2.
fn split(size: usize) -> usize {
    1 << (size - 1).ilog2()
}

/// Proves that the leaf at `index` is in the tree over `leaves`; none when there is no such leaf.
pub fn inclusion_proof(leaves: &[Hash], index: usize) -> Option<Vec<Hash>> {
    (index < leaves.len()).then(|| path(leaves, index))
}

fn path(leaves: &[Hash], index: usize) -> Vec<Hash> {
    if leaves.len() < 2 {
        return Vec::new();
    }
    let (left, right) = leaves.split_at(split(leaves.len()));
    let (mut proof, other) = if index < left.len() {
        (path(left, index), right)
    } else {
        (path(right, index - left.len()), left)
    };
    proof.push(root(other));
    proof
}

/// Proves that the tree over the first `first` leaves is a prefix of the tree over all; none when
/// `first` is 0 or more than there are.
pub fn consistency_proof(leaves: &[Hash], first: usize) -> Option<Vec<Hash>> {
    (1..=leaves.len())
        .contains(&first)
        .then(|| subproof(leaves, first, true))
}

fn subproof(leaves: &[Hash], first: usize, known: bool) -> Vec<Hash> {
    if first == leaves.len() {
        return if known {
            Vec::new()
        } else {
            vec![root(leaves)]
        };
    }
    let (left, right) = leaves.split_at(split(leaves.len()));
    let (mut proof, other) = if first <= left.len() {
        (subproof(left, first, known), right)
    } else {
        (subproof(right, first - left.len(), false), left)
    };
    proof.push(root(other));
    proof
}

/// Tells whether `proof` shows the leaf at `index` in the tree of `size` leaves with `root`
/// (RFC 9162 section 2.1.3.2).
pub fn verify_inclusion(leaf: Hash, index: u64, size: u64, proof: &[Hash], root: Hash) -> bool {
    if index >= size {
        return false;
    }
    let (mut place, mut last, mut hash) = (index, size - 1, leaf);
    for step in proof {
        if last == 0 {
            return false;
        }
        if place & 1 == 1 || place == last {
            hash = node(*step, hash);
            (place, last) = (
                place >> place.trailing_zeros(),
                last >> place.trailing_zeros(),
            );
        } else {
            hash = node(hash, *step);
        }
        place >>= 1;
        last >>= 1;
    }
    last == 0 && hash == root
}

/// Tells whether `proof` shows the tree of `first` leaves as a prefix of the tree of `second`
/// leaves (RFC 9162 section 2.1.4.2). A tree of no leaves is a prefix of none here.
pub fn verify_consistency(
    first: u64,
    second: u64,
    first_root: Hash,
    second_root: Hash,
    proof: &[Hash],
) -> bool {
    if first == 0 || first > second {
        return false;
    }
    if first == second {
        return proof.is_empty() && first_root == second_root;
    }
    let mut steps = proof.iter().copied();
    let start = if first.is_power_of_two() {
        Some(first_root)
    } else {
        steps.next()
    };
    let Some(start) = start else {
        return false;
    };
    let up = (first - 1).trailing_ones();
    let (mut place, mut last) = ((first - 1) >> up, (second - 1) >> up);
    let (mut old, mut new) = (start, start);
    for step in steps {
        if last == 0 {
            return false;
        }
        if place & 1 == 1 || place == last {
            old = node(step, old);
            new = node(step, new);
            (place, last) = (
                place >> place.trailing_zeros(),
                last >> place.trailing_zeros(),
            );
        } else {
            new = node(new, step);
        }
        place >>= 1;
        last >>= 1;
    }
    last == 0 && old == first_root && new == second_root
}
