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
    /// What the service says when it refuses, by its English text; none for English itself.
    refusals: Option<&'static str>,
    texts: LazyLock<BTreeMap<String, String>>,
}

macro_rules! language {
    ($tag:literal, $name:literal, $refusals:expr) => {
        Language {
            tag: $tag,
            name: $name,
            source: include_str!(concat!("../../pages/texts/", $tag, ".json")),
            refusals: $refusals,
            texts: LazyLock::new(|| {
                read(include_str!(concat!("../../pages/texts/", $tag, ".json")))
            }),
        }
    };
}

/// The languages; the first one is for browsers that ask for none of them.
pub static LANGUAGES: [Language; 2] = [
    language!("en", "English", None),
    language!("de", "Deutsch", Some(GERMAN_REFUSALS)),
];

const GERMAN_REFUSALS: &str = include_str!("../../pages/texts/refusals.de.json");

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
        in_page(self.source)
    }

    /// What refusals say, by their English text, in the same form.
    pub fn refusals(&self) -> Option<String> {
        self.refusals.map(in_page)
    }
}

fn in_page(json: &str) -> String {
    json.replace('<', "\\u003c")
}

#[cfg(test)]
mod tests {
    use super::{LANGUAGES, read};
    use crate::problem::catalogue::PROBLEMS;
    use lotwarden_domain::mixes::{LIDOCAINE, references_for};
    use lotwarden_domain::picking::reasons::REASON_SENTENCES;
    use lotwarden_domain::rules::Rule;
    use lotwarden_domain::{computations, retention};
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

    /// Reasons, sources, kinds of problems and cautions stand in the pages by their slugs; in English they
    /// are the service's own.
    #[test]
    fn every_reason_source_problem_and_caution_is_there_in_every_language() {
        let key = |parts: &[&str]| {
            let parts: Vec<&str> = parts
                .iter()
                .filter(|part| !part.is_empty())
                .copied()
                .collect();
            parts.join(".")
        };
        let reasons = REASON_SENTENCES
            .iter()
            .map(|one| (key(&["reason", one.kind.as_str(), one.variant]), one.text));
        let sources = Rule::ALL
            .iter()
            .map(|rule| (key(&["source", rule.as_str()]), rule.source()));
        let problems = PROBLEMS
            .iter()
            .map(|one| (key(&["problem", one.code]), one.title));
        let cautions = [
            ("caution.figures".to_owned(), computations::CAUTION),
            ("caution.retention".to_owned(), retention::CAUTION),
        ];
        let all: Vec<(String, &str)> = reasons
            .chain(sources)
            .chain(problems)
            .chain(cautions)
            .collect();
        for language in &LANGUAGES {
            let texts = read(language.source);
            for (key, english) in &all {
                let text = texts.get(key);
                let text = text.unwrap_or_else(|| panic!("{}: no {key}", language.tag));
                assert!(language.tag != "en" || text == english, "{key}");
            }
            for rule in Rule::ALL {
                assert!(texts.contains_key(&format!("rule.{rule}")), "{rule}");
            }
        }
    }

    /// The sentences that operations refuse with, and what is said of fields, as they stand in the
    /// sources.
    fn refusals() -> BTreeSet<String> {
        let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
        let mut found = BTreeSet::new();
        for text in sources(&crates.join("store/src")) {
            for part in text.split("pub enum ").skip(1) {
                let name = part.split_whitespace().next().unwrap();
                if name.ends_with("Refusal") || name == "NotOpen" {
                    let body = part.split("\n}").next().unwrap();
                    found.extend(literals(body, "#[error("));
                }
            }
        }
        let says = ["must ", "goes with ", "give ", "names "];
        for text in sources(&crates.join("api/src")) {
            let text = text.split("#[cfg(test)]").next().unwrap();
            found.extend(literals(text, ".detail("));
            let fields = ["FieldError::new(", "errors.require(", "let detail = "];
            for opening in fields
                .iter()
                .flat_map(|opening| text.split(opening).skip(1))
            {
                let call = opening.split(';').next().unwrap();
                let said = call.split('"').skip(1).step_by(2);
                found.extend(
                    said.filter(|text| says.iter().any(|start| text.starts_with(start)))
                        .map(str::to_owned),
                );
            }
        }
        // What published values beside an amount are about.
        let about = references_for(LIDOCAINE).map(|one| one.about.to_owned());
        found.extend(about);
        found
    }

    fn sources(folder: &Path) -> Vec<String> {
        let mut texts = Vec::new();
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                texts.extend(sources(&path));
            } else {
                texts.push(std::fs::read_to_string(&path).unwrap());
            }
        }
        texts
    }

    /// The literals right behind an opening, without the ends of lines that a backslash hides.
    fn literals(text: &str, opening: &str) -> Vec<String> {
        let literal = |rest: &str| {
            let rest = rest.trim_start().strip_prefix('"')?;
            let end = rest.find('"')?;
            let lines = rest[..end].split("\\\n").map(str::trim_start);
            Some(lines.collect::<String>())
        };
        text.split(opening).skip(1).filter_map(literal).collect()
    }

    /// A text as it is compared: a sentence may begin with a capital and end with a stop.
    fn plain(text: &str) -> String {
        text.trim_end_matches('.').to_lowercase()
    }

    /// Whether a text with places says what another one says; a number may stand for a place.
    fn says(pattern: &str, text: &str) -> bool {
        let mut parts = pattern.split('{').map(|part| match part.split_once('}') {
            Some((_, after)) => after,
            None => part,
        });
        let Some(mut rest) = text.strip_prefix(parts.next().unwrap_or_default()) else {
            return false;
        };
        for part in parts {
            let Some(at) = rest.get(1..).and_then(|rest| rest.find(part)) else {
                return false;
            };
            rest = match part {
                "" => "",
                _ => &rest[1 + at + part.len()..],
            };
        }
        rest.is_empty()
    }

    #[test]
    fn every_refusal_is_there_in_every_other_language() {
        let asked = refusals();
        assert!(asked.len() > 250, "only {} refusals found", asked.len());
        for language in &LANGUAGES[1..] {
            let texts = read(language.refusals.unwrap());
            let missing: Vec<_> = asked
                .iter()
                .filter(|text| {
                    !texts
                        .keys()
                        .any(|pattern| says(&plain(pattern), &plain(text)))
                })
                .collect();
            assert!(missing.is_empty(), "{}: {missing:#?}", language.tag);
        }
    }

    #[test]
    fn every_language_has_the_same_texts_with_the_same_places_for_values() {
        let [first, others @ ..] = &LANGUAGES;
        let texts = read(first.source);
        let places = |text: &str| -> BTreeSet<String> {
            let parts = text.split('{').skip(1);
            // A word for one or for more stands behind its value's name.
            let name = |part: &str| Some(part.split_once('}')?.0.split(':').next()?.to_owned());
            parts.filter_map(name).collect()
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
