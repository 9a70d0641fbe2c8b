//! What a site settled for its recall desk.

use crate::database::{Reading, StoreError};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::notice_policies;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::access::act;
use lotwarden_domain::notices::NoticePolicy;
use serde::Serialize;

/// The settings with their version.
#[derive(Clone, Debug)]
pub struct NoticeSettings {
    /// The settings.
    pub policy: NoticePolicy,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// Changes the settings of the recall desk; old, new and the reason stand in the ledger. Tasks that
/// are open keep the due time they have.
#[derive(Clone, Debug)]
pub struct ChangeNoticePolicy {
    /// The version the caller saw.
    pub version: i32,
    /// The new settings, which hold together.
    pub policy: NoticePolicy,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why the settings are not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChangeNoticePolicyRefusal {
    /// They changed since they were read.
    #[error("the settings changed since they were read")]
    Stale,
}

#[derive(Serialize)]
struct Data<'a> {
    new: &'a NoticePolicy,
    old: &'a NoticePolicy,
    reason: &'a str,
}

impl Operation for ChangeNoticePolicy {
    type Permission = act::ChangeNoticePolicy;
    type Outcome = NoticeSettings;
    type Refusal = ChangeNoticePolicyRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<NoticeSettings, Refused<ChangeNoticePolicyRefusal>> {
        let old = current(writing.connection).await?;
        if old.version != self.version {
            return Err(Refused::Because(ChangeNoticePolicyRefusal::Stale));
        }
        let new = NoticeSettings {
            policy: self.policy.clone(),
            version: old.version + 1,
        };
        let body = serde_json::to_value(&new.policy).map_err(|_| StoreError::Unfit)?;
        let row = (
            notice_policies::facility_id.eq(writing.facility.id),
            notice_policies::body.eq(&body),
            notice_policies::version.eq(new.version),
        );
        diesel::insert_into(notice_policies::table)
            .values(row)
            .on_conflict(notice_policies::facility_id)
            .do_update()
            .set((
                notice_policies::body.eq(&body),
                notice_policies::version.eq(new.version),
            ))
            .execute(writing.connection)
            .await?;
        let data = Data {
            new: &new.policy,
            old: &old.policy,
            reason: &self.reason,
        };
        let subject = Subject::new("facility", writing.facility.id);
        writing.append("change_notice_policy", subject, &data)?;
        Ok(new)
    }
}

/// The settings in force, read inside a connection that sees one facility.
pub(super) async fn current(
    connection: &mut AsyncPgConnection,
) -> Result<NoticeSettings, StoreError> {
    let row: Option<(serde_json::Value, i32)> = notice_policies::table
        .select((notice_policies::body, notice_policies::version))
        .first(connection)
        .await
        .optional()?;
    match row {
        None => Ok(NoticeSettings {
            policy: NoticePolicy::default(),
            version: 1,
        }),
        Some((body, version)) => Ok(NoticeSettings {
            policy: serde_json::from_value(body).map_err(|_| StoreError::Unfit)?,
            version,
        }),
    }
}

/// The settings in force without their version.
pub(crate) async fn desk_policy(
    connection: &mut AsyncPgConnection,
) -> Result<NoticePolicy, StoreError> {
    Ok(current(connection).await?.policy)
}

/// Shows the settings in force.
///
/// # Errors
/// [`StoreError`].
pub async fn show_settings(reading: &mut Reading) -> Result<NoticeSettings, StoreError> {
    current(reading.connection()).await
}
