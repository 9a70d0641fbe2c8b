//! Answering where an item was used, with the patients' identity.

use super::elsewhere::{self, OnHand, ReceiptLine, Stopped};
use super::through::{self, Through};
use super::uses_of::{self, UsesFound};
use super::{Class, Question};
use crate::cases::{Patient, patients_by_id};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::sealing::Key;
use lotwarden_domain::access::act;
use lotwarden_ledger::Hash;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::convert::Infallible;
use uuid::Uuid;

/// Cases listed in an entry at most; of more, the entry holds the number and a digest.
const LISTED: usize = 1_000;

/// Answers where an item was used; each answer is a ledger entry. It is complete up to that
/// entry's position, because nothing is recorded between reading and appending.
#[derive(Clone, Debug)]
pub struct ShowWhereUsed {
    /// The facility's key; none to leave the identities sealed.
    pub facility_key: Option<Key>,
    /// What is asked for.
    pub question: Question,
}

/// Where an item was used and is.
#[derive(Clone, Debug)]
pub struct WhereUsed {
    /// The uses.
    pub uses: UsesFound,
    /// The patients of the cases by id; empty when identities stay sealed.
    pub patients: BTreeMap<Uuid, Patient>,
    /// Stock in question.
    pub on_hand: Vec<OnHand>,
    /// The receipts that brought it in.
    pub receipts: Vec<ReceiptLine>,
    /// Scans of it that were stopped.
    pub stopped: Vec<Stopped>,
    /// The mixes, fills of gas and loads that the item went through.
    pub through: Through,
}

#[derive(Serialize)]
struct Data<'a> {
    affected: usize,
    cannot_exclude: usize,
    case_count: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    case_digest: Option<Hash>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cases: Option<&'a [Uuid]>,
    identifiers: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    serial: Option<&'a str>,
    stopped: usize,
    struck: u64,
    with_identity: bool,
}

impl Operation for ShowWhereUsed {
    type Permission = act::ShowWhereUsed;
    type Outcome = WhereUsed;
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<WhereUsed, Refused<Infallible>> {
        let connection = &mut *writing.connection;
        let (uses, scope) = uses_of::find(connection, &self.question).await?;
        let mut answer = WhereUsed {
            uses,
            patients: BTreeMap::new(),
            on_hand: Vec::new(),
            receipts: Vec::new(),
            stopped: Vec::new(),
            through: Through::default(),
        };
        if let Some(scope) = scope {
            let question = &self.question;
            answer.on_hand = elsewhere::on_hand(connection, question, &scope).await?;
            answer.receipts = elsewhere::received(connection, question, &scope).await?;
            answer.stopped = elsewhere::stopped(connection, question, &scope).await?;
            let lots: Vec<Uuid> = answer.uses.lots.iter().map(|lot| lot.id).collect();
            answer.through = through::of_lots(connection, &lots, scope.piece()).await?;
        }
        if let Some(key) = &self.facility_key {
            let ids = answer.uses.items.iter().map(|item| item.patient).collect();
            answer.patients = patients_by_id(connection, key, ids).await?;
        }
        self.append(writing, &answer)?;
        Ok(answer)
    }
}

impl ShowWhereUsed {
    fn append(
        &self,
        writing: &mut Writing<'_>,
        answer: &WhereUsed,
    ) -> Result<(), Refused<Infallible>> {
        let items = &answer.uses.items;
        let cases: BTreeSet<Uuid> = items.iter().map(|item| item.case).collect();
        let cases: Vec<Uuid> = cases.into_iter().collect();
        let (listed, case_digest) = listed(&cases);
        let affected = items
            .iter()
            .filter(|item| item.class == Class::Affected)
            .count();
        let data = Data {
            affected,
            cannot_exclude: items.len() - affected,
            case_count: cases.len(),
            case_digest,
            cases: listed,
            identifiers: self
                .question
                .codes
                .iter()
                .map(ToString::to_string)
                .collect(),
            lot: self.question.lot.as_deref(),
            serial: self.question.serial.as_deref(),
            stopped: answer.stopped.len(),
            struck: answer.uses.struck,
            with_identity: self.facility_key.is_some(),
        };
        let subject = match &answer.uses.product {
            Some(product) => Subject::new("product", product.id),
            None => Subject::new("ledger", writing.facility.id),
        };
        writing.append("show_where_used", subject, &data)?;
        Ok(())
    }
}

/// Cases as an entry keeps them: listed, or of many the digest.
pub(crate) fn listed(cases: &[Uuid]) -> (Option<&[Uuid]>, Option<Hash>) {
    if cases.len() <= LISTED {
        (Some(cases), None)
    } else {
        (None, Some(digest(cases)))
    }
}

/// SHA-256 over the case ids in ascending order, each as 36 characters and a line feed.
fn digest(cases: &[Uuid]) -> Hash {
    let text: String = cases.iter().map(|case| format!("{case}\n")).collect();
    Hash::of(text.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    // printf '%s\n' 00000000-0000-0000-0000-000000000001 00000000-0000-0000-0000-000000000002 | sha256sum
    #[test]
    fn the_digest_of_cases_is_that_of_their_lines() {
        let cases = [Uuid::from_u128(1), Uuid::from_u128(2)];
        let expected = "a929eae1f77de69cc99f751f774e5d3b63a10df5f5c9fecbfa924f4baedad3c3";
        assert_eq!(digest(&cases).to_string(), expected);
    }
}
