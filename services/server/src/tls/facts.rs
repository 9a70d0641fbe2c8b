//! What a certificate says of itself.

use std::net::{Ipv4Addr, Ipv6Addr};
use std::path::Path;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use x509_parser::extensions::GeneralName;
use x509_parser::parse_x509_certificate;

use super::TlsError;
use super::served::certificates;

/// A certificate's names and end.
#[derive(Debug, PartialEq, Eq)]
pub struct Facts {
    /// Host names and addresses, as a person writes them.
    pub names: Vec<String>,
    /// The instant it ends.
    pub ends_at: Timestamp,
}

impl Facts {
    /// Reads the first certificate of a PEM file.
    ///
    /// # Errors
    /// There is none, or it cannot be read.
    pub fn of(path: &Path) -> Result<Self, TlsError> {
        let malformed = || TlsError::Malformed {
            path: path.to_owned(),
            what: "a certificate that can be read",
        };
        let all = certificates(path)?;
        let first = all.first().ok_or_else(malformed)?;
        let (_, certificate) = parse_x509_certificate(first).map_err(|_| malformed())?;
        let names = certificate.subject_alternative_name();
        let names = names.map_err(|_| malformed())?;
        let names = names.iter().flat_map(|names| &names.value.general_names);
        let ends_at = certificate.validity().not_after.timestamp();
        Ok(Self {
            names: names.filter_map(name).collect(),
            ends_at: Timestamp::from_second(ends_at).map_err(|_| malformed())?,
        })
    }

    /// The last day it is good for from begin to end, in UTC.
    #[must_use]
    pub fn last_day(&self) -> Date {
        let day = self.ends_at.saturating_sub(SignedDuration::from_hours(24));
        day.map_or(Date::MIN, |day| day.to_zoned(TimeZone::UTC).date())
    }

    /// Whole days until the end; none are left after it.
    #[must_use]
    pub fn days_left(&self, now: Timestamp) -> i64 {
        self.ends_at.duration_since(now).as_hours().max(0) / 24
    }
}

fn name(name: &GeneralName<'_>) -> Option<String> {
    match name {
        GeneralName::DNSName(name) => Some((*name).to_owned()),
        GeneralName::IPAddress(bytes) => {
            let v4 = <[u8; 4]>::try_from(*bytes).map(|bytes| Ipv4Addr::from(bytes).to_string());
            let v6 = <[u8; 16]>::try_from(*bytes).map(|bytes| Ipv6Addr::from(bytes).to_string());
            v4.or(v6).ok()
        }
        _ => None,
    }
}
