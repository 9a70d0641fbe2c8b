//! One stored entry against its own columns.

use super::Misfit;
use crate::moment::instant_text;
use crate::schema::ledger_entries;
use diesel::prelude::*;
use jiff::Timestamp;
use lotwarden_ledger::{ChainCheck, canonical};

#[derive(Queryable, Selectable)]
#[diesel(table_name = ledger_entries)]
pub(super) struct EntryRow {
    pub(super) position: i64,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    at: Timestamp,
    action: String,
    actor: String,
    subject: String,
    hash: Vec<u8>,
    body: Vec<u8>,
}

/// Checks rows in order up to the first that does not fit.
pub(super) fn check_all(mut check: ChainCheck, rows: &[EntryRow]) -> (ChainCheck, Option<Misfit>) {
    for row in rows {
        let mut next = check.clone();
        if let Err(misfit) = row.check(&mut next) {
            return (check, Some(misfit));
        }
        check = next;
    }
    (check, None)
}

impl EntryRow {
    fn check(&self, check: &mut ChainCheck) -> Result<(), Misfit> {
        if self.position.cast_unsigned() != check.head().size {
            return Err(Misfit::Missing);
        }
        let hash = check
            .feed(&self.body)
            .map_err(|fault| Misfit::Chain(fault.reason))?;
        if hash.as_bytes().as_slice() != self.hash {
            return Err(Misfit::Hash);
        }
        self.column()
            .map_or(Ok(()), |column| Err(Misfit::Column(column)))
    }

    /// The first column that does not stand in the body where its canonical form puts it.
    fn column(&self) -> Option<&'static str> {
        let quoted = |text: &str| canonical::to_string(text).unwrap_or_default();
        let mut rest = self.body.as_slice();
        let members = [
            ("action", "{\"action\":", quoted(&self.action)),
            ("actor", ",\"actor\":", quoted(&self.actor)),
            ("at", ",\"at\":", quoted(&instant_text(self.at))),
        ];
        for (column, member, value) in members {
            let after = rest.strip_prefix(member.as_bytes());
            match after.and_then(|after| after.strip_prefix(value.as_bytes())) {
                Some(after) => rest = after,
                None => return Some(column),
            }
        }
        let end = format!(",\"subject\":{},\"v\":1}}", quoted(&self.subject));
        (!rest.ends_with(end.as_bytes())).then_some("subject")
    }
}
