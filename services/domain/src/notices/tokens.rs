//! A notice's text as words and punctuation.

use super::labels;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Word,
    Hash,
    Colon,
    Comma,
    Semicolon,
    Newline,
    Open,
    Close,
    Dash,
    Slash,
    /// Everything else that is no white space.
    Mark,
}

/// A piece of the text; a word has no punctuation at its ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Token<'a> {
    pub kind: Kind,
    pub text: &'a str,
    /// Its first byte.
    pub at: usize,
    /// White space stands before it.
    pub spaced: bool,
    /// A full stop stands behind it.
    pub stop: bool,
}

impl Token<'_> {
    pub(super) fn end(&self) -> usize {
        self.at + self.text.len()
    }

    pub(super) fn is(&self, word: &str) -> bool {
        self.text.eq_ignore_ascii_case(word)
    }
}

/// Cuts the text; every character that is no white space is in a token or trimmed off a word.
pub(super) fn tokens(text: &str) -> Vec<Token<'_>> {
    let mut all = Vec::new();
    let mut word = None;
    let mut spaced = false;
    for (at, c) in text.char_indices() {
        if in_word(c) || (c == ':' && parts_digits(text, at)) {
            word.get_or_insert(at);
            continue;
        }
        if let Some(start) = word.take() {
            push_word(text, start, at, spaced, &mut all);
            spaced = false;
        }
        match kind(c) {
            None => spaced = true,
            Some(kind) => {
                let end = at + c.len_utf8();
                all.push(Token {
                    kind,
                    text: &text[at..end],
                    at,
                    spaced,
                    stop: false,
                });
                spaced = kind == Kind::Newline;
            }
        }
    }
    if let Some(start) = word {
        push_word(text, start, text.len(), spaced, &mut all);
    }
    all
}

/// `06172014:34` is one code.
fn parts_digits(text: &str, colon: usize) -> bool {
    let digit = |b: Option<&u8>| b.is_some_and(u8::is_ascii_digit);
    let bytes = text.as_bytes();
    colon > 0 && digit(bytes.get(colon - 1)) && digit(bytes.get(colon + 1))
}

fn in_word(c: char) -> bool {
    c.is_alphanumeric()
        || matches!(
            c,
            '-' | '/' | '.' | '_' | '*' | '+' | '\'' | '’' | '$' | '%' | '@'
        )
}

fn kind(c: char) -> Option<Kind> {
    Some(match c {
        '\n' => Kind::Newline,
        _ if c.is_whitespace() => return None,
        '#' => Kind::Hash,
        ':' => Kind::Colon,
        ',' => Kind::Comma,
        ';' => Kind::Semicolon,
        '(' | '[' => Kind::Open,
        ')' | ']' => Kind::Close,
        '\u{2010}'..='\u{2015}' | '\u{2212}' | '~' => Kind::Dash,
        _ => Kind::Mark,
    })
}

fn push_word<'a>(text: &'a str, start: usize, end: usize, spaced: bool, all: &mut Vec<Token<'a>>) {
    let whole = &text[start..end];
    let trimmed = whole.trim_start_matches(['-', '/', '.', '*', '\'', '’', '_']);
    let at = start + whole.len() - trimmed.len();
    if at > start && whole.starts_with(['-', '/']) {
        let kind = if whole.starts_with('-') {
            Kind::Dash
        } else {
            Kind::Slash
        };
        all.push(Token {
            kind,
            text: &text[start..=start],
            at: start,
            spaced,
            stop: false,
        });
    }
    let spaced = spaced && at == start;
    let word = trimmed.trim_end_matches(['-', '/', '.', '*', '\'', '’', '_']);
    let behind = &trimmed[word.len()..];
    if !word.is_empty() {
        push_pieces(word, at, spaced, all);
        if let Some(last) = all.last_mut() {
            last.stop = behind.contains('.');
        }
        let dash = behind
            .find(['-', '/'])
            .map(|offset| at + word.len() + offset);
        if let Some(at) = dash {
            let kind = if text[at..].starts_with('-') {
                Kind::Dash
            } else {
                Kind::Slash
            };
            all.push(Token {
                kind,
                text: &text[at..=at],
                at,
                spaced: false,
                stop: false,
            });
        }
    }
}

/// Cuts labels off what is written onto them: `K6870/Lot`, `Exp.05/2024`, `Lot/Batch`.
fn push_pieces<'a>(word: &'a str, at: usize, spaced: bool, all: &mut Vec<Token<'a>>) {
    let token = |kind, text, at, spaced| Token {
        kind,
        text,
        at,
        spaced,
        stop: false,
    };
    let cut = match labels::is_whole(word) {
        true => None,
        false => word
            .find('/')
            .filter(|_| word.split('/').any(labels::begins_label)),
    };
    if let Some(slash) = cut {
        push_pieces_of(&word[..slash], at, spaced, all);
        all.push(token(Kind::Slash, &word[slash..=slash], at + slash, false));
        let rest = &word[slash + 1..];
        // What follows a label and a slash is cut again; each cut takes a piece away for good.
        return push_rest(rest, at + slash + 1, all);
    }
    push_pieces_of(word, at, spaced, all);
}

fn push_rest<'a>(mut rest: &'a str, mut at: usize, all: &mut Vec<Token<'a>>) {
    while let Some(slash) = rest
        .find('/')
        .filter(|_| rest.split('/').take(2).any(labels::begins_label))
    {
        push_pieces_of(&rest[..slash], at, false, all);
        all.push(Token {
            kind: Kind::Slash,
            text: &rest[slash..=slash],
            at: at + slash,
            spaced: false,
            stop: false,
        });
        at += slash + 1;
        rest = &rest[slash + 1..];
    }
    push_pieces_of(rest, at, false, all);
}

fn push_pieces_of<'a>(word: &'a str, at: usize, spaced: bool, all: &mut Vec<Token<'a>>) {
    if word.is_empty() {
        return;
    }
    let letters = word.bytes().take_while(u8::is_ascii_alphabetic).count();
    let (head, rest) = word.split_at(letters);
    let value = rest.trim_start_matches('.');
    let after_label = matches!(all.last(), Some(t) if matches!(t.kind, Kind::Colon | Kind::Hash));
    let glued = !value.is_empty()
        && labels::begins_label(head)
        && (rest.len() > value.len()
            || (!after_label
                && labels::is_glued(head)
                && rest.starts_with(|c: char| c.is_ascii_digit())));
    if !glued {
        all.push(Token {
            kind: Kind::Word,
            text: word,
            at,
            spaced,
            stop: false,
        });
        return;
    }
    all.push(Token {
        kind: Kind::Word,
        text: head,
        at,
        spaced,
        stop: false,
    });
    let at = at + word.len() - value.len();
    all.push(Token {
        kind: Kind::Word,
        text: value,
        at,
        spaced: false,
        stop: false,
    });
}
