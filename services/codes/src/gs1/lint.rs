//! The content checks of GS1 element values (GS1 Barcode Syntax Dictionary: linters).

mod coupon;
mod dates;
mod lists;
mod numbers;
mod texts;
#[cfg(test)]
pub(crate) mod vectors;

pub(crate) use dates::days_in_month;
pub(crate) use texts::{in_set, is_set82};

use crate::UnreadCode;

/// A content check of one part of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Check {
    DigitSum,
    PairSum,
    CompanyPrefix,
    CompanyPrefixSecond,
    Country,
    CountryLetters,
    CountryOr999,
    Coupon,
    CouponOffer,
    Currency,
    Date,
    DateOrMonth,
    HasNonDigit,
    Hour,
    HourMinute,
    Hyphen,
    Iban,
    ImporterIndex,
    Latitude,
    LongDate,
    Longitude,
    MediaType,
    Minute,
    NoZeroPrefix,
    NonZero,
    PackageType,
    Percent,
    PieceOfTotal,
    PositionInSequence,
    Second,
    Sex,
    Winding,
    YesNo,
    Zero,
}

/// What a value breaks, and at which of its bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Fault {
    pub(crate) code: UnreadCode,
    pub(crate) at: usize,
}

impl Fault {
    pub(crate) fn value(at: usize) -> Self {
        Self {
            code: UnreadCode::ImpossibleValue,
            at,
        }
    }

    pub(crate) fn character(at: usize) -> Self {
        Self {
            code: UnreadCode::WrongCharacter,
            at,
        }
    }

    pub(crate) fn length(at: usize) -> Self {
        Self {
            code: UnreadCode::WrongLength,
            at,
        }
    }

    pub(crate) fn after(self, offset: usize) -> Self {
        Self {
            at: self.at + offset,
            ..self
        }
    }
}

impl Check {
    /// Runs the check.
    pub(crate) fn run(self, value: &[u8]) -> Result<(), Fault> {
        match self {
            Self::DigitSum => numbers::check_digit(value),
            Self::PairSum => numbers::check_pair(value),
            Self::CompanyPrefix => numbers::company_prefix(value, 0),
            Self::CompanyPrefixSecond => numbers::company_prefix(value, 1),
            Self::Country => lists::country(value),
            Self::CountryLetters => lists::country_letters(value),
            Self::CountryOr999 if value == b"999" => Ok(()),
            Self::CountryOr999 => lists::country(value),
            Self::Coupon => coupon::north_american(value),
            Self::CouponOffer => coupon::positive_offer(value),
            Self::Currency => lists::currency(value),
            Self::Date => dates::date(value, 2, false),
            Self::DateOrMonth => dates::date(value, 2, true),
            Self::LongDate => dates::date(value, 4, false),
            Self::HasNonDigit if value.iter().all(u8::is_ascii_digit) => Err(Fault::value(0)),
            Self::HasNonDigit => Ok(()),
            Self::Hour => dates::two_digits(value, 23),
            Self::Minute | Self::Second => dates::two_digits(value, 59),
            Self::HourMinute => dates::hour_minute(value),
            Self::Hyphen => texts::only(value, b"-", usize::MAX),
            Self::Iban => numbers::iban(value),
            Self::ImporterIndex => texts::importer_index(value),
            Self::Latitude => numbers::coordinate(value, 1_800_000_000),
            Self::Longitude => numbers::coordinate(value, 3_600_000_000),
            Self::MediaType => lists::media_type(value),
            Self::NoZeroPrefix => numbers::no_zero_prefix(value),
            Self::NonZero => numbers::non_zero(value),
            Self::PackageType => lists::package_type(value),
            Self::Percent => texts::percent(value),
            Self::PieceOfTotal => numbers::piece_of_total(value),
            Self::PositionInSequence => numbers::position_in_sequence(value),
            Self::Sex => texts::only(value, b"0129", 1),
            Self::Winding => texts::only(value, b"019", 1),
            Self::YesNo => texts::only(value, b"01", 1),
            Self::Zero => texts::only(value, b"0", usize::MAX),
        }
    }
}

/// The first byte that is no digit, as a fault.
fn digits_only(value: &[u8]) -> Result<(), Fault> {
    match value.iter().position(|b| !b.is_ascii_digit()) {
        Some(at) => Err(Fault::character(at)),
        None => Ok(()),
    }
}
