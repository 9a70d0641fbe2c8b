//! The codes that the reader found in a notice.

use super::NewNotice;
use crate::recorder::{Failure, Writing};
use crate::where_used::Question;
use diesel::sql_types::{Array, Text, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use jiff::civil::Date;
use lotwarden_domain::notices::read;
use std::collections::BTreeSet;
use uuid::Uuid;

/// Catalogue numbers shorter than this name nothing by themselves.
const SHORTEST_MODEL: usize = 3;

/// What the products of a notice may stand in the catalogue under: agency and code, or `model` and
/// the catalogue number as written.
pub(super) fn codes(notice: &NewNotice, received_on: Date) -> BTreeSet<(&'static str, String)> {
    let reading = read(&notice.text, received_on);
    let in_text = reading.proposals.iter().flat_map(|one| &one.identifiers);
    let texts = in_text.map(|found| &found.value).chain(&notice.also_named);
    let mut codes = BTreeSet::new();
    for text in texts {
        // What names no product stays in the notice's text, for a person.
        let named = Question::read(text, None, None, received_on);
        let named = named.into_iter().flat_map(|question| question.codes);
        codes.extend(named.map(|code| (code.agency, code.code)));
    }
    let models = reading
        .proposals
        .iter()
        .flat_map(|one| &one.catalogue_numbers);
    let models = models.map(|found| found.value.clone());
    let long = models.filter(|model| model.chars().count() >= SHORTEST_MODEL);
    codes.extend(long.map(|model| ("model", model)));
    codes
}

/// Keeps them, so that the notices that name products of this catalogue can be found.
pub(super) async fn add(
    writing: &mut Writing<'_>,
    of: &[(Uuid, BTreeSet<(&'static str, String)>)],
) -> Result<(), Failure> {
    let (mut notice, mut agency, mut code) = (Vec::new(), Vec::new(), Vec::new());
    for (id, codes) in of {
        for (by, text) in codes {
            notice.push(*id);
            agency.push(*by);
            code.push(text.as_str());
        }
    }
    diesel::sql_query(
        "INSERT INTO notice_proposals (facility_id, notice_id, agency, code)
         SELECT DISTINCT $1, r.notice, r.agency,
             CASE r.agency WHEN 'model' THEN folded_model(r.code) ELSE r.code END
         FROM unnest($2, $3, $4) AS r (notice, agency, code)",
    )
    .bind::<SqlUuid, _>(writing.facility.id)
    .bind::<Array<SqlUuid>, _>(notice)
    .bind::<Array<Text>, _>(agency)
    .bind::<Array<Text>, _>(code)
    .execute(writing.connection)
    .await?;
    Ok(())
}
