// A verdict as a word and a shape; its colours are in the style sheet, its tone in tones.js.

import { el, svg } from './dom.js';
import { day } from './format.js';
import { LANGUAGE, has, said, t, word } from './texts.js';

const OCTAGON = '20,4 44,4 60,20 60,44 44,60 20,60 4,44 4,20';
const shapes = {
  taken: () => [svg('circle', { cx: 32, cy: 32, r: 27 }), svg('path', { d: 'M19 33 L28 43 L46 22' })],
  look: () => [svg('polygon', { points: '32,4 60,32 32,60 4,32' }), svg('path', { d: 'M32 20 V36 M32 44 V45' })],
  stop: () => [svg('polygon', { points: OCTAGON }), svg('path', { d: 'M18 32 H46' })],
  held: () => [svg('path', { d: 'M16 6 H48 M16 58 H48 M20 6 C20 26 44 38 44 58 M44 6 C44 26 20 38 20 58' })],
  unread: () => [svg('path', { d: 'M10 10 V54 M20 10 V28 M20 38 V54 M32 10 V54 M42 10 V22 M42 32 V54 M54 10 V54' })],
  struck: () => [svg('rect', { x: 8, y: 16, width: 48, height: 32 }), svg('path', { d: 'M4 32 H60' })],
  checking: () => [svg('circle', { cx: 12, cy: 32, r: 5 }), svg('circle', { cx: 32, cy: 32, r: 5 }), svg('circle', { cx: 52, cy: 32, r: 5 })],
};

/** The shape of a verdict; the word beside it says the same. */
export function shape(verdict) {
  return svg('svg', { viewBox: '0 0 64 64', class: 'shape', 'aria-hidden': 'true' }, ...(shapes[verdict] ?? shapes.checking)());
}

/** A small mark for a list: shape and word, the verdict's own unless told. */
export function mark(verdict, said = word('verdict', verdict)) {
  return el('span', { class: `mark ${verdict}` }, shape(verdict), said);
}

// A sentence in the page's language by its key, with the values as this language writes them; the
// service's English where the page has no text.
function inWords(key, data = {}, english) {
  return has(key) ? t(key, Object.fromEntries(Object.entries(data).map(([name, value]) => [name, valueOf(name, value)]))) : english;
}

const keyOf = (...parts) => parts.filter(Boolean).join('.');

/** What a finding says in the page's language. */
export const sentenceOf = ({ slug, variant, data, sentence }) => inWords(keyOf('finding', slug, variant), data, sentence);

/** Why a case cannot be set up, in the page's language, without what is said of single pieces. */
export const reasonOf = ({ kind, variant, data, sentence }) => inWords(keyOf('reason', kind, variant), data, sentence);

// The values that have words of their own in each language: days, a case's state, kinds, parts of a label.
function valueOf(name, value) {
  if (/^\d{4}-\d\d-\d\d$/.test(value)) return day(value);
  if (name === 'status' && LANGUAGE !== 'en') return word('status', value);
  if (name === 'reason') return said(value) ?? value;
  if (name === 'missing') return value.split(' and ').map((part) => word('label_part', part)).join(t('and'));
  return /_kind$/.test(name) ? word(name, value) : value;
}

/** A finding as an element; what stays English says so. */
export function sentence(one) {
  const text = sentenceOf(one);
  return el('span', { lang: text === one.sentence && LANGUAGE !== 'en' ? 'en' : null }, text);
}

/** Where a rule comes from: titles of standards and laws, and the site's own words. */
export const sourceOf = ({ slug, data, source }) => inWords(keyOf('source', slug, data?.reference && 'notice'), data, source);

/** The findings of a scan, each with its sentence and its source. */
export function findings(list) {
  if (list.length === 0) return null;
  return el('ul', { class: 'findings' }, list.map((one) => el('li', { class: one.severity }, sentence(one), el('small', {}, t('finding.source'), ' ', sourceOf(one)))));
}
