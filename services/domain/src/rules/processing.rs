//! What the rules say about a reusable piece that the site sterilizes.

use super::finding::Finding;
use super::sentences as said;

/// A piece's processing as far as the rules ask.
#[derive(Clone, Copy, Debug)]
pub struct ProcessingFacts<'a> {
    /// The newest load the piece went through; none when none is on record.
    pub load: Option<LoadFacts<'a>>,
    /// Cycles the piece went through.
    pub cycles: u32,
    /// The maker's limit.
    pub limit: Option<u32>,
}

/// A load as far as the rules ask.
#[derive(Clone, Copy, Debug)]
pub struct LoadFacts<'a> {
    /// Its sterilizer and cycle, such as "Autoclave 1, cycle L104".
    pub name: &'a str,
    /// Why it is held, if it is.
    pub held: Option<&'a str>,
    /// Whether it was released.
    pub released: bool,
    /// Whether the piece was on another case since.
    pub used_since: bool,
}

/// Every finding of a piece's processing.
#[must_use]
pub fn judge_processing(facts: &ProcessingFacts<'_>) -> Vec<Finding> {
    let mut findings: Vec<Finding> = load(facts.load).into_iter().collect();
    if let Some(limit) = facts.limit.filter(|limit| facts.cycles > *limit) {
        findings.push(said::CYCLES.with(&[("cycles", &facts.cycles), ("limit", &limit)]));
    }
    findings
}

fn load(load: Option<LoadFacts<'_>>) -> Option<Finding> {
    let Some(load) = load else {
        return Some(said::NO_LOAD.with(&[]));
    };
    if let Some(reason) = load.held {
        let reason = reason.trim_end_matches('.');
        return Some(said::LOAD_HELD.with(&[("load", &load.name), ("reason", &reason)]));
    }
    if !load.released {
        return Some(said::LOAD_WAITS.with(&[("load", &load.name)]));
    }
    load.used_since
        .then(|| said::USED_SINCE_LOAD.with(&[("load", &load.name)]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::Rule;

    const GOOD: LoadFacts<'_> = LoadFacts {
        name: "Autoclave 1, cycle 104",
        held: None,
        released: true,
        used_since: false,
    };

    fn slugs(load: Option<LoadFacts<'_>>, cycles: u32, limit: Option<u32>) -> Vec<Rule> {
        let facts = ProcessingFacts {
            load,
            cycles,
            limit,
        };
        judge_processing(&facts).iter().map(|f| f.slug).collect()
    }

    // A piece is used up to its maker's limit, that cycle included: common practice, no source.
    #[test]
    fn a_piece_comes_from_a_released_load_within_its_makers_limit() {
        assert_eq!(slugs(Some(GOOD), 20, Some(20)), []);
        assert_eq!(slugs(Some(GOOD), 21, Some(20)), [Rule::CyclesExhausted]);
        assert_eq!(slugs(Some(GOOD), 9999, None), []);
        let (unreleased, used) = (
            LoadFacts {
                released: false,
                ..GOOD
            },
            LoadFacts {
                used_since: true,
                ..GOOD
            },
        );
        for load in [None, Some(unreleased), Some(used)] {
            assert_eq!(slugs(load, 1, None), [Rule::LoadNotReleased]);
        }
        let held = LoadFacts {
            held: Some("positive"),
            ..GOOD
        };
        assert_eq!(slugs(Some(held), 1, None), [Rule::LoadFailed]);
    }
}
