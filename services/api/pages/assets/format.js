// Dates and numbers as people read them; instants in the facility's zone.

import { LANGUAGE } from './texts.js';
import { instantOf, localOf } from './zone.js';

let zone = 'UTC';

/** Sets the facility's zone, from the session. */
export function useZone(name) {
  zone = name;
}

/** An instant as day and time in the facility's zone. */
export function instant(text) {
  if (!text) return '';
  return new Intl.DateTimeFormat(LANGUAGE, { dateStyle: 'medium', timeStyle: 'short', timeZone: zone }).format(new Date(text));
}

/** An instant as the time of its day in the facility's zone. */
export function clockTime(text) {
  return new Intl.DateTimeFormat(LANGUAGE, { timeStyle: 'medium', timeZone: zone }).format(new Date(text));
}

/** A civil day, `YYYY-MM-DD`: no zone moves it. */
export function day(text) {
  if (!text) return '';
  return new Intl.DateTimeFormat(LANGUAGE, { dateStyle: 'medium', timeZone: 'UTC' }).format(new Date(`${text}T00:00:00Z`));
}

/** Today's civil day at the facility, `YYYY-MM-DD`. */
export function today() {
  return dayOf(new Date().toISOString());
}

/** The civil day of an instant at the facility, `YYYY-MM-DD`. */
export function dayOf(text) {
  return localOf(text, zone).slice(0, 10);
}

/** The instant of a time at the facility, as a field has it: `YYYY-MM-DDThh:mm`. */
export function instantHere(text) {
  return instantOf(text, zone);
}

/** Says whose clock a field's time is: the facility's, wherever this browser stands. */
export function zoneName() {
  return zone;
}

/** Days from today at the facility to a civil day. */
export function daysTo(text) {
  return Math.round((Date.parse(`${text}T00:00:00Z`) - Date.parse(`${today()}T00:00:00Z`)) / 86400000);
}

/** A civil day so many days after another. */
export function dayAfter(text, days) {
  return new Date(Date.parse(`${text}T00:00:00Z`) + days * 86400000).toISOString().slice(0, 10);
}

// Like the recorded ones beside it: a decimal point in every language, no groups.
const COMPUTED = new Intl.NumberFormat('en', { maximumSignificantDigits: 4, maximumFractionDigits: 0, roundingPriority: 'morePrecision', useGrouping: false });

/** A computed amount as a person writes it: four figures, or whole where that is more (`computed` of the documents). */
export function computed(text) {
  return COMPUTED.format(text);
}

/** A whole number, grouped. */
export function count(value) {
  return new Intl.NumberFormat(LANGUAGE).format(value);
}
