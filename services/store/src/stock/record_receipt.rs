//! Taking in a delivery.

mod entry;
mod facts;
mod judged;
mod rows;

use super::StockReceipt;
use crate::catalogue::entries::Met;
use crate::notices;
use crate::recorder::{Operation, Refused, Subject, Writing};
use facts::Known;
use judged::Judged;
use lotwarden_domain::access::act;
use lotwarden_domain::label::Label;
use uuid::Uuid;

/// Lines of one receipt at most.
pub const MOST_LINES: usize = 200;

/// Takes in a delivery: all its lines or none.
#[derive(Clone, Debug)]
pub struct RecordReceipt {
    /// Its lines, in the order they were scanned or typed; 1 to [`MOST_LINES`].
    pub lines: Vec<ReceiptLine>,
}

/// One label of a delivery, scanned or typed.
#[derive(Clone, Debug)]
pub struct ReceiptLine {
    /// The characters as scanned; none for a typed line.
    pub text: Option<String>,
    /// What they say, or what was typed.
    pub label: Label,
    /// Packages with this label; 1 when it carries a serial.
    pub packages: u32,
    /// Where they are put.
    pub location: Uuid,
}

/// Why a delivery is not taken in; lines count from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordReceiptRefusal {
    /// No lines, or more than [`MOST_LINES`].
    #[error("a receipt has 1 to {MOST_LINES} lines")]
    LineCount,
    /// The label names no product.
    #[error("line {line} names no product")]
    NoProduct {
        /// The line.
        line: usize,
    },
    /// The check digit is wrong, and the catalogue does not have the code so.
    #[error("the check digit of line {line} does not fit and the catalogue does not have the code")]
    WrongCheckDigit {
        /// The line.
        line: usize,
    },
    /// There is no such place.
    #[error("the place of line {line} does not exist")]
    NoSuchLocation {
        /// The line.
        line: usize,
    },
    /// A serial names one package.
    #[error("line {line} carries a serial, so it is one package")]
    SerialIsOne {
        /// The line.
        line: usize,
    },
    /// More units of use than one line may add, or the place may have.
    #[error("line {line} adds more units than one line may, or its place may have")]
    TooMany {
        /// The line.
        line: usize,
    },
}

impl Operation for RecordReceipt {
    type Permission = act::RecordReceipt;
    type Outcome = StockReceipt;
    type Refusal = RecordReceiptRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<StockReceipt, Refused<RecordReceiptRefusal>> {
        if !(1..=MOST_LINES).contains(&self.lines.len()) {
            return Err(Refused::Because(RecordReceiptRefusal::LineCount));
        }
        let id = writing.new_id();
        let known = Known::load(writing.connection, writing.facility.id, &self.lines).await?;
        let mut judged = Judged::new(known, writing.facility, writing.at);
        for (at, line) in self.lines.iter().enumerate() {
            judged.take(at + 1, line).map_err(Refused::Because)?;
        }
        rows::write(writing, id, &self.lines, &judged).await?;
        for product in &judged.products {
            let data = Met {
                catalogued: false,
                identifiers: [product.code.to_string()],
                name: &product.name,
            };
            writing.append("add_product", Subject::new("product", product.id), &data)?;
        }
        notices::hold_received(writing, &judged.recalled).await?;
        for data in entry::parts(&self.lines, &judged.lines)? {
            writing.append("record_receipt", Subject::new("receipt", id), &data)?;
        }
        Ok(judged.outcome(id, writing.actor.to_string(), &self.lines)?)
    }
}
