//! Products: identifiers and catalogue numbers.

use lotwarden_codes::{CheckDigits, Context as CodeContext, Ndc};

use super::block::What;
use super::words::{Sureness, is_code, says_none};
use super::{Bytes, Context, Mark, Reader};
use crate::notices::Expiry;
use crate::notices::element_strings::{Element, element_at};
use crate::notices::labels::{self, Scheme};
use crate::notices::tokens::Kind;

impl Reader<'_> {
    /// One element of a GS1 element string, wherever it stands.
    pub(super) fn element(&mut self, at: usize) -> Option<usize> {
        let start = self.tokens[at].at;
        if self.tokens[at].kind != Kind::Open {
            return None;
        }
        let between = self.text.get(self.element_end..start).unwrap_or("-");
        let goes_on = self.element_end > 0 && matches!(between, "" | " " | "  ");
        let (element, from, end) = element_at(self.text, start, goes_on, self.today)?;
        self.element_end = end;
        let bytes = from..end;
        match element {
            Element::Gtin(digits) => {
                self.begin_product();
                self.identifier(digits.to_owned(), bytes);
            }
            Element::Lot(lot) => self.push_as(What::Code(lot.to_owned()), bytes, true, false),
            Element::Serial(serial) => {
                self.push_as(What::Code(serial.to_owned()), bytes, false, true)
            }
            Element::Expiry(date) => self.element_expiry((Expiry::on(date), bytes)),
            Element::Other(_) => {}
        }
        let length = self.tokens[at..].iter().take_while(|t| t.at < end).count();
        self.mark(at, at + length);
        Some(at + length)
    }

    /// The expiry of an element string belongs to its lot, on whichever side that stands.
    fn element_expiry(&mut self, date: (Expiry, Bytes)) {
        let block = self.block();
        let gtin = block.identifiers.last().map_or(0, |(_, bytes)| bytes.end);
        let own = |bytes: &Bytes| bytes.start >= gtin;
        match block
            .items
            .last_mut()
            .filter(|item| own(&item.bytes) && item.expiry.is_none())
        {
            Some(item) => {
                item.expiry = Some(date);
                block.undated = block.items.len();
            }
            None => block.leading = Some(date),
        }
    }

    pub(super) fn identifier(&mut self, code: String, bytes: Bytes) {
        self.block().identify(code, bytes);
        self.just_item = false;
        self.empty = false;
    }

    pub(super) fn identifier_word(&mut self, at: usize, scheme: Scheme) -> usize {
        let token = self.tokens[at];
        if says_none(&token) {
            self.mark(at, at + 1);
            return at + 1;
        }
        if labels::is_neutral(&token) {
            self.marks[at] = Mark::Neutral;
            return at + 1;
        }
        let read = match scheme {
            Scheme::Drug => self.drug_code(at),
            Scheme::Device | Scheme::Article => {
                self.digits(at).or_else(|| self.device_code(at, scheme))
            }
        };
        match read {
            Some((code, bytes, next)) => {
                self.begin_product();
                self.identifier(code, bytes);
                self.mark(at, next);
                next
            }
            None => self.ends_list(at),
        }
    }

    /// A word that is no value: inside brackets a remark, otherwise the end of the list.
    fn ends_list(&mut self, at: usize) -> usize {
        if self.depth == 0 {
            self.context = Context::Ended;
        }
        at + 1
    }

    pub(super) fn drug_code(&self, at: usize) -> Option<(String, Bytes, usize)> {
        let token = self.tokens[at];
        let code = token.text;
        let product = code.split_once('-').is_some_and(|(labeler, product)| {
            let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
            digits(labeler)
                && digits(product)
                && (4..=6).contains(&labeler.len())
                && (3..=4).contains(&product.len())
        });
        (product || Ndc::parse(code).is_ok())
            .then(|| (code.to_owned(), token.at..token.end(), at + 1))
    }

    /// A GTIN or UPC, also where spaces or hyphens part its digits.
    pub(super) fn digits(&self, at: usize) -> Option<(String, Bytes, usize)> {
        let first = self.tokens[at];
        let mut digits = String::new();
        for (offset, token) in self.tokens[at..].iter().take(6).enumerate() {
            let plain = token.kind == Kind::Word
                && token.text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
            if !plain || (offset > 0 && !token.spaced) {
                break;
            }
            digits.extend(token.text.chars().filter(char::is_ascii_digit));
            let more = self.tokens.get(at + offset + 1).is_some_and(|t| {
                t.kind == Kind::Word
                    && t.spaced
                    && t.text.bytes().all(|b| b.is_ascii_digit())
                    && t.text.len() <= 6
            });
            let whole = matches!(digits.len(), 12..=14) || (digits.len() == 8 && !more);
            if whole {
                return Some((digits, first.at..token.end(), at + offset + 1));
            }
            if digits.len() > 14 || token.stop {
                break;
            }
        }
        None
    }

    /// An HIBC code, an element string without brackets, or a device identifier with letters.
    fn device_code(&mut self, at: usize, scheme: Scheme) -> Option<(String, Bytes, usize)> {
        let token = self.tokens[at];
        if scheme != Scheme::Device {
            return None;
        }
        let bytes = token.at..token.end();
        let mut context = CodeContext::new(self.today);
        context.associations = false;
        context.check_digits = CheckDigits::Tolerate;
        let reading = lotwarden_codes::read(token.text, &context).ok();
        if let Some(reading) = reading
            && let Some(identifier) = reading.identifier
        {
            for (code, lots) in [(&reading.lot, true), (&reading.serial, false)] {
                if let Some(code) = code {
                    self.push_as(What::Code(code.to_string()), bytes.clone(), lots, !lots);
                }
            }
            return Some((identifier.code.as_str().to_owned(), bytes, at + 1));
        }
        let letters = token.text.bytes().any(|b| b.is_ascii_uppercase());
        let code = letters
            && token.text.len() >= 6
            && is_code(&self.tokens, at, Sureness::Unannounced, false);
        code.then(|| (token.text.to_owned(), bytes, at + 1))
    }

    pub(super) fn catalogue_word(&mut self, at: usize) -> usize {
        let token = self.tokens[at];
        if says_none(&token) {
            self.mark(at, at + 1);
            return at + 1;
        }
        if labels::is_neutral(&token) {
            self.marks[at] = Mark::Neutral;
            return at + 1;
        }
        if !is_code(&self.tokens, at, Sureness::Announced, false) {
            return self.ends_list(at);
        }
        self.begin_product();
        self.block()
            .number(token.text.to_owned(), token.at..token.end());
        self.empty = false;
        if token.stop {
            self.context = Context::Ended;
        }
        self.mark(at, at + 1);
        at + 1
    }
}
