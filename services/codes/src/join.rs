//! Several symbols of one label, read one after the other.

use crate::gs1::associations;
use crate::{Agency, Context, Form, LabelDate, Precision, Reading, UnreadCode, Warnings, hibc};

/// What two readings disagree about, so that they cannot be symbols of one label.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum Contradiction {
    /// Neither reading names a product.
    NoProduct,
    /// The readings name different products.
    Product,
    /// The readings belong to different systems of labels.
    System,
    /// The link character is not the check character of the primary label.
    Link,
    /// Different lots.
    Lot,
    /// Different serial numbers.
    Serial,
    /// Different expiry dates.
    ExpiresOn,
    /// Different dates of manufacture.
    ManufacturedOn,
    /// Different quantities.
    Quantity,
    /// The same element with different values.
    Element,
    /// Two elements that exclude each other.
    ForbiddenPair,
    /// An element still lacks the one it needs.
    MissingCompanion,
}

impl Contradiction {
    const ALL: [Self; 12] = [
        Self::NoProduct,
        Self::Product,
        Self::System,
        Self::Link,
        Self::Lot,
        Self::Serial,
        Self::ExpiresOn,
        Self::ManufacturedOn,
        Self::Quantity,
        Self::Element,
        Self::ForbiddenPair,
        Self::MissingCompanion,
    ];

    /// The permanent name, in snake case.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::NoProduct => "no_product",
            Self::Product => "product",
            Self::System => "system",
            Self::Link => "link",
            Self::Lot => "lot",
            Self::Serial => "serial",
            Self::ExpiresOn => "expires_on",
            Self::ManufacturedOn => "manufactured_on",
            Self::Quantity => "quantity",
            Self::Element => "element",
            Self::ForbiddenPair => "forbidden_pair",
            Self::MissingCompanion => "missing_companion",
        }
    }
}

/// Every contradiction between two readings; never empty as an error.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, thiserror::Error)]
#[error("the two readings are not symbols of one label")]
pub struct Contradictions(u16);

impl Contradictions {
    /// Whether this one is among them.
    pub fn contains(self, contradiction: Contradiction) -> bool {
        self.0 & (1 << contradiction as u16) != 0
    }

    /// Each of them.
    pub fn iter(self) -> impl Iterator<Item = Contradiction> {
        Contradiction::ALL
            .into_iter()
            .filter(move |c| self.contains(*c))
    }

    fn note(&mut self, contradiction: Contradiction, found: bool) {
        if found {
            self.0 |= 1 << contradiction as u16;
        }
    }
}

/// Joins two readings of one label, in either order: a primary and a secondary symbol, or
/// a symbol with the product and one with lot, serial and dates.
///
/// The rule: one of them names the product, or both name the same. They belong to the
/// same system (GS1, HIBC, ISBT 128, IFA). An HIBC link character is the check character
/// of the primary label. Each fact stands on one of them, or on both and alike; of a
/// date given to the month and to the day of that month the day counts. With associations on, GS1's
/// pairings hold over the elements of both, so the single symbols are read without them.
///
/// # Errors
/// Every contradiction found, not only the first.
pub fn join<'a>(
    first: Reading<'a>,
    second: Reading<'a>,
    context: &Context,
) -> Result<Reading<'a>, Contradictions> {
    let (mut main, other) = if first.identifier.is_some() {
        (first, second)
    } else {
        (second, first)
    };
    let mut found = Contradictions::default();
    found.note(Contradiction::NoProduct, main.identifier.is_none());
    found.note(
        Contradiction::Product,
        other.identifier.is_some() && other.identifier != main.identifier,
    );
    found.note(
        Contradiction::System,
        system(main.form) != system(other.form),
    );
    found.note(Contradiction::Link, !link_fits(&main, &other));
    found.note(Contradiction::Lot, differ(&main.lot, &other.lot));
    found.note(Contradiction::Serial, differ(&main.serial, &other.serial));
    found.note(
        Contradiction::Quantity,
        differ(&main.quantity, &other.quantity),
    );
    let expires_on = finer(main.expires_on, other.expires_on);
    let manufactured_on = finer(main.manufactured_on, other.manufactured_on);
    found.note(Contradiction::ExpiresOn, expires_on.is_err());
    found.note(Contradiction::ManufacturedOn, manufactured_on.is_err());

    main.lot = main.lot.or(other.lot);
    main.serial = main.serial.or(other.serial);
    main.quantity = main.quantity.or(other.quantity);
    main.expires_on = expires_on.unwrap_or_default();
    main.manufactured_on = manufactured_on.unwrap_or_default();
    main.link = main.link.or(other.link);
    main.ndc = main.ndc.or(other.ndc);
    main.warnings.join(other.warnings);
    if main.form == Form::HibcPrimary && other.form == Form::HibcSecondary {
        main.form = Form::HibcConcatenated;
    }
    let bare_gtin = main.form == Form::Gtin || other.form == Form::Gtin;
    main.elements.append(other.elements);
    if system(main.form) == System::Gs1 {
        let pairs = context.associations;
        let mut repeated = Warnings::default();
        match associations::check("", &main.elements, bare_gtin, pairs, &mut repeated) {
            Ok(()) => {}
            Err(unread) => found.note(contradiction(unread.code), true),
        }
    }
    if found == Contradictions::default() {
        Ok(main)
    } else {
        Err(found)
    }
}

fn contradiction(code: UnreadCode) -> Contradiction {
    match code {
        UnreadCode::ForbiddenPair => Contradiction::ForbiddenPair,
        UnreadCode::MissingCompanion => Contradiction::MissingCompanion,
        _ => Contradiction::Element,
    }
}

#[derive(PartialEq, Eq)]
enum System {
    Gs1,
    Hibc,
    Isbt128,
    Ifa,
    Other,
}

fn system(form: Form) -> System {
    match form {
        Form::Gs1ElementString
        | Form::Gs1Bracketed
        | Form::Gs1DigitalLink
        | Form::Gtin
        | Form::Iso15434Format05 => System::Gs1,
        Form::HibcPrimary | Form::HibcSecondary | Form::HibcConcatenated => System::Hibc,
        Form::Isbt128 => System::Isbt128,
        Form::Iso15434Format06 => System::Ifa,
        Form::Ndc | Form::Plain => System::Other,
    }
}

/// Whether the link character of a secondary label is the check character that the
/// primary label's data has when it stands alone.
fn link_fits(main: &Reading<'_>, other: &Reading<'_>) -> bool {
    let Some(link) = main.link.or(other.link) else {
        return true;
    };
    match main.identifier {
        Some(primary) if primary.agency == Agency::Hibcc => {
            hibc::check_character(&["+", primary.code.as_str()]).map(char::from) == Some(link)
        }
        _ => false,
    }
}

fn differ<T: PartialEq>(a: &Option<T>, b: &Option<T>) -> bool {
    matches!((a, b), (Some(a), Some(b)) if a != b)
}

/// The more precise of two dates that cover each other.
fn finer(a: Option<LabelDate>, b: Option<LabelDate>) -> Result<Option<LabelDate>, ()> {
    let (Some(a), Some(b)) = (a, b) else {
        return Ok(a.or(b));
    };
    let (coarse, fine) = if a.precision <= b.precision {
        (a, b)
    } else {
        (b, a)
    };
    let covered = match coarse.precision {
        Precision::Month => coarse.date == fine.date.last_of_month(),
        Precision::Day => coarse.date == fine.date,
        _ => coarse == fine,
    };
    if covered { Ok(Some(fine)) } else { Err(()) }
}
