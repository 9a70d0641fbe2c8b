//! Passwords that many people choose, and those that anybody could guess who knows the account.
//!
//! NIST SP 800-63B-4, 3.1.1.2: a new password is compared with a list of commonly used and
//! context-specific ones and their derivatives, and the person is told the reason. `common.txt` is
//! a list of our own, written from memory of what such lists have in common.

/// What somebody may know about an account without knowing its password.
#[derive(Clone, Copy, Debug)]
pub struct Account<'a> {
    /// The login.
    pub login: &'a str,
    /// The person's name.
    pub name: &'a str,
    /// The facility's name.
    pub facility: &'a str,
}

const COMMON: &str = include_str!("common.txt");
const SERVICE: &str = "lotwarden";

/// Characters that may stand beside listed words without making them hard to guess.
const FEW: usize = 4;

/// Why a password can be guessed; none when nothing is known against it.
///
/// It is refused when at most two listed words, however often, are all of it but a few characters.
/// So a phrase of several words stays possible.
pub(super) fn fault(password: &str, account: &Account<'_>) -> Option<String> {
    let plain: Vec<char> = letters(password).collect();
    let steps = plain
        .windows(2)
        .filter(|pair| u32::from(pair[0]).abs_diff(u32::from(pair[1])) <= 1);
    if steps.count() + FEW >= plain.len() {
        return Some("is one character repeated, or runs along the alphabet or digits".to_owned());
    }
    let text = folded(password);
    let found: Vec<(String, &str)> = words(account)
        .filter(|(word, _)| text.contains(word.as_str()))
        .collect();
    for (first, what) in &found {
        for (second, other) in &found {
            if second.len() > first.len() {
                continue;
            }
            let rest = text.replace(first, " ").replace(second, " ");
            if rest.chars().filter(|letter| *letter != ' ').count() <= FEW {
                let also = if other == what || first == second {
                    String::new()
                } else {
                    format!(" and {other}")
                };
                return Some(format!("is little more than {what}{also}"));
            }
        }
    }
    let repeats = |period: usize| plain.iter().zip(&plain[period..]).all(|(a, b)| a == b);
    (1..=plain.len() / 2)
        .any(repeats)
        .then(|| "is the same characters over and over".to_owned())
}

/// The words a password must not be made of, folded, each with what it is.
fn words<'a>(account: &Account<'a>) -> impl Iterator<Item = (String, &'static str)> + use<'a> {
    let parts = |text: &'a str, what: &'static str| {
        let each = text.split(|letter: char| !letter.is_alphanumeric());
        std::iter::once(text)
            .chain(each)
            .map(move |word| (folded(word), what))
    };
    let of_account = parts(account.login, "the login")
        .chain(parts(account.name, "the person's name"))
        .chain(parts(account.facility, "the facility's name"))
        .chain(parts(SERVICE, "the service's name"))
        .filter(|(word, _)| word.chars().count() >= 3);
    let common = COMMON
        .lines()
        .map(|word| (folded(word), "a password that many people choose"));
    of_account.chain(common)
}

/// Letters and digits in lower case, nothing else.
fn letters(text: &str) -> impl Iterator<Item = char> {
    text.chars()
        .flat_map(char::to_lowercase)
        .filter(|letter| letter.is_alphanumeric())
}

/// As [`letters`], with the usual disguises taken off: `P@55w0rd` is `password`.
fn folded(text: &str) -> String {
    let undisguised = text.chars().map(|letter| match letter {
        '@' | '4' => 'a',
        '0' => 'o',
        '1' | '!' => 'i',
        '3' => 'e',
        '$' | '5' => 's',
        '7' => 't',
        other => other,
    });
    letters(&undisguised.collect::<String>()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const ACCOUNT: Account<'_> = Account {
        login: "m.okafor",
        name: "Mina Okafor",
        facility: "North Hill Surgery",
    };

    #[test]
    fn what_is_known_of_the_account_is_named_as_the_reason() {
        for (password, reason) in [
            ("m.okafor-lotwarden-1", "the login"),
            ("Mina Mina Okafor 1!", "the person's name"),
            ("northhill northhill 7", "the facility's name"),
            ("L0tw4rden lotwarden", "the service's name"),
            ("P@55w0rd password 12", "a password that many people choose"),
            ("qwertyuiop asdfghjkl", "a password that many people choose"),
            ("abcdefghijklmnopq", "runs along the alphabet"),
            ("zzzzzzzzzzzzzzzzzz", "repeated"),
            ("otter7otter7otter7", "over and over"),
            ("correct horse battery staple", "many people choose"),
        ] {
            let fault = fault(password, &ACCOUNT).unwrap_or_default();
            assert!(fault.contains(reason), "{password}: {fault:?}");
        }
    }

    #[test]
    fn phrases_of_several_words_stay_possible_whatever_they_are_made_of() {
        for password in [
            "three quiet otters 41",
            "dragon okafor paints the summer fence",
            "mina has seven grey umbrellas",
            "ünderwäter çhurch grøws",
            "七匹の静かなカワウソが川で泳いでいる夜",
        ] {
            assert_eq!(fault(password, &ACCOUNT), None, "{password}");
        }
    }
}
