use lotwarden_ledger::{
    Hash, entry_hash,
    merkle::{
        CompactRange, consistency_proof, inclusion_proof, node, root, verify_consistency,
        verify_inclusion,
    },
};

/// The leaves of the published RFC 6962 test data.
const LEAVES: [&[u8]; 8] = [
    b"",
    b"\x00",
    b"\x10",
    b"\x20\x21",
    b"\x30\x31",
    b"\x40\x41\x42\x43",
    b"\x50\x51\x52\x53\x54\x55\x56\x57",
    b"\x60\x61\x62\x63\x64\x65\x66\x67\x68\x69\x6a\x6b\x6c\x6d\x6e\x6f",
];

fn leaves(count: usize) -> Vec<Hash> {
    LEAVES[..count]
        .iter()
        .map(|leaf| entry_hash(leaf))
        .collect()
}

/// The roots of the published RFC 6962 test data for 0 to 8 leaves (the first digits; size 8 in
/// full).
#[test]
fn roots_are_the_published_ones() {
    let published = [
        "e3b0c442",
        "6e340b9c",
        "fac54203",
        "aeb6bcfe",
        "d37ee418",
        "4e3bbb1f",
        "76e67dad",
        "ddb89be4",
        "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
    ];
    for (size, start) in published.iter().enumerate() {
        assert!(root(&leaves(size)).to_string().starts_with(start), "{size}");
    }
}

/// Proofs of the published RFC 6962 test data, from memory: (leaf, size) and (first, second).
#[test]
fn proofs_are_the_published_ones() {
    let short = |proof: Option<Vec<Hash>>| -> Vec<String> {
        let proof = proof.unwrap();
        proof
            .iter()
            .map(|hash| hash.to_string()[..16].to_owned())
            .collect()
    };
    let inclusion = |index, size| short(inclusion_proof(&leaves(size), index));
    assert_eq!(inclusion(0, 1), [""; 0]);
    assert_eq!(
        inclusion(0, 8),
        ["96a296d224f285c6", "5f083f0a1a33ca07", "6b47aaf29ee3c2af"]
    );
    assert_eq!(
        inclusion(5, 8),
        ["bc1a0643b12e4d2d", "ca854ea128ed050b", "d37ee418976dd957"]
    );
    assert_eq!(inclusion(2, 3), ["fac54203e7cc696c"]);
    assert_eq!(
        inclusion(1, 5),
        ["6e340b9cffb37a98", "5f083f0a1a33ca07", "bc1a0643b12e4d2d"]
    );
    let consistency = |first, second| short(consistency_proof(&leaves(second), first));
    assert_eq!(consistency(1, 1), [""; 0]);
    assert_eq!(
        consistency(1, 8),
        ["96a296d224f285c6", "5f083f0a1a33ca07", "6b47aaf29ee3c2af"]
    );
    assert_eq!(
        consistency(6, 8),
        ["0ebc5d3437fbe2db", "ca854ea128ed050b", "d37ee418976dd957"]
    );
    assert_eq!(consistency(2, 5), ["5f083f0a1a33ca07", "bc1a0643b12e4d2d"]);
}

/// RFC 9162 section 2.1.1 as written there, apart from the crate's own way.
fn tree_hash(leaves: &[Hash]) -> Hash {
    match leaves {
        [] => Hash::of(b""),
        [leaf] => *leaf,
        _ => {
            let split = leaves.len().next_power_of_two() / 2;
            node(tree_hash(&leaves[..split]), tree_hash(&leaves[split..]))
        }
    }
}

fn many(count: u64) -> Vec<Hash> {
    (0..count).map(|n| entry_hash(&n.to_be_bytes())).collect()
}

#[test]
fn a_growing_range_has_the_root_of_the_whole_tree() {
    let all = many(70);
    let mut range = CompactRange::new();
    for size in 0..all.len() {
        assert_eq!(range.root(), tree_hash(&all[..size]));
        assert_eq!(range.size(), size as u64);
        range.push(all[size]);
    }
}

#[test]
fn every_inclusion_is_proven_and_no_other() {
    for size in 1..=20_u64 {
        let all = many(size);
        let tree = tree_hash(&all);
        for index in 0..size {
            let leaf = all[index as usize];
            let proof = inclusion_proof(&all, index as usize).unwrap();
            assert!(verify_inclusion(leaf, index, size, &proof, tree));
            assert!(!verify_inclusion(
                entry_hash(b"x"),
                index,
                size,
                &proof,
                tree
            ));
            assert!(!verify_inclusion(
                leaf,
                index,
                size,
                &proof,
                entry_hash(b"x")
            ));
            assert!(!verify_inclusion(leaf, size, size, &proof, tree));
            for other in (0..size).filter(|other| *other != index) {
                assert!(!verify_inclusion(leaf, other, size, &proof, tree));
            }
            let longer = [proof.clone(), vec![leaf]].concat();
            assert!(!verify_inclusion(leaf, index, size, &longer, tree));
            if let Some((_, shorter)) = proof.split_last() {
                assert!(!verify_inclusion(leaf, index, size, shorter, tree));
            }
        }
        assert_eq!(inclusion_proof(&all, size as usize), None);
    }
}

#[test]
fn every_prefix_is_proven_and_no_other() {
    for second in 1..=20_u64 {
        let all = many(second);
        let new = tree_hash(&all);
        for first in 1..=second {
            let old = tree_hash(&all[..first as usize]);
            let proof = consistency_proof(&all, first as usize).unwrap();
            assert!(verify_consistency(first, second, old, new, &proof));
            let other = entry_hash(b"x");
            assert!(!verify_consistency(first, second, other, new, &proof));
            assert!(!verify_consistency(first, second, old, other, &proof));
            let longer = [proof.clone(), vec![old]].concat();
            assert!(!verify_consistency(first, second, old, new, &longer));
            if let Some((_, shorter)) = proof.split_last() {
                assert!(!verify_consistency(first, second, old, new, shorter));
            }
        }
        assert_eq!(consistency_proof(&all, 0), None);
        assert_eq!(consistency_proof(&all, second as usize + 1), None);
        assert!(!verify_consistency(0, second, new, new, &[]));
        assert!(!verify_consistency(second + 1, second, new, new, &[]));
    }
}
