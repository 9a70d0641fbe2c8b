// Moving stock: the items are scanned, then the label of the place that they go to.

import { button, labelFacts, named, select } from './controls.js';
import { byId, el, field, show } from './dom.js';
import { Refused, post } from './api.js';
import { count } from './format.js';
import { dialog } from './shell.js';
import { t } from './texts.js';
import { sentenceOf } from './verdict.js';

/** The work of moving. */
export function moving(places) {
  // What waits for its place: the label's characters and how often they were scanned.
  let items = [];

  function waiting() {
    const remove = (one) => {
      items = items.filter((other) => other !== one);
      waiting();
    };
    show(byId('moving'), items.length ? el('ul', { class: 'scans' }, items.map((one) => el('li', {},
      el('div', { class: 'grow' }, el('strong', {}, one.what), el('span', {}, t('shelf.move.packages', { number: count(one.quantity) }))),
      button(t('shelf.move.leave_out'), () => remove(one), { 'aria-label': t('shelf.move.leave_out.of', { item: one.what }) })))) : null,
    items.length ? el('p', {}, t('shelf.move.now_place')) : null);
  }

  const put = (one, to, from) => post('/v1/stock/moves', { item: { text: one.text }, quantity: one.quantity, to_id: to.id, from_id: from });

  // It stands at several places: a person says which one it was taken from.
  async function from(one, to) {
    const origin = select(named([...places.values()].filter((place) => place.id !== to.id)), { name: 'from_id' });
    return dialog(t('shelf.move'), el('div', { class: 'fields' }, el('p', {}, one.what), field(t('shelf.move.from'), origin)),
      [{ label: t('shelf.move'), primary: true, run: () => put(one, to, origin.value) }]);
  }

  async function moveTo(to) {
    const done = [];
    while (items.length) {
      const [one] = items;
      let moved;
      try {
        moved = await put(one, to);
      } catch (error) {
        // It may be moved already: what is scanned from now on is another line, so that this one can
        // be sent again as it was.
        if (!(error instanceof Refused)) one.unsure = true;
        if (!(error instanceof Refused) || !error.fields.has('/from_id')) throw error;
        moved = await from(one, to);
      }
      items = items.slice(1);
      if (moved) done.push(t('shelf.moved', { quantity: count(moved.quantity), item: one.what, from: places.get(moved.from_id).name, to: to.name }));
      waiting();
    }
    byId('moving').append(...done.map((text) => el('div', { class: 'receipt taken' }, text)));
  }

  // Tells whether the stock changed.
  async function take(text) {
    const reading = await readingOf(text);
    if (reading.location) {
      if (items.length === 0) throw new Error(t('shelf.move.first_item'));
      await moveTo(reading.location);
      return true;
    }
    const known = items.find((one) => one.text === text && !one.unsure);
    if (known) known.quantity += 1;
    else items.push({ text, quantity: 1, what: whatIs(reading) });
    waiting();
    return false;
  }

  return { take };
}

/** What a label says: a place or an item; refused in words when it is no known form. */
export async function readingOf(text) {
  const reading = await post('/v1/readings', { text });
  if (reading.error) throw new Error(sentenceOf({ slug: 'unread', variant: reading.error.code, sentence: reading.error.message }));
  return reading;
}

/** A label in words: lot and serial, or its identifier. */
export const whatIs = ({ lot, serial, elements }) => labelFacts({ lot, serial }) || (elements[0]?.[1] ?? '');
