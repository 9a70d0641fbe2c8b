//! The languages of the pages, and which one a browser gets.

use actix_web::HttpRequest;
use actix_web::http::header::ACCEPT_LANGUAGE;
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The texts of one language: every text of every page, under the same keys in each language.
#[derive(Debug)]
pub struct Language {
    /// The language's tag (BCP 47).
    pub tag: &'static str,
    /// The language's own name.
    pub name: &'static str,
    source: &'static str,
    texts: LazyLock<BTreeMap<String, String>>,
}

macro_rules! language {
    ($tag:literal, $name:literal) => {
        Language {
            tag: $tag,
            name: $name,
            source: include_str!(concat!("../../pages/texts/", $tag, ".json")),
            texts: LazyLock::new(|| {
                read(include_str!(concat!("../../pages/texts/", $tag, ".json")))
            }),
        }
    };
}

/// The languages; the first one is for browsers that ask for none of them.
pub static LANGUAGES: [Language; 2] = [language!("en", "English"), language!("de", "Deutsch")];

/// A person's choice, kept by the page.
const CHOICE: &str = "lotwarden-language";

fn read(source: &str) -> BTreeMap<String, String> {
    let texts: BTreeMap<String, Value> = serde_json::from_str(source).unwrap_or_default();
    let text = |(key, value): (String, Value)| Some((key, value.as_str()?.to_owned()));
    texts.into_iter().filter_map(text).collect()
}

impl Language {
    /// The language of a request: the person's choice, else the first that the browser asks for.
    pub fn of(request: &HttpRequest) -> &'static Self {
        let choice = request
            .cookie(CHOICE)
            .map(|cookie| cookie.value().to_owned());
        let asked = request.headers().get(ACCEPT_LANGUAGE);
        let asked = asked
            .and_then(|header| header.to_str().ok())
            .unwrap_or_default();
        let wanted = choice.iter().map(String::as_str).chain(asked.split(','));
        let known = |tag: &str| {
            let primary = tag.trim().get(..2)?;
            LANGUAGES
                .iter()
                .find(|known| known.tag.eq_ignore_ascii_case(primary))
        };
        wanted.filter_map(known).next().unwrap_or(&LANGUAGES[0])
    }

    /// A text by its key; the key itself when there is none, which a test refuses.
    pub fn text<'a>(&'static self, key: &'a str) -> &'a str {
        self.texts.get(key).map_or(key, String::as_str)
    }

    /// All texts as the scripts read them: JSON without a `<`, so that it can stand in a page.
    pub fn script(&self) -> String {
        self.source.replace('<', "\\u003c")
    }
}

#[cfg(test)]
mod tests {
    use super::{LANGUAGES, read};
    use std::collections::BTreeSet;
    use std::path::Path;

    /// The keys that the pages ask for: `t("key")` in shells, `t('key'` in scripts.
    fn asked_for() -> BTreeSet<String> {
        let pages = Path::new(env!("CARGO_MANIFEST_DIR")).join("pages");
        let mut files: Vec<_> = std::fs::read_dir(&pages).unwrap().collect();
        files.extend(std::fs::read_dir(pages.join("assets")).unwrap());
        let mut keys = BTreeSet::new();
        for file in files {
            let path = file.unwrap().path();
            let opening = match path.extension().and_then(|name| name.to_str()) {
                Some("html") => "t(\"",
                Some("js") => "t('",
                _ => continue,
            };
            let text = std::fs::read_to_string(&path).unwrap();
            for (at, _) in text.match_indices(opening) {
                let before = text[..at].chars().next_back();
                if before.is_some_and(|one| one.is_alphanumeric() || one == '_') {
                    continue;
                }
                let rest = &text[at + opening.len()..];
                let end = rest.find(['"', '\'']).unwrap();
                keys.insert(rest[..end].to_owned());
            }
        }
        keys
    }

    #[test]
    fn every_text_that_a_page_asks_for_is_there_in_every_language() {
        let asked = asked_for();
        assert!(asked.len() > 50, "only {} texts found", asked.len());
        for language in &LANGUAGES {
            let texts = read(language.source);
            let missing: Vec<_> = asked
                .iter()
                .filter(|key| !texts.contains_key(*key))
                .collect();
            assert!(missing.is_empty(), "{}: {missing:?}", language.tag);
        }
    }

    /// What the rules say stands in the pages by rule and variant; in English it is the service's own
    /// sentence.
    #[test]
    fn every_sentence_of_the_rules_is_there_in_every_language() {
        for language in &LANGUAGES {
            let texts = read(language.source);
            for sentence in lotwarden_domain::rules::SENTENCES {
                let parts = ["finding", sentence.rule.as_str(), sentence.variant];
                let key: Vec<_> = parts.into_iter().filter(|part| !part.is_empty()).collect();
                let text = texts.get(&key.join("."));
                let text = text.unwrap_or_else(|| panic!("{}: no {}", language.tag, key.join(".")));
                if language.tag == "en" {
                    assert_eq!(text, sentence.text);
                }
            }
            for code in lotwarden_codes::UnreadCode::ALL {
                let key = format!("finding.unread.{}", code.as_str());
                assert!(texts.contains_key(&key), "{}: no {key}", language.tag);
            }
        }
    }

    #[test]
    fn every_language_has_the_same_texts_with_the_same_places_for_values() {
        let [first, others @ ..] = &LANGUAGES;
        let texts = read(first.source);
        let places = |text: &str| -> BTreeSet<String> {
            let parts = text.split('{').skip(1);
            parts
                .filter_map(|part| Some(part.split_once('}')?.0.to_owned()))
                .collect()
        };
        for other in others {
            let theirs = read(other.source);
            assert!(texts.keys().eq(theirs.keys()), "{}: other keys", other.tag);
            for (key, text) in &texts {
                assert_eq!(places(text), places(&theirs[key]), "{key} in {}", other.tag);
            }
        }
    }
}
