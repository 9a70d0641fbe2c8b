//! What was read of a notice, for a person to confirm.

use jiff::civil::Date;
use lotwarden_domain::notices::read;
use serde::Serialize;
use utoipa::ToSchema;

/// What was read of a notice's text. Nothing of it counts before a person confirms it.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeReading {
    /// What the text names, in its order: `lots`, `serials`, `ranges`, `identifiers`,
    /// `catalogue_numbers`, `expiry`, `all`, and in `spans` the characters each came from; of a table also
    /// `row` and `column`.
    proposals: Vec<serde_json::Value>,
    /// What was not understood, in its order; it may name more.
    unread: Vec<String>,
    /// Where in the text that stands: the first character, and the one behind the last.
    #[schema(value_type = Vec<Vec<usize>>)]
    unread_spans: Vec<[usize; 2]>,
}

impl NoticeReading {
    /// Reads a text; the day it came settles the century of years with two digits.
    pub fn of(text: &str, received_on: Date) -> Self {
        let reading = read(text, received_on);
        let proposals = reading.proposals.iter();
        let spans = reading.unread.iter().map(|piece| piece.span);
        Self {
            // Our own proposals are lists of texts and numbers; they always render.
            proposals: proposals
                .map(|proposal| serde_json::to_value(proposal).unwrap_or_default())
                .collect(),
            unread_spans: spans.map(|span| [span.at, span.to]).collect(),
            unread: reading
                .unread
                .into_iter()
                .map(|piece| piece.value)
                .collect(),
        }
    }
}
