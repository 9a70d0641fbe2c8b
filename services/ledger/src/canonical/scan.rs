//! Walks a text that must be canonical, without building values.
use super::{MAX_INTEGER, ProfileFault};
use crate::cursor::plain_run;

/// Passes one whole text in canonical form, nested at most `depth` levels.
pub(super) fn scan(text: &[u8], depth: usize) -> Result<(), ProfileFault> {
    let mut scan = Scan { text, at: 0 };
    scan.value(depth)?;
    if scan.at == text.len() {
        Ok(())
    } else {
        Err(scan.form())
    }
}

struct Scan<'a> {
    text: &'a [u8],
    at: usize,
}

impl Scan<'_> {
    fn form(&self) -> ProfileFault {
        ProfileFault::Form { at: self.at }
    }

    fn next(&self) -> u8 {
        self.text.get(self.at).copied().unwrap_or(0)
    }

    fn take(&mut self, due: u8) -> Result<(), ProfileFault> {
        if self.next() != due {
            return Err(self.form());
        }
        self.at += 1;
        Ok(())
    }

    fn word(&mut self, word: &[u8]) -> Result<(), ProfileFault> {
        if !self.text[self.at..].starts_with(word) {
            return Err(self.form());
        }
        self.at += word.len();
        Ok(())
    }

    fn value(&mut self, depth: usize) -> Result<(), ProfileFault> {
        match self.next() {
            b'"' => self.string(),
            b'{' => self.object(depth),
            b'[' => self.array(depth),
            b't' => self.word(b"true"),
            b'f' => self.word(b"false"),
            b'n' => Err(ProfileFault::Null { at: self.at }),
            _ => self.integer(),
        }
    }

    fn deeper(&self, depth: usize) -> Result<usize, ProfileFault> {
        depth
            .checked_sub(1)
            .ok_or(ProfileFault::Deep { at: self.at })
    }

    fn object(&mut self, depth: usize) -> Result<(), ProfileFault> {
        let depth = self.deeper(depth)?;
        self.at += 1;
        if self.next() == b'}' {
            self.at += 1;
            return Ok(());
        }
        let mut before = 0..0;
        loop {
            let key = self.key()?;
            if self.text[key.clone()] <= self.text[before.clone()] {
                let twice = self.text[key.clone()] == self.text[before];
                let key = String::from_utf8_lossy(&self.text[key]).into_owned();
                return Err(if twice {
                    ProfileFault::KeyTwice { key }
                } else {
                    ProfileFault::KeyOrder { key }
                });
            }
            before = key;
            self.value(depth)?;
            if self.next() != b',' {
                return self.take(b'}');
            }
            self.at += 1;
        }
    }

    /// Takes `"key":` and gives the place of the key, which is never empty.
    fn key(&mut self) -> Result<std::ops::Range<usize>, ProfileFault> {
        self.take(b'"')?;
        let start = self.at;
        while matches!(self.next(), b'a'..=b'z' | b'0'..=b'9' | b'_') {
            self.at += 1;
        }
        let key = start..self.at;
        if key.is_empty() || self.next() != b'"' {
            return Err(ProfileFault::KeyForm { at: start });
        }
        self.at += 1;
        self.take(b':')?;
        Ok(key)
    }

    fn array(&mut self, depth: usize) -> Result<(), ProfileFault> {
        let depth = self.deeper(depth)?;
        self.at += 1;
        if self.next() == b']' {
            self.at += 1;
            return Ok(());
        }
        loop {
            self.value(depth)?;
            if self.next() != b',' {
                return self.take(b']');
            }
            self.at += 1;
        }
    }

    fn integer(&mut self) -> Result<(), ProfileFault> {
        let start = self.at;
        let negative = self.next() == b'-';
        self.at += usize::from(negative);
        let first = self.at;
        let mut value = 0_u64;
        while self.next().is_ascii_digit() {
            value = value
                .saturating_mul(10)
                .saturating_add(u64::from(self.next() - b'0'));
            self.at += 1;
        }
        let length = self.at - first;
        if matches!(self.next(), b'.' | b'e' | b'E') && length > 0 {
            return Err(ProfileFault::Float { at: start });
        }
        let leading_zero = self.text.get(first) == Some(&b'0') && (length > 1 || negative);
        if length == 0 || leading_zero {
            return Err(ProfileFault::Form { at: start });
        }
        if value > MAX_INTEGER {
            return Err(ProfileFault::Integer { at: start });
        }
        Ok(())
    }

    fn string(&mut self) -> Result<(), ProfileFault> {
        self.at += 1;
        loop {
            self.at += plain_run(&self.text[self.at..]);
            match self.next() {
                b'"' => {
                    self.at += 1;
                    return Ok(());
                }
                b'\\' => self.escape()?,
                _ => return Err(self.form()),
            }
        }
    }

    /// Takes one escape, in the only spelling that RFC 8785 section 3.2.2.2 has for its character.
    fn escape(&mut self) -> Result<(), ProfileFault> {
        let after = &self.text[self.at + 1..];
        self.at += match after {
            [b'"' | b'\\' | b'b' | b'f' | b'n' | b'r' | b't', ..] => 2,
            [b'u', b'0', b'0', b'0', b'0'..=b'7' | b'b' | b'e' | b'f', ..]
            | [b'u', b'0', b'0', b'1', b'0'..=b'9' | b'a'..=b'f', ..] => 6,
            _ => return Err(self.form()),
        };
        Ok(())
    }
}
