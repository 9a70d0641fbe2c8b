//! Walks JSON text in place, without building values.

/// A place in a JSON text. Every step gives `None` when the text does not have what is due.
#[derive(Clone, Copy)]
pub(crate) struct Cursor<'a> {
    rest: &'a [u8],
}

impl<'a> Cursor<'a> {
    pub(crate) fn new(text: &'a [u8]) -> Self {
        Self { rest: text }
    }

    pub(crate) fn is_at_end(&self) -> bool {
        self.rest.is_empty()
    }

    /// Passes `due`, byte for byte. Its length is known to the compiler, which spares a call per
    /// member.
    pub(crate) fn pass<const N: usize>(&mut self, due: &[u8; N]) -> Option<()> {
        let (front, rest) = self.rest.split_first_chunk()?;
        (front == due).then_some(())?;
        self.rest = rest;
        Some(())
    }

    /// Passes the rest of a string whose opening quote is behind, and gives its raw content.
    pub(crate) fn string(&mut self) -> Option<&'a [u8]> {
        let content = self.cut(string_end(self.rest)?);
        self.rest = &self.rest[1..];
        Some(content)
    }

    /// Passes `lead`, which ends with an opening quote, and the string after it.
    pub(crate) fn text<const N: usize>(&mut self, lead: &[u8; N]) -> Option<&'a [u8]> {
        self.pass(lead)?;
        self.string()
    }

    /// Passes an unsigned integer of at most 16 digits.
    pub(crate) fn integer(&mut self) -> Option<u64> {
        let length = self.rest.iter().take_while(|b| b.is_ascii_digit()).count();
        let (digits, rest) = self.rest.split_at(length);
        if !(1..=16).contains(&length) || (length > 1 && digits[0] == b'0') {
            return None;
        }
        self.rest = rest;
        Some(
            digits
                .iter()
                .fold(0, |sum, digit| sum * 10 + u64::from(digit - b'0')),
        )
    }

    /// Passes one object and gives its bytes.
    pub(crate) fn object(&mut self) -> Option<&'a [u8]> {
        self.rest.first().filter(|first| **first == b'{')?;
        self.nested()
    }

    /// Passes one object or array and gives its bytes. Brackets inside strings do not count, and
    /// every bracket must be closed by its own kind.
    fn nested(&mut self) -> Option<&'a [u8]> {
        let (mut at, mut depth, mut arrays) = (0, 0_u32, 0_u64);
        loop {
            match *self.rest.get(at)? {
                b'"' => at += 1 + string_end(&self.rest[at + 1..])?,
                open @ (b'{' | b'[') => {
                    depth += 1;
                    arrays = arrays << 1 | u64::from(open == b'[');
                    (depth <= u64::BITS).then_some(())?;
                }
                close @ (b'}' | b']') => {
                    (arrays & 1 == u64::from(close == b']')).then_some(())?;
                    depth -= 1;
                    arrays >>= 1;
                }
                _ => {}
            }
            at += 1;
            if depth == 0 {
                return Some(self.cut(at));
            }
        }
    }

    fn cut(&mut self, length: usize) -> &'a [u8] {
        let (front, rest) = self.rest.split_at(length);
        self.rest = rest;
        front
    }

    /// Passes any value and gives its bytes.
    fn value(&mut self) -> Option<&'a [u8]> {
        match self.rest.first()? {
            b'{' | b'[' => self.nested(),
            b'"' => {
                let length = 2 + string_end(&self.rest[1..])?;
                Some(self.cut(length))
            }
            _ => {
                let ends = |byte: &u8| matches!(byte, b',' | b'}' | b']');
                let length = self.rest.iter().position(ends)?;
                Some(self.cut(length))
            }
        }
    }
}

/// Gives the value under `key` in a canonical object, whose keys are sorted.
pub(crate) fn find<'a>(object: &'a [u8], key: &[u8]) -> Option<&'a [u8]> {
    let mut cursor = Cursor::new(object);
    let mut lead = b"{\"";
    loop {
        let found = cursor.text(lead)?;
        cursor.pass(b":")?;
        if found >= key {
            return if found == key { cursor.value() } else { None };
        }
        cursor.value()?;
        lead = b",\"";
    }
}

fn string_end(text: &[u8]) -> Option<usize> {
    let mut at = 0;
    loop {
        at += plain_run(&text[at..]);
        match text.get(at)? {
            b'"' => return Some(at),
            b'\\' => at += 2,
            _ => return None,
        }
        if at > text.len() {
            return None;
        }
    }
}

/// Counts the leading bytes that stand for themselves in a JSON string: no quote, no backslash, no
/// control character. Eight at a time, because this is where checking a ledger spends its time.
pub(crate) fn plain_run(text: &[u8]) -> usize {
    const ONES: u64 = u64::MAX / 255;
    const HIGH: u64 = ONES << 7;
    let mut run = 0;
    for chunk in text.chunks_exact(8) {
        let mut word = [0; 8];
        word.copy_from_slice(chunk);
        let word = u64::from_le_bytes(word);
        let below_space = word.wrapping_sub(ONES * 0x20) & !word;
        let quote = word ^ (ONES * 0x22);
        let backslash = word ^ (ONES * 0x5c);
        let hit = (below_space
            | (quote.wrapping_sub(ONES) & !quote)
            | (backslash.wrapping_sub(ONES) & !backslash))
            & HIGH;
        if hit != 0 {
            return run + (hit.trailing_zeros() / 8) as usize;
        }
        run += 8;
    }
    run + text[run..]
        .iter()
        .take_while(|byte| **byte >= 0x20 && **byte != b'"' && **byte != b'\\')
        .count()
}
