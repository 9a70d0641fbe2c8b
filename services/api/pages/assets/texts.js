// The texts of this page's language: one file a language, read by the server and by the scripts.

const TEXTS = JSON.parse(document.getElementById('texts').textContent);

/** The language's tag. */
export const LANGUAGE = document.documentElement.lang;

/**
 * A text by its key, with values in the place of `{name}`; `{name:day|days}` is the first word where
 * the value is 1, the second elsewhere.
 */
export function t(key, values = {}) {
  const text = TEXTS[key] ?? key;
  return text.replace(/\{(\w+)(?::([^|}]*)\|([^}]*))?\}/g, (place, name, one, other) => {
    if (other === undefined) return values[name] ?? place;
    return String(values[name]) === '1' ? one : other;
  });
}

// What the service says in English when it refuses, by that text: `{0}` stands for a value.
const SAID = Object.entries(JSON.parse(document.getElementById('refusals')?.textContent ?? '{}'))
  .sort(([one], [other]) => other.length - one.length)
  .map(([english, own]) => {
    const parts = english.replace(/\.$/, '').split(/\{\d\}/).map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
    return { pattern: new RegExp(`^${parts.join('(.+?)')}(\\.?)$`, 'is'), own: own.replace(/\.$/, ''), places: parts.length - 1 };
  });

// Roles and states of a case stand in a refusal as the interface has them.
const inWords = (value) => value.split(', ').map((one) => TEXTS[`role.${one}`] ?? TEXTS[`status.${one}`] ?? one).join(', ');

/** What the service said in English, in this page's language; null where it has no text for it. */
export function said(english) {
  if (LANGUAGE === 'en') return english;
  for (const { pattern, own, places } of SAID) {
    const found = pattern.exec(english);
    if (found) return own.replace(/\{(\d)\}/g, (_, at) => inWords(found[Number(at) + 1])) + found[places + 1];
  }
  return null;
}

/** Whether there is a text by this key. */
export const has = (key) => key in TEXTS;

/** A text for a word of the interface; the word itself when there is none. */
export function word(group, value) {
  return TEXTS[`${group}.${value}`] ?? value;
}
