//! Letting somebody in at a paired station whose PIN is held back: another person vouches.

use super::badge_in::{badge_is_open, open_at};
use super::people::{Person, PersonRow};
use super::sign_in::Session;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::people;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::SignedDuration;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// Wrong PINs in a row after which another person may vouch: from then on attempts have to wait.
pub const VOUCHED_AFTER: i32 = 5;

/// How long a session lasts that somebody vouched for: until the end of what is on the table.
const LASTS: SignedDuration = SignedDuration::from_hours(1);

/// Starts a session at a station for a person whose badge was shown there and whose PIN is held
/// back. Another person, whose badge and PIN were verified, answers for it.
#[derive(Clone, Debug)]
pub struct VouchIn {
    /// The badge.
    pub badge: Uuid,
    /// Whose it is.
    pub person: Uuid,
    /// Who vouches.
    pub voucher: Uuid,
    /// The station.
    pub station: Uuid,
    /// The hash of the first refresh token.
    pub refresh_hash: [u8; 32],
}

/// Why nobody is let in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum VouchInRefusal {
    /// The badge ended meanwhile.
    #[error("the badge ended")]
    BadgeEnded,
    /// The PIN still counts.
    #[error("the PIN of this badge is not held back; its holder signs in with it")]
    NotHeldBack,
    /// Nobody vouches for oneself.
    #[error("somebody else has to vouch")]
    OneAndTheSame,
}

#[derive(Serialize)]
struct Data {
    badge: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    ended_session: Option<Uuid>,
    pin_failures: i32,
    session: Uuid,
    voucher: Uuid,
}

impl Operation for VouchIn {
    type Permission = act::VouchIn;
    type Outcome = (Session, Person);
    type Refusal = VouchInRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<(Session, Person), Refused<VouchInRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        if self.person == self.voucher {
            return refuse(VouchInRefusal::OneAndTheSame);
        }
        if !badge_is_open(writing, self.badge, self.person).await? {
            return refuse(VouchInRefusal::BadgeEnded);
        }
        let (row, pin_failures): (PersonRow, i32) = people::table
            .find(self.person)
            .select((PersonRow::as_select(), people::pin_failures))
            .first(writing.connection)
            .await?;
        if pin_failures < VOUCHED_AFTER {
            return refuse(VouchInRefusal::NotHeldBack);
        }
        let place = (self.person, self.station);
        let (session, ended_session) = open_at(writing, place, self.refresh_hash, LASTS).await?;
        let data = Data {
            badge: self.badge,
            ended_session,
            pin_failures,
            session: session.id,
            voucher: self.voucher,
        };
        writing.append("vouch_in", Subject::new("person", self.person), &data)?;
        Ok((session, row.try_into()?))
    }
}
