//! Reads device, drug and cylinder labels: characters to identity.
//!
//! [`read`] takes what a scanner or a typing person delivered and answers with a
//! [`Reading`] or says why it is [`Unread`]. Nothing here does I/O, keeps state or
//! looks at a clock: the date that settles centuries comes with the [`Context`].
//!
//! ```
//! use lotwarden_codes::{Context, read};
//!
//! let today = Context::new(jiff::civil::date(2026, 11, 24));
//! let reading = read("]d201095201234567881727123110ABC123\u{1d}21SN0001", &today)?;
//! assert_eq!(reading.identifier.as_ref().map(|i| i.code.as_str()), Some("09520123456788"));
//! assert_eq!(reading.lot.as_deref(), Some("ABC123"));
//! assert_eq!(reading.expires_on.map(|d| d.date), Some(jiff::civil::date(2027, 12, 31)));
//! # Ok::<(), lotwarden_codes::Unread>(())
//! ```

mod context;
mod dispatch;
mod elements;
mod gs1;
mod gtin;
mod hibc;
mod identifier;
mod ifa;
mod isbt128;
mod join;
mod json;
mod label_date;
mod ndc;
mod reading;
#[cfg(test)]
mod reference;
mod repair;
mod station;
mod symbology;
mod unread;
mod warning;
mod wedge;

pub use context::{CheckDigits, Context, Separators};
pub use dispatch::read;
pub use elements::{Element, Elements};
pub use gs1::digital_link::{NoDigitalLink, digital_link};
pub use gs1::{Unwritable, bracketed, write_element_string as element_string};
pub use identifier::{Agency, Code, Identifier, IdentifierFault, ParsedIdentifier, UnknownAgency};
pub use join::{Contradiction, Contradictions, join};
pub use label_date::{LabelDate, Precision, full_year};
pub use ndc::{Ndc, NdcFault, NdcSegments};
pub use reading::{Form, Reading};
pub use station::{StationCheck, StationOutcome, TestSymbol, check_readings, check_station};
pub use symbology::Symbology;
pub use unread::{Unread, UnreadCode};
pub use warning::{Warning, Warnings};
