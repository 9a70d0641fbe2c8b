// Buttons, lists of choices and what a label says, made the same way on every page.

import { el } from './dom.js';
import { day } from './format.js';
import { can, step } from './shell.js';
import { t, word } from './texts.js';

/**
 * A button that runs a step. `of` names the one it is for, where several say the same; `needs` is the
 * action that a person must hold for there to be a button at all.
 */
export function button(label, run, { of, needs, primary, ...attributes } = {}) {
  if (needs && !can(needs)) return null;
  return el('button', {
    type: 'button', class: primary ? 'primary' : null, 'aria-label': of ? `${label}: ${of}` : null, 'data-of': of, ...attributes,
    onclick: (event) => step(() => run(), event.currentTarget),
  }, label);
}

/** Makes buttons after whose step `again` shows the place anew, when the step did something. */
export const buttonsThen = (again) => (label, run, attributes) => button(label, async () => {
  if (await run()) await again();
}, attributes);

/** Buttons and links in a row. */
export const actions = (...made) => el('div', { class: 'actions' }, ...made);

/** What can be chosen, of `[value, label]`. */
export const options = (some) => some.map(([value, label]) => el('option', { value }, label));

/** A list to choose from, of `[value, label]`. */
export function select(some, { value, ...attributes } = {}) {
  const made = el('select', attributes, options(some));
  if (value !== undefined && value !== '') made.value = value;
  return made;
}

/** Words of a group as choices. */
export const choices = (group, values) => values.map((value) => [value, word(group, value)]);

/** Records as choices, by their names. */
export const named = (records) => records.map((one) => [one.id, one.name]);

/** Choices with none of them first. */
export const orNone = (some, none = '–') => [['', none], ...some];

/** Lot, serial and outdate, as far as they are known. */
export function labelFacts({ lot, serial, expires_on: outdate } = {}) {
  return [lot && `${t('lot')} ${lot}`, serial && `${t('serial')} ${serial}`, outdate && `${t('outdate')} ${day(outdate)}`].filter(Boolean).join(' · ');
}

/** A lot's number, or that none is recorded. */
export const lotName = ({ lot }) => lot ?? t('lot.not_recorded');

/** A setting or an end point of energy in words, with its source. */
export function limitText(one) {
  const bounds = `${one.least ?? ''} – ${one.most ?? ''}`.trim();
  const where = [one.zone, one.thermometer_type && word('thermometer_type', one.thermometer_type)].filter(Boolean).join(', ');
  return [`${word('energy_value', one.value)} ${bounds}`, where && `(${where})`, one.source].filter(Boolean).join(' ');
}
