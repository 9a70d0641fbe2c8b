//! One pass over a notice's text.

mod block;
mod dates;
mod identifiers;
mod items;
mod ranges;
mod structure;
mod table;
mod words;

use jiff::civil::Date;

use super::labels::{self, Scheme};
use super::tokens::{Kind, Token, tokens};
use super::{Found, Reading, Span, TableFault, sheet};
use block::Block;

/// Reads a notice's text. `today` settles the century of years with two digits.
///
/// A text whose lines are rows of cells (separated by tabs, semicolons or commas, in quotes or not)
/// under a line of column names is read by its columns. Takes any text and time in proportion to
/// its length. Each lot and serial stands in a proposal
/// exactly as printed; what is not understood is in `unread`.
///
/// ```
/// use lotwarden_domain::notices::read;
///
/// let today = jiff::civil::date(2026, 11, 24);
/// let reading = read("Lot # 8D1082, Exp 01/13; 8D1151, Exp 03/13", today);
/// assert_eq!(reading.proposals.len(), 2);
/// assert_eq!(reading.proposals[1].lots[0].value, "8D1151");
/// assert_eq!(reading.proposals[1].expiry.as_ref().unwrap().value.to, Some(jiff::civil::date(2013, 3, 31)));
/// assert!(reading.unread.is_empty());
/// ```
#[must_use]
pub fn read(text: &str, today: Date) -> Reading {
    match sheet::read(text, today) {
        Ok(Some(reading)) => reading,
        Ok(None) => prose(text, today),
        // Such a table is refused where it is taken in; one that came by a feed stays unread.
        Err(_) => Reading {
            proposals: Vec::new(),
            unread: vec![whole(text)],
        },
    }
}

/// Says whether a text may be taken in: one that is no table always, a table of no more than
/// 10,000 rows of 200 cells with 32,767 characters, whose rows name at most 50 products each.
///
/// # Errors
/// [`TableFault`], which names the row.
pub fn check_table(text: &str) -> Result<(), TableFault> {
    // The day settles the century of an expiry, which no bound hangs on.
    sheet::read(text, Date::ZERO).map(|_| ())
}

/// A text of which nothing was understood.
fn whole(text: &str) -> Found<String> {
    Found {
        value: text.to_owned(),
        span: Span {
            at: 0,
            to: text.chars().count(),
            cell: None,
        },
    }
}

/// Reads a text that is no table of cells.
pub(super) fn prose(text: &str, today: Date) -> Reading {
    let mut reader = Reader::new(text, today);
    let mut at = 0;
    while at < reader.tokens.len() {
        at = reader.step(at).max(at + 1);
    }
    reader.finish()
}

/// What the words just read mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Context {
    /// No label yet: the text may be nothing but a lot.
    Implied,
    Items {
        lots: bool,
        serials: bool,
    },
    Catalogue,
    Identifier(Scheme),
    /// Values that are no criteria, up to the next label.
    Other,
    /// After words that ended a list.
    Ended,
}

/// Whether the text names the product before its lots.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Layout {
    ProductFirst,
    ItemsFirst,
}

/// What became of a token.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Mark {
    Unread,
    /// Joins what stands around it.
    Neutral,
    Read,
}

/// Bytes of the text.
type Bytes = std::ops::Range<usize>;

struct Reader<'a> {
    text: &'a str,
    today: Date,
    tokens: Vec<Token<'a>>,
    marks: Vec<Mark>,
    blocks: Vec<Block>,
    layout: Option<Layout>,
    /// Identifiers that stand before the first of several lettered paragraphs.
    header: Option<Block>,
    context: Context,
    /// What to go on with behind words that are no criteria.
    resume: Option<Context>,
    /// The label announced more than one code.
    several: bool,
    /// Nothing was read since the label.
    empty: bool,
    /// Words that are no codes stand before; only what is surely a code is one.
    prose: bool,
    /// What was so before the last opening bracket.
    outside: (Context, bool),
    depth: usize,
    /// The label announced the beginnings of codes.
    beginnings: bool,
    between: bool,
    /// The heading announced expiries beside the lots.
    dates_expected: bool,
    /// The last thing read is a lot or serial.
    just_item: bool,
    /// The block up to which codes were said to be continued.
    continued: usize,
    /// The byte behind the last element of an element string; 0 without one.
    element_end: usize,
    /// An `all` that codes behind it would take back.
    open_all: bool,
    has_lower_case: bool,
}

