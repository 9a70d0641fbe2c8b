//! Messages as RFC 5322 has them, plain text alone.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use jiff::Zoned;

/// An address: the plain form `local@domain` of RFC 5322, 3.4.1, without quotes and comments.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MailAddress(String);

/// The text is no address.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("must be a mail address such as recall-desk@example.org, at most 254 characters")]
pub struct NotAMailAddress;

impl MailAddress {
    /// Reads an address; nothing in it can end a header line.
    ///
    /// # Errors
    /// [`NotAMailAddress`].
    pub fn read(text: &str) -> Result<Self, NotAMailAddress> {
        // RFC 5322, 3.2.3: atext.
        let atom = |part: &str| {
            let atext = |c: char| c.is_ascii_alphanumeric() || "!#$%&'*+-/=?^_`{|}~".contains(c);
            !part.is_empty() && part.chars().all(atext)
        };
        let label = |part: &str| {
            let inside = |c: char| c.is_ascii_alphanumeric() || c == '-';
            atom(part) && part.chars().all(inside) && !part.starts_with('-') && !part.ends_with('-')
        };
        let (local, domain) = text.rsplit_once('@').ok_or(NotAMailAddress)?;
        let fits = text.len() <= 254 && local.len() <= 64 && domain.contains('.');
        if fits && local.split('.').all(atom) && domain.split('.').all(label) {
            Ok(Self(text.to_owned()))
        } else {
            Err(NotAMailAddress)
        }
    }

    /// As written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// A message: header and text with CRLF line ends, ready to be handed to a mail system; its date is
/// in the zone it is told in.
///
/// Lines stay within the 998 octets of RFC 5322, 2.1.1, and a subject that is not plain ASCII is
/// encoded as RFC 2047 has it.
#[must_use]
pub fn message(
    id: &str,
    (from, to): (&MailAddress, &[MailAddress]),
    (subject, text): (&str, &str),
    at: &Zoned,
) -> String {
    let to: Vec<&str> = to.iter().map(MailAddress::as_str).collect();
    let date = jiff::fmt::rfc2822::to_string(at).unwrap_or_default();
    let domain = from
        .as_str()
        .rsplit_once('@')
        .map_or("", |(_, domain)| domain);
    let mut lines = vec![
        format!("Date: {date}"),
        format!("From: {}", from.as_str()),
        format!("To: {}", to.join(",\r\n ")),
        format!("Message-ID: <{id}@{domain}>"),
        format!("Subject: {}", encoded(subject)),
        "Auto-Submitted: auto-generated".to_owned(),
        "MIME-Version: 1.0".to_owned(),
        "Content-Type: text/plain; charset=utf-8".to_owned(),
        "Content-Transfer-Encoding: 8bit".to_owned(),
        String::new(),
    ];
    for line in text.lines() {
        // 240 characters are at most 960 octets.
        let letters: Vec<char> = line.chars().filter(|c| !c.is_control()).collect();
        if letters.is_empty() {
            lines.push(String::new());
        }
        lines.extend(
            letters
                .chunks(240)
                .map(|piece| piece.iter().collect::<String>()),
        );
    }
    lines.push(String::new());
    lines.join("\r\n")
}

/// A header's text: as it is, or as encoded words of at most 75 characters (RFC 2047, 2).
fn encoded(text: &str) -> String {
    let text: String = text.chars().filter(|c| !c.is_control()).take(200).collect();
    if text.is_ascii() {
        return text;
    }
    let letters: Vec<char> = text.chars().collect();
    // Ten characters are at most 40 octets, 56 characters in base64.
    let words = letters.chunks(10).map(|piece| {
        let piece: String = piece.iter().collect();
        format!("=?utf-8?B?{}?=", STANDARD.encode(piece.as_bytes()))
    });
    words.collect::<Vec<_>>().join("\r\n ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(text: &str) -> MailAddress {
        MailAddress::read(text).expect("an address")
    }

    #[test]
    fn an_address_cannot_end_its_line_or_hold_another_one() {
        assert!(MailAddress::read("recall.desk+1@site-a.example.org").is_ok());
        for bad in [
            "",
            "a",
            "a@b",
            "a@b..c",
            "a@-b.c",
            ".a@b.c",
            "a b@c.d",
            "a@b.c\r\nBcc: x@y.z",
            "a@b.c,d@e.f",
            "\"a\"@b.c",
            "a@ü.de",
            "a@b.c ",
        ] {
            assert_eq!(MailAddress::read(bad), Err(NotAMailAddress), "{bad:?}");
        }
    }

    #[test]
    fn a_message_has_its_header_and_no_line_that_is_too_long() {
        let to = [address("a@example.org"), address("b@example.org")];
        let at: Zoned = "2026-11-24T10:00:00[Europe/Berlin]"
            .parse()
            .expect("a time");
        let long = "ü".repeat(1_000);
        let message = message(
            "m1",
            (&address("site@example.org"), &to),
            ("Rückruf\r\nBcc: x", &format!("One\n\n{long}")),
            &at,
        );
        assert!(
            message.starts_with("Date: Tue, 24 Nov 2026 10:00:00 +0100\r\n"),
            "{message}"
        );
        assert!(message.contains("\r\nTo: a@example.org,\r\n b@example.org\r\n"));
        assert!(message.contains("\r\nMessage-ID: <m1@example.org>\r\n"));
        assert!(!message.contains("\r\nBcc"));
        assert!(message.split("\r\n").all(|line| line.len() <= 998));
        assert!(message.contains("\r\n\r\nOne\r\n\r\n"));
    }
}
