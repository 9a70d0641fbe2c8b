//! Reading notices.

use super::criteria::Criterion;
use super::{Notice, NoticeRow};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{notice_criteria, notices};
use diesel::dsl::{not, sql};
use diesel::prelude::*;
use diesel::sql_types::Bool;
use diesel_async::RunQueryDsl;
use lotwarden_domain::import::RecallClass;
use lotwarden_domain::notices::NoticeState;
use uuid::Uuid;

/// Which notices are asked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoticeFilter {
    /// Only those in this state.
    pub state: Option<NoticeState>,
    /// Only those that name a product of this catalogue, or only the others.
    pub in_catalogue: Option<bool>,
    /// Only those of this class.
    pub class: Option<RecallClass>,
}

/// A notice with its text, its matter and what was confirmed.
#[derive(Clone, Debug)]
pub struct NoticeShown {
    /// The notice.
    pub notice: Notice,
    /// What names the items, as received.
    pub text: String,
    /// Every notice of the matter, in the order they came.
    pub revisions: Vec<Revision>,
    /// What was confirmed for the whole matter, in order, with the notice that brought it and
    /// whether part of its text stays unread and unsettled.
    pub criteria: Vec<(Uuid, bool, Criterion)>,
}

/// A notice of a matter.
#[derive(Clone, Debug)]
pub struct Revision {
    /// The notice.
    pub id: Uuid,
    /// Counts the notices of the matter, from 1.
    pub revision: i32,
    /// Its reference number.
    pub reference: String,
    /// How grave it says it is.
    pub class: Option<RecallClass>,
    /// How far the site is with it.
    pub state: NoticeState,
}

/// Whether the reader found a code or model of a product of the catalogue as it stands.
pub(super) const IN_CATALOGUE: &str = "EXISTS (SELECT 1 FROM notice_proposals p
    WHERE p.notice_id = notices.id AND CASE p.agency
        WHEN 'model' THEN EXISTS (SELECT 1 FROM products q WHERE q.facility_id = p.facility_id
            AND folded_model(q.model) = p.code AND q.model <> '')
        ELSE EXISTS (SELECT 1 FROM product_identifiers i WHERE i.facility_id = p.facility_id
            AND i.agency = p.agency AND i.code = p.code) END)";

/// Lists notices in the order they were taken in.
///
/// # Errors
/// [`StoreError`].
pub async fn list(
    reading: &mut Reading,
    filter: NoticeFilter,
    after: After,
) -> Result<Page<Notice>, StoreError> {
    let mut query = notices::table
        .filter(notices::id.gt(after.start()))
        .order(notices::id)
        .limit(after.fetch())
        .select(NoticeRow::as_select())
        .into_boxed();
    if let Some(state) = filter.state {
        query = query.filter(notices::state.eq(state.as_str()));
    }
    if let Some(wanted) = filter.in_catalogue {
        query = if wanted {
            query.filter(sql::<Bool>(IN_CATALOGUE))
        } else {
            query.filter(not(sql::<Bool>(IN_CATALOGUE)))
        };
    }
    if let Some(class) = filter.class {
        query = query.filter(notices::class.eq(class.as_str()));
    }
    let rows: Vec<NoticeRow> = query.load(reading.connection()).await?;
    let items = rows.into_iter().map(Notice::try_from);
    let items = items.collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |notice| notice.id))
}

/// Shows one notice; none when there is no such notice.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<NoticeShown>, StoreError> {
    let connection = reading.connection();
    let row: Option<(NoticeRow, String)> = notices::table
        .find(id)
        .select((NoticeRow::as_select(), notices::text))
        .first(connection)
        .await
        .optional()?;
    let Some((row, text)) = row else {
        return Ok(None);
    };
    let notice = Notice::try_from(row)?;
    let rows: Vec<NoticeRow> = notices::table
        .filter(notices::root_id.eq(notice.root))
        .order(notices::revision)
        .select(NoticeRow::as_select())
        .load(connection)
        .await?;
    let revisions = rows.into_iter().map(|row| {
        let notice = Notice::try_from(row)?;
        Ok(Revision {
            id: notice.id,
            revision: notice.revision,
            reference: notice.reference,
            class: notice.class,
            state: notice.state,
        })
    });
    let revisions = revisions.collect::<Result<_, StoreError>>()?;
    let rows: Vec<(Uuid, bool, String)> = notice_criteria::table
        .filter(notice_criteria::notice_id.eq(notice.root))
        .order(notice_criteria::number)
        .select((
            notice_criteria::revision_id,
            notice_criteria::open,
            notice_criteria::body,
        ))
        .load(connection)
        .await?;
    let criteria = rows.into_iter().map(|(revision, open, body)| {
        let criterion = serde_json::from_str(&body).map_err(|_| StoreError::Unfit)?;
        Ok((revision, open, criterion))
    });
    Ok(Some(NoticeShown {
        notice,
        text,
        revisions,
        criteria: criteria.collect::<Result<_, StoreError>>()?,
    }))
}
