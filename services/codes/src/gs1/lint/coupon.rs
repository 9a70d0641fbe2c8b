//! North American coupons: AI 8110 and AI 8112.

use super::{Check, Fault, digits_only};

/// Reads a coupon's fields one after the other.
struct Cursor<'v> {
    data: &'v [u8],
    at: usize,
}

impl<'v> Cursor<'v> {
    fn new(data: &'v [u8]) -> Result<Self, Fault> {
        digits_only(data)?;
        Ok(Self { data, at: 0 })
    }

    fn fault<T>(&self) -> Result<T, Fault> {
        Err(Fault::value(if self.at < self.data.len() {
            self.at
        } else {
            0
        }))
    }

    /// One digit out of the listed ones.
    fn one_of(&mut self, listed: &[u8]) -> Result<u8, Fault> {
        match self.data.get(self.at) {
            Some(digit) if listed.contains(digit) => {
                self.at += 1;
                Ok(*digit)
            }
            _ => self.fault(),
        }
    }

    fn take(&mut self, length: usize) -> Result<&'v [u8], Fault> {
        match self.data.get(self.at..self.at + length) {
            Some(field) => {
                self.at += length;
                Ok(field)
            }
            None => self.fault(),
        }
    }

    /// A field after its length indicator, which counts from `base`; 9, where listed,
    /// means that the field is left out.
    fn counted(&mut self, listed: &[u8], base: usize) -> Result<&'v [u8], Fault> {
        match self.one_of(listed)? {
            b'9' if listed != b"0123456789" => Ok(&[]),
            length => self.take(usize::from(length - b'0') + base),
        }
    }

    /// Requirement, its code and the family code of one purchase.
    fn purchase(&mut self) -> Result<(), Fault> {
        self.counted(b"12345", 0)?;
        self.one_of(b"012349")?;
        self.take(3).map(drop)
    }

    /// Whether the optional field with this number begins here.
    fn optional(&mut self, number: u8) -> bool {
        let here = self.data.get(self.at) == Some(&number);
        self.at += usize::from(here);
        here
    }

    fn date(&mut self) -> Result<&'v [u8], Fault> {
        let start = self.at;
        let date = self.take(6)?;
        Check::Date.run(date).map_err(|_| Fault::value(start))?;
        Ok(date)
    }

    fn end(&self) -> Result<(), Fault> {
        if self.at == self.data.len() {
            Ok(())
        } else {
            self.fault()
        }
    }
}

/// AI 8110 (North American Coupon Application Guideline).
pub(super) fn north_american(value: &[u8]) -> Result<(), Fault> {
    let mut c = Cursor::new(value)?;
    c.counted(b"0123456", 6)?;
    c.take(6)?;
    c.counted(b"12345", 0)?;
    c.purchase()?;
    if c.optional(b'1') {
        c.one_of(b"0123")?;
        c.purchase()?;
        c.counted(b"01234569", 6)?;
    }
    if c.optional(b'2') {
        c.purchase()?;
        c.counted(b"01234569", 6)?;
    }
    let expiry = if c.optional(b'3') {
        Some(c.date()?)
    } else {
        None
    };
    if c.optional(b'4') {
        let at = c.at;
        let start = c.date()?;
        if expiry.is_some_and(|expiry| start > expiry) {
            return Err(Fault::value(at));
        }
    }
    if c.optional(b'5') {
        c.counted(b"0123456789", 6)?;
    }
    if c.optional(b'6') {
        c.counted(b"1234567", 6)?;
    }
    if c.optional(b'9') {
        c.one_of(b"01256")?;
        c.one_of(b"012")?;
        c.take(1)?;
        c.one_of(b"01")?;
    }
    c.end()
}

/// AI 8112 (GS1 AI 8112 Coupon Data Specification).
pub(super) fn positive_offer(value: &[u8]) -> Result<(), Fault> {
    let mut c = Cursor::new(value)?;
    c.one_of(b"01")?;
    c.counted(b"0123456", 6)?;
    c.take(6)?;
    c.counted(b"0123456789", 6)?;
    c.end()
}
