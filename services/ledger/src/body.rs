//! Reads an entry's body where it lies: its members stand in one fixed order.
use jiff::Timestamp;

use crate::{cursor::Cursor, stamp};

/// The members of a body that checking needs; texts are raw, escapes not resolved.
pub(crate) struct Body<'a> {
    pub(crate) action: &'a [u8],
    pub(crate) actor: &'a [u8],
    pub(crate) at: Timestamp,
    pub(crate) data: &'a [u8],
    pub(crate) ledger: &'a [u8],
    pub(crate) position: u64,
    pub(crate) previous: &'a [u8],
    pub(crate) subject: &'a [u8],
}

impl<'a> Body<'a> {
    /// Reads a body from its first byte to its last; the fault is the name of the member that is
    /// not where it is due. Nothing is searched for, so text inside `data` or a string that looks
    /// like a member cannot be taken for one.
    pub(crate) fn read(body: &'a [u8]) -> Result<Self, &'static str> {
        let mut cursor = Cursor::new(body);
        let action = cursor.text(b"{\"action\":\"").ok_or("action")?;
        let actor = cursor.text(b",\"actor\":\"").ok_or("actor")?;
        let at = cursor.text(b",\"at\":\"").ok_or("at")?;
        let at = stamp::read(at).ok_or("at")?;
        cursor.pass(b",\"data\":").ok_or("data")?;
        let data = cursor.object().ok_or("data")?;
        let ledger = cursor.text(b",\"ledger\":\"").ok_or("ledger")?;
        cursor.pass(b",\"position\":").ok_or("position")?;
        let position = cursor.integer().ok_or("position")?;
        let previous = cursor.text(b",\"previous\":\"").ok_or("previous")?;
        if cursor.pass(b",\"station\":\"").is_some() {
            cursor.string().ok_or("station")?;
        }
        let subject = cursor.text(b",\"subject\":\"").ok_or("subject")?;
        cursor.pass(b",\"v\":1}").ok_or("v")?;
        if !cursor.is_at_end() {
            return Err("v");
        }
        Ok(Self {
            action,
            actor,
            at,
            data,
            ledger,
            position,
            previous,
            subject,
        })
    }
}
