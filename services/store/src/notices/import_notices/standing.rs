//! What is on record of the firms and numbers of a stretch.

use crate::database::StoreError;
use diesel::sql_types::{Array, Bytea, Integer, Text, Uuid as SqlUuid};
use diesel::{QueryableByName, sql_query};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_ledger::Hash;
use std::collections::{HashMap, HashSet};
use uuid::Uuid;

/// Matters by firm and number, with those that earlier records of the stretch began.
#[derive(Default)]
pub(super) struct Standing(HashMap<(String, String), Matter>);

struct Matter {
    root: Uuid,
    last_revision: i32,
    digests: HashSet<Vec<u8>>,
}

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = Text)]
    firm_key: String,
    #[diesel(sql_type = Text)]
    reference_key: String,
    #[diesel(sql_type = SqlUuid)]
    root_id: Uuid,
    #[diesel(sql_type = Integer)]
    last_revision: i32,
    #[diesel(sql_type = Bytea)]
    digest: Vec<u8>,
}

impl Standing {
    pub(super) async fn load(
        connection: &mut AsyncPgConnection,
        facility: Uuid,
        keys: impl Iterator<Item = &(String, String)>,
    ) -> Result<Self, StoreError> {
        let (firms, references): (Vec<&str>, Vec<&str>) = keys
            .map(|(firm, reference)| (firm.as_str(), reference.as_str()))
            .unzip();
        let rows: Vec<Row> = sql_query(
            "SELECT DISTINCT n.id, n.firm_key, n.reference_key, n.root_id, n.digest,
                (SELECT max(revision) FROM notices WHERE root_id = n.root_id) AS last_revision
             FROM unnest($2, $3) AS q (firm, reference),
             LATERAL (SELECT * FROM notices WHERE facility_id = $1 AND firm_key = q.firm
                AND reference_key = q.reference OFFSET 0) n ORDER BY n.id",
        )
        .bind::<SqlUuid, _>(facility)
        .bind::<Array<Text>, _>(firms)
        .bind::<Array<Text>, _>(references)
        .load(connection)
        .await?;
        let mut standing = Self::default();
        for row in rows {
            let matter = standing.0.entry((row.firm_key, row.reference_key));
            let matter = matter.or_insert(Matter {
                root: row.root_id,
                last_revision: row.last_revision,
                digests: HashSet::new(),
            });
            matter.digests.insert(row.digest);
        }
        Ok(standing)
    }

    /// The matter and number of a notice that is to be taken in; none when it is on record as it
    /// stands.
    pub(super) fn place(
        &mut self,
        keys: &(String, String),
        digest: Hash,
        id: Uuid,
    ) -> Option<(Uuid, i32)> {
        let matter = self.0.entry(keys.clone()).or_insert(Matter {
            root: id,
            last_revision: 0,
            digests: HashSet::new(),
        });
        if !matter.digests.insert(digest.as_bytes().to_vec()) {
            return None;
        }
        matter.last_revision += 1;
        Some((matter.root, matter.last_revision))
    }
}
