//! The table against the GS1 Barcode Syntax Dictionary's file.

use super::row::{Ai, Part, Set};
use crate::gs1::lint::vectors::NAMES;
use crate::reference;

/// A row as the dictionary writes it: identifiers, flags, parts, attributes.
fn write(ai: &Ai) -> String {
    let mut line = ai.first.to_owned();
    if ai.last != ai.first {
        line += &format!("-{}", ai.last);
    }
    let flags = [(ai.fixed, '*'), (ai.attribute, '?')];
    let flags: String = flags
        .into_iter()
        .filter_map(|(on, flag)| on.then_some(flag))
        .collect();
    if !flags.is_empty() {
        line += &format!(" {flags}");
    }
    for part in ai.parts {
        line += &format!(" {}", write_part(part));
    }
    let mut attributes = Vec::new();
    if !ai.needs.is_empty() {
        let groups: Vec<_> = ai.needs.iter().map(|group| group.join("+")).collect();
        attributes.push(format!("req={}", groups.join(",")));
    }
    if !ai.excludes.is_empty() {
        attributes.push(format!("ex={}", ai.excludes.join(",")));
    }
    match ai.key {
        Some([]) => attributes.push("dlpkey".to_owned()),
        Some(qualifiers) => {
            let alternatives: Vec<_> = qualifiers.iter().map(|q| q.join(",")).collect();
            attributes.push(format!("dlpkey={}", alternatives.join("|")));
        }
        None => {}
    }
    attributes.sort();
    for attribute in attributes {
        line += &format!(" {attribute}");
    }
    line
}

fn write_part(part: &Part) -> String {
    let set = match part.set {
        Set::Digits => 'N',
        Set::Set82 => 'X',
        Set::Set39 => 'Y',
        Set::Base64 => 'Z',
    };
    let dots = if part.min == part.max { "" } else { ".." };
    let size = format!("{set}{dots}{}", part.max);
    let size = if part.optional {
        format!("[{size}]")
    } else {
        size
    };
    let names = part.checks.iter().map(|check| {
        NAMES
            .iter()
            .find(|(_, c)| c == check)
            .map_or("?", |(n, _)| n)
    });
    std::iter::once(size.as_str())
        .chain(names)
        .collect::<Vec<_>>()
        .join(",")
}

/// A dictionary line in the same spelling.
fn normal(line: &str) -> String {
    let line = line.split('#').next().unwrap_or_default();
    let (mut attributes, mut rest) = (Vec::new(), Vec::new());
    for token in line.split_whitespace() {
        let is_attribute = ["req=", "ex=", "dlpkey"]
            .iter()
            .any(|a| token.starts_with(a));
        if is_attribute {
            attributes.push(token)
        } else {
            rest.push(token)
        }
    }
    attributes.sort_unstable();
    rest.extend(attributes);
    rest.join(" ")
}

#[test]
fn every_row_is_the_dictionarys() {
    let Some(text) = reference::text("gs1-syntax-dictionary.txt") else {
        return;
    };
    let wanted: Vec<_> = text
        .lines()
        .filter(|l| !l.trim().is_empty() && !l.starts_with('#'))
        .map(normal)
        .collect();
    let found: Vec<_> = super::rows().map(write).collect();
    for line in &wanted {
        assert!(found.contains(line), "missing or different: {line}");
    }
    assert_eq!(found.len(), wanted.len());
}

#[test]
fn the_table_holds_541_identifiers_and_finds_each() {
    // Count from the dictionary; PyPI biip 5.2.0 and python-stdnum 2.2 carry the same 541.
    let mut count = 0;
    for ai in super::rows() {
        let (first, last): (u16, u16) = (
            ai.first.parse().expect("digits"),
            ai.last.parse().expect("digits"),
        );
        for code in first..=last {
            let code = format!("{code:0width$}", width = ai.first.len());
            let found = super::exact(&code).unwrap_or_else(|| panic!("{code} not found"));
            assert_eq!(found.first, ai.first, "{code}");
            count += 1;
        }
    }
    assert_eq!(count, 541);
}
