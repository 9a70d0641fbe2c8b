//! What stands on a person's badge, and what a PIN has to be.

/// What a badge's text begins with. Its symbol carries it in AI 92, which GS1 leaves to each
/// company (GS1 General Specifications 3.9.11), so that no item's label can be taken for it.
const PREFIX: &str = "LWB";
const RANDOM: usize = 20;
/// With all that may stand around it; longer texts are looked at no further.
const LONGEST: usize = 40;
/// Without the look-alikes I, O, 0 and 1: five bits a letter.
const LETTERS: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";

/// The text of a badge: `LWB` and 20 random letters and digits, 100 bits.
#[derive(Clone, PartialEq, Eq)]
pub struct BadgeText(String);

impl std::fmt::Debug for BadgeText {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("BadgeText(..)")
    }
}

impl BadgeText {
    /// The GS1 application identifier that carries it.
    pub const AI: &'static str = "92";

    /// Makes the text of a new badge from random bytes.
    #[must_use]
    pub fn new(random: [u8; RANDOM]) -> Self {
        Self(format!("{PREFIX}{}", random_letters(&random)))
    }

    /// Reads what a scanner sent for a badge, or what somebody typed; none when it is no badge.
    ///
    /// A symbology identifier, the FNC1 of the symbol and its AI may stand before the text, and a
    /// keyboard's caps lock does not count.
    #[must_use]
    pub fn read(scanned: &str) -> Option<Self> {
        if scanned.len() > LONGEST {
            return None;
        }
        let text = scanned.trim().to_ascii_uppercase();
        let text = match text.strip_prefix(']') {
            Some(rest) => rest.get(2..)?,
            None => &text,
        };
        let text = text.trim_matches(['\u{1d}', '^']);
        let text = text.strip_prefix(Self::AI).unwrap_or(text);
        let random = text.strip_prefix(PREFIX)?;
        let fits = random.len() == RANDOM && random.bytes().all(|byte| LETTERS.contains(&byte));
        fits.then(|| Self(text.to_owned()))
    }

    /// The text itself.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Letters and digits without look-alikes, one of 32 for each random byte.
#[must_use]
pub fn random_letters(random: &[u8]) -> String {
    let letter = |byte: &u8| char::from(LETTERS[usize::from(byte % 32)]);
    random.iter().map(letter).collect()
}

/// What is wrong with a new PIN; none when it can be used. It counts with the badge only.
#[must_use]
pub fn pin_fault(pin: &str) -> Option<&'static str> {
    let digits = pin.as_bytes();
    if !(6..=12).contains(&digits.len()) || !digits.iter().all(u8::is_ascii_digit) {
        return Some("must be 6 to 12 digits");
    }
    let run = |step: i16| {
        digits
            .windows(2)
            .all(|pair| i16::from(pair[1]) - i16::from(pair[0]) == step)
    };
    let repeats = |period: usize| digits.iter().zip(&digits[period..]).all(|(a, b)| a == b);
    let easy = [-1, 0, 1].into_iter().any(run) || (1..=3).any(repeats);
    easy.then_some("is easy to guess: digits in a row, or the same ones over and over")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_badge_is_read_however_the_scanner_sends_it() {
        let badge = BadgeText::new([7; RANDOM]);
        let text = badge.as_str();
        let lower = text.to_lowercase();
        for sent in [
            text.to_owned(),
            format!("92{text}"),
            format!("]d292{text}"),
            format!("]d2\u{1d}92{text}"),
            format!("^92{text}\n"),
            format!("]D292{lower}"),
        ] {
            assert_eq!(BadgeText::read(&sent).as_ref(), Some(&badge), "{sent:?}");
        }
    }

    #[test]
    fn an_items_label_is_no_badge() {
        for item in [
            "",
            "]d2",
            "LWB",
            "]d2010952012345678817271231101A2B3C",
            "]d2910000000000000000000000000000000000000",
            "92LWBABCDEFGHJKLMNPQRSTU0",
            "LWBABCDEFGHJKLMNPQRSTUVW",
            "+A123BJC5D6E71G",
        ] {
            assert_eq!(BadgeText::read(item), None, "{item}");
        }
    }

    #[test]
    fn easy_pins_are_refused() {
        for pin in [
            "",
            "12345",
            "1234567890123",
            "12345a",
            "123456",
            "987654",
            "000000",
            "121212",
            "123123",
            "４７１９０３",
        ] {
            assert!(pin_fault(pin).is_some(), "{pin}");
        }
        for pin in ["471903", "112358", "990021", "123465"] {
            assert_eq!(pin_fault(pin), None, "{pin}");
        }
    }
}
