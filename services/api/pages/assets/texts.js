// The texts of this page's language: one file a language, read by the server and by the scripts.

const TEXTS = JSON.parse(document.getElementById('texts').textContent);

/** The language's tag. */
export const LANGUAGE = document.documentElement.lang;

/** A text by its key, with values in the place of `{name}`. */
export function t(key, values = {}) {
  const text = TEXTS[key] ?? key;
  return text.replace(/\{(\w+)\}/g, (place, name) => values[name] ?? place);
}

// What the service says in English when it refuses, by that text: `{0}` stands for a value.
const SAID = Object.entries(JSON.parse(document.getElementById('refusals')?.textContent ?? '{}'))
  .sort(([one], [other]) => other.length - one.length)
  .map(([english, own]) => {
    const parts = english.replace(/\.$/, '').split(/\{\d\}/).map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
    return { pattern: new RegExp(`^${parts.join('(.+?)')}(\\.?)$`, 'is'), own: own.replace(/\.$/, ''), places: parts.length - 1 };
  });

/** What the service said in English, in this page's language; null where it has no text for it. */
export function said(english) {
  if (LANGUAGE === 'en') return english;
  for (const { pattern, own, places } of SAID) {
    const found = pattern.exec(english);
    if (found) return own.replace(/\{(\d)\}/g, (_, at) => found[Number(at) + 1]) + found[places + 1];
  }
  return null;
}

/** Whether there is a text by this key. */
export const has = (key) => key in TEXTS;

/** A text for a word of the interface; the word itself when there is none. */
export function word(group, value) {
  return TEXTS[`${group}.${value}`] ?? value;
}
