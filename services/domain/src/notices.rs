//! What a recall notice names: pasted text in, criteria that a person confirms out.
//!
//! A notice's codes are free text in every shape (the `code_info` of FDA's enforcement records).
//! [`read`] takes out what it understands with the characters each piece came from. The rest stays
//! in sight as unread, and whoever matches must take it as a reason to widen, never to clear.

mod dates;
mod element_strings;
mod json;
mod labels;
mod letter;
mod matching;
mod named;
mod policy;
mod proposal;
mod ranges;
mod reader;
mod sheet;
mod standing;
mod tokens;
mod watch;
mod work;
mod workbook;

pub use dates::{Expiry, PrintedDate};
pub use letter::{Language, LetterField, Template, TemplateFault};
pub use matching::{Criteria, MatchClass, Recorded, Witness};
pub use named::Named;
pub use policy::{NoticePolicy, PolicyFault, TargetUnit, TaskTarget};
pub use proposal::{Cell, Found, Of, Proposal, Reading, Span};
pub use ranges::Range;
pub use reader::{check_table, read};
pub use sheet::TableFault;
pub use standing::{NoticeEnd, NoticeSource, NoticeState};
pub use watch::Watch;
pub use work::{
    Disposal, OutreachMethod, OutreachResult, ReviewDecision, Target, TaskKind, TaskState,
};
pub use workbook::{WorkbookFault, is_workbook, workbook_text};

#[cfg(test)]
mod tests;