impl<'a> Reader<'a> {
    fn new(text: &'a str, today: Date) -> Self {
        let tokens = tokens(text);
        Self {
            text,
            today,
            marks: vec![Mark::Unread; tokens.len()],
            tokens,
            blocks: vec![Block::default()],
            layout: None,
            header: None,
            context: Context::Implied,
            resume: None,
            several: false,
            empty: true,
            prose: false,
            outside: (Context::Implied, false),
            depth: 0,
            beginnings: false,
            between: false,
            dates_expected: false,
            just_item: false,
            continued: 0,
            element_end: 0,
            open_all: false,
            has_lower_case: text.bytes().any(|b| b.is_ascii_lowercase()),
        }
    }

    /// Reads what begins at a token; answers with the token behind it.
    fn step(&mut self, at: usize) -> usize {
        if let Some(next) = self
            .table(at)
            .or_else(|| self.element(at))
            .or_else(|| self.paragraph(at))
        {
            return next;
        }
        if let Some(next) = self.exception(at).or_else(|| self.all(at)) {
            return next;
        }
        if let Some(found) = labels::label_at(&self.tokens, at) {
            return self.label(at, &found);
        }
        if self.tokens[at].kind != Kind::Word {
            self.punctuation(at);
            return at + 1;
        }
        match self.context {
            Context::Implied | Context::Items { .. } => self.item_word(at),
            Context::Catalogue => self.catalogue_word(at),
            Context::Identifier(scheme) => self.identifier_word(at, scheme),
            Context::Other | Context::Ended => self.other_word(at),
        }
    }

    fn other_word(&mut self, at: usize) -> usize {
        if labels::is_neutral(&self.tokens[at]) {
            self.marks[at] = Mark::Neutral;
        }
        if self.tokens[at].stop {
            self.open_all = false;
        }
        at + 1
    }

    fn block(&mut self) -> &mut Block {
        if self.blocks.is_empty() {
            self.blocks.push(Block::default());
        }
        let last = self.blocks.len() - 1;
        &mut self.blocks[last]
    }

    fn mark(&mut self, from: usize, to: usize) {
        let to = to.min(self.marks.len());
        if let Some(marks) = self.marks.get_mut(from..to) {
            marks.fill(Mark::Read);
        }
    }

    fn finish(mut self) -> Reading {
        let trailing =
            self.blocks.len() > 1 && self.blocks.last().is_some_and(|b| !b.names_items());
        if trailing && let Some(last) = self.blocks.pop() {
            self.block().add_product(last);
        }
        let places = Places::of(self.text);
        let unread = self.unread(&places);
        let blocks = std::mem::take(&mut self.blocks);
        Reading {
            proposals: blocks
                .into_iter()
                .flat_map(|b| b.proposals(&places))
                .collect(),
            unread,
        }
    }

    /// Runs of words that were not understood, joined over neutral words and punctuation.
    fn unread(&self, places: &Places) -> Vec<Found<String>> {
        let mut pieces: Vec<Bytes> = Vec::new();
        let mut open = false;
        for (token, mark) in self.tokens.iter().zip(&self.marks) {
            match (token.kind, mark) {
                (Kind::Word, Mark::Unread) => {
                    match pieces.last_mut().filter(|_| open) {
                        Some(piece) => piece.end = token.end(),
                        None => pieces.push(token.at..token.end()),
                    }
                    open = true;
                }
                (Kind::Semicolon | Kind::Newline, _) | (Kind::Word, Mark::Read) => open = false,
                _ => {}
            }
        }
        let found = |piece: Bytes| Found {
            value: self.text[piece.clone()].to_owned(),
            span: places.span(&piece),
        };
        pieces.into_iter().map(found).collect()
    }
}

/// Bytes to characters.
struct Places(Vec<u32>);

impl Places {
    fn of(text: &str) -> Self {
        let mut characters = 0;
        let mut places = Vec::with_capacity(text.len() + 1);
        for byte in text.bytes() {
            places.push(characters);
            // A continuation byte begins no character.
            characters += u32::from(byte & 0xC0 != 0x80);
        }
        places.push(characters);
        Self(places)
    }

    fn span(&self, bytes: &Bytes) -> Span {
        let character = |at: usize| self.0.get(at).map_or(0, |c| *c as usize);
        Span {
            at: character(bytes.start),
            to: character(bytes.end),
            cell: None,
        }
    }
}
