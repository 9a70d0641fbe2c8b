//! Keyboard layouts: what a scanner that types on a US keyboard looks like on another.
//! Key positions from memory of the layouts (common practice, no source).

use std::sync::LazyLock;

/// Keys in the order of a US keyboard.
const US: &str = "`1234567890-=qwertyuiop[]\\asdfghjkl;'zxcvbnm,./~!@#$%^&*()_+QWERTYUIOP{}|ASDFGHJKL:\"ZXCVBNM<>?";
const GERMAN: &str = "^1234567890ß´qwertzuiopü+#asdfghjklöäyxcvbnm,.-°!\"§$%&/()=?`QWERTZUIOPÜ*'ASDFGHJKLÖÄYXCVBNM;:_";
const FRENCH: &str = "²&é\"'(-è_çà)=azertyuiop^$*qsdfghjklmùwxcvbn,;:!~1234567890°+AZERTYUIOP¨£µQSDFGHJKLM%WXCVBN?./§";

/// The US key for every Latin-1 character of a layout; NUL where it has none.
type Keys = [char; 256];

static FROM_GERMAN: LazyLock<Keys> = LazyLock::new(|| keys(GERMAN));
static FROM_FRENCH: LazyLock<Keys> = LazyLock::new(|| keys(FRENCH));

fn keys(layout: &str) -> Keys {
    let mut keys = ['\0'; 256];
    for (typed, meant) in layout.chars().zip(US.chars()) {
        if let Some(key) = keys.get_mut(typed as usize) {
            *key = meant;
        }
    }
    keys
}

/// What was meant on a US keyboard by text typed on a German one.
pub(super) fn german(text: &str) -> Option<String> {
    translate(text, &FROM_GERMAN)
}

/// What was meant on a US keyboard by text typed on a French one.
pub(super) fn french(text: &str) -> Option<String> {
    translate(text, &FROM_FRENCH)
}

/// Control characters stay; a character that the layout does not have ends the attempt.
fn translate(text: &str, keys: &Keys) -> Option<String> {
    let meant = |c: char| match keys.get(c as usize) {
        Some('\0') | None => c.is_control().then_some(c),
        Some(key) => Some(*key),
    };
    text.chars()
        .all(|c| meant(c).is_some())
        .then(|| text.chars().filter_map(meant).collect())
}

#[cfg(test)]
mod tests {
    use super::{FRENCH, GERMAN, US};

    #[test]
    fn the_layouts_have_a_key_for_each_key() {
        assert_eq!(US.chars().count(), GERMAN.chars().count());
        assert_eq!(US.chars().count(), FRENCH.chars().count());
        assert!(
            GERMAN
                .chars()
                .chain(FRENCH.chars())
                .all(|c| (c as usize) < 256)
        );
    }
}
