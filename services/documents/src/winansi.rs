//! The characters that the typefaces every PDF reader has can show (ISO 32000-1, 9.6.2.2, annex D).

/// The upper half of WinAnsiEncoding that Latin-1 has no characters for, from 0x80; from memory, and
/// tested by reading pages back with another program.
const UPPER: [char; 32] = [
    '\u{20ac}', '\0', '\u{201a}', '\u{192}', '\u{201e}', '\u{2026}', '\u{2020}', '\u{2021}',
    '\u{2c6}', '\u{2030}', '\u{160}', '\u{2039}', '\u{152}', '\0', '\u{17d}', '\0', '\0',
    '\u{2018}', '\u{2019}', '\u{201c}', '\u{201d}', '\u{2022}', '\u{2013}', '\u{2014}', '\u{2dc}',
    '\u{2122}', '\u{161}', '\u{203a}', '\u{153}', '\0', '\u{17e}', '\u{178}',
];

/// A character in WinAnsiEncoding; none when it has no place there.
pub(crate) fn winansi(character: char) -> Option<u8> {
    if matches!(character, ' '..='~' | '\u{a0}'..='\u{ff}') {
        return u8::try_from(character).ok();
    }
    let upper = (0x80..=0x9f).zip(UPPER);
    let mut upper = upper.filter(|(_, own)| *own == character && character != '\0');
    upper.next().map(|(byte, _)| byte)
}
