//! Writing to a patient.

use super::super::list_matches::in_force;
use super::super::matching::{self, Asked, Matches, Scope};
use super::super::policy;
use super::WorkRefusal;
use super::events::{self, About};
use crate::cases::patients_by_id;
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Writing};
use crate::schema::notices;
use crate::sealing::Key;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::{Language, LetterField, MatchClass, ReviewDecision, Template};
use lotwarden_ledger::Hash;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Writes the site's letter to a patient whom the practitioner decided to tell. The event keeps
/// which text was used and nothing of whom it names.
#[derive(Clone, Debug)]
pub struct WriteLetter {
    /// The facility's key, to open the identity.
    pub facility_key: Key,
    /// The notice.
    pub notice: Uuid,
    /// The patient, by id.
    pub patient: Uuid,
    /// The language.
    pub language: Language,
}

/// A letter. `Debug` shows nothing of it.
#[derive(Clone)]
pub struct Letter(String);

impl std::fmt::Debug for Letter {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Letter(..)")
    }
}

impl Letter {
    /// Its text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0
    }
}

#[derive(Serialize)]
struct Written {
    language: Language,
    /// SHA-256 of the site's text, without the values of its fields.
    template: Hash,
}

impl Operation for WriteLetter {
    type Permission = act::WriteLetter;
    type Outcome = Letter;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Letter, Refused<WorkRefusal>> {
        let root = in_force(writing, self.notice).await?;
        let root = root.map_err(|refusal| Refused::Because(refusal.into()))?;
        let facility = writing.facility.id;
        let asked = Asked::Patient(self.patient);
        let (matches, scope) = matching::find(writing.connection, facility, root, asked).await?;
        if matches.items.is_empty() {
            return Err(Refused::Because(WorkRefusal::NoSuchPatient));
        }
        let done = events::all(writing.connection, root).await?;
        let decisions = events::decisions(&done)?;
        if decisions.get(&self.patient) != Some(&ReviewDecision::Notify) {
            return Err(Refused::Because(WorkRefusal::NotToBeTold));
        }
        let settings = policy::current(writing.connection).await?;
        let text = settings.policy.letter(self.language);
        let template = Template::read(text).map_err(|_| StoreError::Unfit)?;
        let values = self.values(writing, root, &matches, &scope).await?;
        let letter = template.fill(&values);
        let written = Written {
            language: self.language,
            template: Hash::of(text.as_bytes()),
        };
        let about = About::Patient(self.patient);
        events::record(writing, root, ("write_letter", "letter"), about, &written).await?;
        Ok(Letter(letter))
    }
}

impl WriteLetter {
    async fn values(
        &self,
        writing: &mut Writing<'_>,
        root: Uuid,
        matches: &Matches,
        scope: &Scope,
    ) -> Result<BTreeMap<LetterField, String>, StoreError> {
        type Row = (String, String, String, String, jiff_diesel::Date);
        let (firm, reference, product, reason, received_on): Row = notices::table
            .find(root)
            .select((
                notices::firm,
                notices::reference,
                notices::product,
                notices::reason,
                notices::received_on,
            ))
            .first(writing.connection)
            .await?;
        let ids = BTreeSet::from([self.patient]);
        let mut known = patients_by_id(writing.connection, &self.facility_key, ids).await?;
        let patient = known.remove(&self.patient).ok_or(StoreError::Unfit)?;
        let facility = writing.facility;
        let day = |day: Option<jiff::civil::Date>| day.map_or("-".to_owned(), |day| self.day(day));
        let items = matches.items.iter().map(|item| {
            let product = matches.products.iter().find(|one| one.id == item.product);
            let product = product.map_or("", |product| product.name.as_str());
            let lot = scope.number_of(item.lot).unwrap_or("-");
            let serial = item.serial.as_deref().unwrap_or("-");
            let on = day(Some(facility.day(item.taken_at)));
            self.line([product, lot, serial, on.as_str()], item.class)
        });
        Ok(BTreeMap::from([
            (LetterField::BornOn, day(patient.born_on)),
            (LetterField::Date, day(Some(facility.day(writing.at)))),
            (LetterField::Facility, facility.name.clone()),
            (LetterField::Firm, firm),
            (LetterField::Items, items.collect::<Vec<_>>().join("\n")),
            (LetterField::PatientName, patient.name.clone()),
            (LetterField::Product, product),
            (LetterField::Reason, reason),
            (LetterField::ReceivedOn, day(Some(received_on.to_jiff()))),
            (LetterField::RecordNumber, patient.record_number.clone()),
            (LetterField::Reference, reference),
        ]))
    }

    fn day(&self, day: jiff::civil::Date) -> String {
        match self.language {
            Language::English => day.to_string(),
            Language::German => format!("{}.{}.{}", day.day(), day.month(), day.year()),
        }
    }

    fn line(&self, [product, lot, serial, on]: [&str; 4], class: MatchClass) -> String {
        let (words, class) = match (self.language, class) {
            (Language::English, MatchClass::Affected) => (["lot", "serial"], "named"),
            (Language::English, MatchClass::Possible) => (["lot", "serial"], "possibly named"),
            (Language::English, MatchClass::CannotExclude) => {
                (["lot", "serial"], "cannot be excluded")
            }
            (Language::German, MatchClass::Affected) => (["Charge", "Seriennummer"], "genannt"),
            (Language::German, MatchClass::Possible) => {
                (["Charge", "Seriennummer"], "möglicherweise genannt")
            }
            (Language::German, MatchClass::CannotExclude) => {
                (["Charge", "Seriennummer"], "nicht auszuschließen")
            }
        };
        let [lot_word, serial_word] = words;
        format!("  {product}, {lot_word} {lot}, {serial_word} {serial}, {on}: {class}")
    }
}
