//! Checks a parcel from its bytes alone, in one pass.
use std::io::BufRead;

use jiff::Timestamp;
use serde::Serialize;
use uuid::Uuid;

use super::{
    END, EXPORT_ACTION, ExportData, FIRST_LINE, Header, ParcelFault, SignatureLine,
    evidence::Evidence, lines::Lines, read_line,
};
use crate::{
    canonical,
    chain::ChainCheck,
    commitment::DisclosureLine,
    hash::{Hash, genesis},
    head::Head,
    stamp,
};

/// How many entries are checked between two calls of the progress function.
const STEP: u64 = 4096;

/// What a valid parcel holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Report {
    /// The ledger.
    pub ledger: Uuid,
    /// The facility.
    pub facility: String,
    /// The number of entries.
    pub entries: u64,
    /// The position of the first entry.
    pub first: u64,
    /// The position of the last entry.
    pub last: u64,
    /// The hash of the last entry.
    pub head: Hash,
    /// The time of the first entry.
    #[serde(with = "stamp")]
    pub first_at: Timestamp,
    /// The time of the last entry, which is that of the export.
    #[serde(with = "stamp")]
    pub last_at: Timestamp,
    /// The number of cases.
    pub cases: u64,
    /// The number of signatures.
    pub signatures: u64,
    /// The number of people.
    pub people: u64,
    /// The number of committed values that are disclosed.
    pub disclosed: u64,
    /// The number of committed values that are withheld.
    pub withheld: u64,
}

struct Ends {
    first_at: Timestamp,
    last_at: Timestamp,
    export: ExportData,
}

/// Checks a parcel and stops at the first thing that does not fit; `progress` is told the number of
/// entries checked so far. Memory grows with the commitments and signatures, not with the entries.
pub fn verify<R: BufRead>(reader: R, mut progress: impl FnMut(u64)) -> Result<Report, ParcelFault> {
    let mut lines = Lines::new(reader);
    let header = header(&mut lines)?;
    let mut evidence = Evidence::default();
    let ends = entries(&mut lines, &header, &mut evidence, &mut progress)?;
    attachments(&mut lines, &header, &ends.export, &mut evidence)?;
    disclosures(&mut lines, &mut evidence)?;
    end(lines)?;
    Ok(Report {
        ledger: header.ledger,
        facility: header.facility,
        entries: header.entries,
        first: header.from,
        last: header.from + header.entries - 1,
        head: header.head,
        first_at: ends.first_at,
        last_at: ends.last_at,
        cases: ends.export.cases,
        signatures: ends.export.signatures,
        people: ends.export.people,
        disclosed: evidence.disclosed(),
        withheld: evidence.withheld(),
    })
}

fn header<R: BufRead>(lines: &mut Lines<R>) -> Result<Header, ParcelFault> {
    if lines.next()? != Some(FIRST_LINE.as_bytes()) {
        return Err(ParcelFault::NotAParcel { line: 1 });
    }
    let header: Option<Header> = lines.next()?.and_then(read_line);
    header
        .filter(|header| header.entries > 0)
        .filter(|header| header.from > 0 || header.previous == genesis())
        .filter(|header| header.from.checked_add(header.entries).is_some())
        .ok_or(ParcelFault::NotAParcel { line: 2 })
}

fn entries<R: BufRead>(
    lines: &mut Lines<R>,
    header: &Header,
    evidence: &mut Evidence,
    progress: &mut impl FnMut(u64),
) -> Result<Ends, ParcelFault> {
    if lines.section("entries")? != header.entries {
        return Err(ParcelFault::NotAParcel { line: 3 });
    }
    let before = Head {
        ledger: header.ledger,
        size: header.from,
        hash: header.previous,
        at: None,
    };
    let mut chain = ChainCheck::new(header.ledger, Some(before)).strict();
    let mut first_at = None;
    for count in 1..=header.entries {
        let position = chain.head().size;
        let line = lines.next()?.ok_or(ParcelFault::Missing { position })?;
        let body = chain.step(line)?;
        evidence
            .note(&body)
            .ok_or(ParcelFault::Commitments { position })?;
        let first_at = *first_at.get_or_insert(body.at);
        if count.is_multiple_of(STEP) || count == header.entries {
            progress(count);
        }
        if count == header.entries {
            if chain.head().hash != header.head || body.at != header.exported_at {
                return Err(ParcelFault::Head { position });
            }
            let export = Some(body.action)
                .filter(|action| *action == EXPORT_ACTION.as_bytes())
                .and_then(|_| serde_json::from_slice(body.data).ok())
                .ok_or(ParcelFault::NotExport { position })?;
            return Ok(Ends {
                first_at,
                last_at: body.at,
                export,
            });
        }
    }
    Err(ParcelFault::Missing {
        position: header.from,
    })
}

fn attachments<R: BufRead>(
    lines: &mut Lines<R>,
    header: &Header,
    export: &ExportData,
    evidence: &mut Evidence,
) -> Result<(), ParcelFault> {
    lines.start_digest();
    let cases = objects(lines, "cases")?;
    let signatures = lines.section("signatures")?;
    for _ in 0..signatures {
        let read: Option<SignatureLine> = lines.next()?.and_then(read_line);
        let line = lines.number();
        let due = "a signature";
        let signature = read.ok_or(ParcelFault::Line { line, due })?;
        if !evidence.take_signature(&signature) {
            let position = signature.position;
            return Err(ParcelFault::Signature { position, line });
        }
    }
    let people = objects(lines, "people")?;
    let carried = ExportData {
        attachments: lines.end_digest(),
        cases,
        facility: header.facility.clone(),
        people,
        signatures,
    };
    if carried != *export {
        return Err(ParcelFault::Attachments {
            position: header.from + header.entries - 1,
        });
    }
    Ok(())
}

fn objects<R: BufRead>(lines: &mut Lines<R>, name: &'static str) -> Result<u64, ParcelFault> {
    let count = lines.section(name)?;
    for _ in 0..count {
        let line = lines.next()?;
        if !line.is_some_and(|line| line.starts_with(b"{") && canonical::check(line).is_ok()) {
            return Err(ParcelFault::Line {
                line: lines.number(),
                due: "one canonical JSON object",
            });
        }
    }
    Ok(count)
}

fn disclosures<R: BufRead>(
    lines: &mut Lines<R>,
    evidence: &mut Evidence,
) -> Result<(), ParcelFault> {
    for _ in 0..lines.section("disclosures")? {
        let read: Option<DisclosureLine> = lines.next()?.and_then(read_line);
        let line = lines.number();
        let due = "a disclosure";
        let read = read.ok_or(ParcelFault::Line { line, due })?;
        let position = read.position;
        let disclosure = read.disclosure();
        if !disclosure.is_some_and(|value| evidence.take_disclosure(position, &value)) {
            return Err(ParcelFault::Disclosure { position, line });
        }
    }
    Ok(())
}

fn end<R: BufRead>(mut lines: Lines<R>) -> Result<(), ParcelFault> {
    let given = lines
        .next()?
        .and_then(|line| line.strip_prefix(END.as_bytes()))
        .and_then(Hash::from_hex);
    let line = lines.number();
    let digest = lines.finish().map_err(ParcelFault::Unreadable)?;
    match (given, digest) {
        (None, _) => Err(ParcelFault::Line { line, due: "end" }),
        (_, None) => Err(ParcelFault::Line {
            line: line + 1,
            due: "nothing",
        }),
        (given, digest) if given != digest => Err(ParcelFault::End { line }),
        _ => Ok(()),
    }
}
