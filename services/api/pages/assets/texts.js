// The texts of this page's language: one file a language, read by the server and by the scripts.

const TEXTS = JSON.parse(document.getElementById('texts').textContent);

/** The language's tag. */
export const LANGUAGE = document.documentElement.lang;

/** A text by its key, with values in the place of `{name}`. */
export function t(key, values = {}) {
  const text = TEXTS[key] ?? key;
  return text.replace(/\{(\w+)\}/g, (place, name) => values[name] ?? place);
}

/** Whether there is a text by this key. */
export const has = (key) => key in TEXTS;

/** A text for a word of the interface; the word itself when there is none. */
export function word(group, value) {
  return TEXTS[`${group}.${value}`] ?? value;
}
