//! The words by which a notice announces what follows.

mod words;

use super::tokens::{Kind, Token};
use words::{
    ARTICLE, CATALOGUE, CATALOGUE_WITH_NOUN, DEVICE, DRUG, EXPIRIES, LOTS, NEUTRAL, NOUNS, NUMBERS,
    OTHER, SERIALS,
};

/// Which identifiers a label announces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scheme {
    /// UDI, DI, GTIN, HIBC.
    Device,
    /// UPC or EAN.
    Article,
    /// National Drug Code.
    Drug,
}

/// What a label announces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Label {
    /// Lots, serials, or either.
    Items {
        lots: bool,
        serials: bool,
    },
    Expiry,
    Catalogue,
    Identifier(Scheme),
    /// Something that is no criterion: a day of manufacture, a version, a quantity.
    Other,
}

/// A label that was found.
pub(super) struct Labelled {
    pub label: Label,
    /// The token behind it.
    pub next: usize,
    /// It announces more than one code.
    pub several: bool,
}

fn among(word: &str, words: &[&str]) -> bool {
    words.iter().any(|known| word.eq_ignore_ascii_case(known))
}

pub(super) fn is_neutral(token: &Token<'_>) -> bool {
    among(token.text, NEUTRAL)
}

/// Words with a slash inside that are labels as they stand, or say that there is none.
pub(super) fn is_whole(word: &str) -> bool {
    among(word, &["l/n", "s/n", "s/ns", "p/n", "p/ns", "n/a"])
}

/// Whether a label may begin with this word.
pub(super) fn begins_label(word: &str) -> bool {
    let groups = [LOTS, SERIALS, EXPIRIES, CATALOGUE, DEVICE, ARTICLE, DRUG];
    groups.iter().any(|group| among(word, group))
        || among(word, &["di", "mfg", "product", "item", "part"])
}

/// Whether the word is a label even where its value is written onto it: `Exp12/25`.
pub(super) fn is_glued(word: &str) -> bool {
    among(word, &["lot", "exp", "ndc", "upc", "gtin"])
}

/// The label that begins at a token, with the words and signs that belong to it.
pub(super) fn label_at(tokens: &[Token<'_>], at: usize) -> Option<Labelled> {
    let first = one(tokens, at)?;
    let mut found = first;
    // `Lot/Batch Numbers`, `Model/Catalog Number`, `Lot or Serial Numbers`.
    while let Some(second) = joined(tokens, found.next).and_then(|next| one(tokens, next)) {
        found.label = match (found.label, second.label) {
            (
                Label::Items { lots, serials },
                Label::Items {
                    lots: l,
                    serials: s,
                },
            ) => Label::Items {
                lots: lots || l,
                serials: serials || s,
            },
            (one, other) if one == other => one,
            (Label::Identifier(_), Label::Identifier(scheme)) => Label::Identifier(scheme),
            _ => break,
        };
        found.next = second.next;
        found.several |= second.several;
    }
    Some(found)
}

/// The token behind a slash or an `and`, `or`, `&` between two labels.
fn joined(tokens: &[Token<'_>], at: usize) -> Option<usize> {
    let token = tokens.get(at)?;
    let joins = token.kind == Kind::Slash
        || token.text == "&"
        || (token.kind == Kind::Word && (token.is("and") || token.is("or")));
    joins.then_some(at + 1)
}

fn one(tokens: &[Token<'_>], at: usize) -> Option<Labelled> {
    let token = tokens.get(at).filter(|t| t.kind == Kind::Word)?;
    let word = token.text;
    let next = tokens.get(at + 1);
    let followed =
        |words: &[&str]| next.is_some_and(|t| t.kind == Kind::Word && among(t.text, words));
    let noun = followed(NUMBERS) || next.is_some_and(|t| t.kind == Kind::Hash);
    let lots = Label::Items {
        lots: true,
        serials: false,
    };
    let (label, next) = if among(word, LOTS) || (word.eq_ignore_ascii_case("control") && noun) {
        (lots, at + 1)
    } else if among(word, &["code", "codes"]) {
        (lots, at + 1 + usize::from(followed(&["date", "dates"])))
    } else if word.eq_ignore_ascii_case("date") && followed(&["code", "codes"]) {
        (lots, at + 2)
    } else if among(word, SERIALS) {
        (
            Label::Items {
                lots: false,
                serials: true,
            },
            at + 1,
        )
    } else if among(word, EXPIRIES) {
        (Label::Expiry, at + 1)
    } else if among(word, &["use", "best", "sell", "beyond"]) && followed(&["by", "before", "use"])
    {
        let behind =
            at + 2 + usize::from(followed(&["use"]) && is_word(tokens, at + 2, &["by", "before"]));
        (Label::Expiry, behind)
    } else if among(word, CATALOGUE)
        || (among(word, CATALOGUE_WITH_NOUN) && (noun || numbered(next)))
    {
        (Label::Catalogue, at + 1)
    } else if among(word, DEVICE) || word == "DI" {
        (
            Label::Identifier(Scheme::Device),
            at + 1 + usize::from(is_word(tokens, at + 1, &["di"])),
        )
    } else if among(word, &["primary", "device"]) && followed(&["di", "identifier", "identifiers"])
    {
        (Label::Identifier(Scheme::Device), at + 2)
    } else if among(word, ARTICLE) {
        (Label::Identifier(Scheme::Article), at + 1)
    } else if among(word, DRUG) {
        (Label::Identifier(Scheme::Drug), at + 1)
    } else if among(word, OTHER) {
        (Label::Other, at + 1)
    } else {
        return None;
    };
    let (next, several) = nouns(tokens, next, label == Label::Expiry);
    let several = several
        || among(
            word,
            &[
                "lots", "batches", "serials", "codes", "refs", "models", "catalogs",
            ],
        );
    Some(Labelled {
        label,
        next,
        several,
    })
}

fn is_word(tokens: &[Token<'_>], at: usize, words: &[&str]) -> bool {
    tokens
        .get(at)
        .is_some_and(|t| t.kind == Kind::Word && among(t.text, words))
}

/// A bare number right behind: `item 922`, `list 11971`.
fn numbered(token: Option<&Token<'_>>) -> bool {
    token.is_some_and(|t| {
        t.kind == Kind::Word && t.text.bytes().filter(u8::is_ascii_digit).count() >= 3
    })
}

/// The words and signs behind a label's first word; whether they announce several codes.
fn nouns(tokens: &[Token<'_>], mut at: usize, expiry: bool) -> (usize, bool) {
    let mut several = false;
    while let Some(token) = tokens.get(at) {
        let dates = expiry && among(token.text, &["date", "dates", "dating", "dt"]);
        match token.kind {
            Kind::Hash => at += 1,
            Kind::Word if dates || among(token.text, NUMBERS) || among(token.text, NOUNS) => {
                // `no UDI`, `lot no 5`: a noun that is a value's beginning has no space before it.
                several |= token.text.ends_with(['s', 'S']) || token.is("range");
                at += 1;
            }
            // `Lot(s)`, `Number(s)`, `Date (BUD)`.
            Kind::Open if closes(tokens, at, &["s", "es", "ies"]) => {
                several = true;
                at += 3;
            }
            Kind::Open if expiry && closes(tokens, at, &["bud", "exp", "expiry"]) => at += 3,
            _ => break,
        }
    }
    (at, several)
}

fn closes(tokens: &[Token<'_>], at: usize, words: &[&str]) -> bool {
    is_word(tokens, at + 1, words) && tokens.get(at + 2).is_some_and(|t| t.kind == Kind::Close)
}
