// The day before: whether the cases of a day can be set up, picking lists to print, and what a
// setup needs.

import { byId, el, show, table } from './dom.js';
import { all, get, post } from './api.js';
import { count, day, dayAfter, instant, today } from './format.js';
import { form } from './forms.js';
import { can, start, step } from './shell.js';
import { mark } from './verdict.js';
import { t, word } from './texts.js';

async function showDay() {
  const asked = byId('day').value || dayAfter(today(), 1);
  const { cases } = await get(`/v1/readiness?day=${asked}`);
  byId('picking').hidden = true;
  const pick = (row) => el('button', { type: 'button', 'aria-label': `${t('next_day.picking')}: ${row.case.procedure}`, onclick: (event) => step(() => showPicking(row.case), event.currentTarget) }, t('next_day.picking'));
  const reasons = (row) => (row.ready ? t('next_day.ready') : el('ul', { class: 'findings' }, row.reasons.map((one) => el('li', { class: 'look' }, el('strong', {}, `${word('reason_kind', one.kind)}: `), one.sentence))));
  show(byId('cases'), table(`${t('next_day.cases')} ${day(asked)}`, [
    [t('procedure'), (row) => row.case.procedure],
    [t('next_day.planned'), (row) => `${instant(row.case.scheduled_for)}, ${row.case.location.name}`],
    [t('practitioner'), (row) => row.case.practitioner.name],
    [t('verdict'), (row) => mark(row.ready ? 'taken' : 'look')],
    [t('next_day.reasons'), reasons],
    ...(can('show_picking') ? [[t('shelf.actions'), pick]] : []),
  ], cases, t('next_day.none')));
}

// A list to take along: by the places' names, of each product the lot that expires first.
async function showPicking(one) {
  const picking = await get(`/v1/cases/${one.id}/picking`);
  const short = picking.lines.filter((line) => line.short > 0);
  const line = (row) => picking.lines[row.line];
  const lots = picking.from.map(({ lot_id, quantity }) => ({ lot_id, quantity }));
  const took = () => post(`/v1/cases/${one.id}/picks`, { kind: 'picked', lines: lots });
  show(byId('picking'), el('h2', {}, `${t('next_day.picking')}: ${one.procedure}, ${instant(one.scheduled_for)}`),
    picking.list_id ? null : el('p', { class: 'caution' }, t('next_day.no_list')),
    table(t('next_day.picking'), [
      [t('place'), (row) => row.location_name],
      [t('product'), (row) => (row.substitute ? [row.product_name, el('br'), el('strong', {}, t('next_day.substitute', { product: line(row).name }))] : row.product_name)],
      [t('lot'), (row) => row.lot ?? t('lot.not_recorded')],
      [t('outdate'), (row) => (row.expires_on ? day(row.expires_on) : t('shelf.no_outdate'))],
      [t('next_day.take'), (row) => count(row.quantity), 'number'],
      [t('next_day.open_hold'), (row) => `${count(line(row).open)} / ${count(line(row).hold)}`, 'number'],
      [t('next_day.tick'), () => '☐', 'number'],
    ], picking.from, t('next_day.nothing')),
    short.length ? table(t('next_day.short'), [
      [t('product'), (row) => row.name], [t('next_day.open_hold'), (row) => `${count(row.open)} / ${count(row.hold)}`, 'number'],
      [t('next_day.taken'), (row) => count(row.taken), 'number'], [t('next_day.short'), (row) => count(row.short), 'number'],
    ], short, '') : null,
    el('div', { class: 'actions' },
      el('button', { type: 'button', onclick: () => print() }, t('print')),
      can('record_pick') && lots.length ? el('button', { type: 'button', class: 'primary', onclick: (event) => step(async () => { await took(); await showDay(); await showPicking(one); }, event.currentTarget) }, t('next_day.took')) : null));
  byId('picking').scrollIntoView();
}

// A line such as "2 + 1 Compression pad": to open, to hold, and the product as the catalogue names it.
function item(line, products) {
  const found = /^(\d+)\s*(?:\+\s*(\d+))?\s+(.+)$/.exec(line);
  if (!found) throw new Error(t('next_day.line_unread', { line }));
  const [, open, hold, names] = found;
  const [product, ...alternatives] = names.split('|').map((name) => {
    const known = products.find((one) => one.name === name.trim());
    if (!known) throw new Error(t('next_day.no_product', { name: name.trim() }));
    return known.id;
  });
  return { product_id: product, open: Number(open), hold: Number(hold ?? 0), alternative_ids: alternatives };
}

async function addList() {
  const [products, people] = [await all('/v1/products', {}, 20000), can('list_practitioners') ? await all('/v1/practitioners') : []];
  const equipment = ['generator', 'vibration_drive', 'smoke_evacuator', 'thermometer'];
  return form(t('next_day.add_list'), [
    { name: 'procedure', label: t('procedure'), most: 200 },
    { name: 'practitioner_id', label: t('practitioner'), choices: [['', t('next_day.everybody')], ...people.map((one) => [one.id, one.name])], required: false },
    { name: 'items', label: t('next_day.items'), hint: t('next_day.items.hint'), kind: 'long', list: true, most: 8000 },
    ...equipment.map((kind) => ({ name: kind, label: word('equipment_kind', kind), kind: 'check' })),
  ], ({ procedure, practitioner_id, items, ...needs }) => post('/v1/lists', {
    procedure, practitioner_id, items: items.map((line) => item(line, products)), equipment: equipment.filter((kind) => needs[kind]),
  }));
}

async function showLists() {
  const [lists, products] = [await all('/v1/lists'), await all('/v1/products', {}, 20000)];
  const names = new Map(products.map((one) => [one.id, one.name]));
  show(byId('lists'), table(t('next_day.lists'), [
    [t('procedure'), (row) => row.procedure],
    [t('practitioner'), (row) => (row.practitioner_id ? t('next_day.own') : t('next_day.everybody'))],
    [t('next_day.items'), (row) => el('ul', {}, row.items.map((one) => el('li', {}, `${count(one.open)} + ${count(one.hold)} ${[one.product_id, ...one.alternative_ids].map((id) => names.get(id) ?? '').join(' | ')}`)), row.kinds.map((one) => el('li', {}, `${count(one.open)} + ${count(one.hold)} ${one.kind}`)))],
    [t('equipment'), (row) => row.equipment.map((kind) => word('equipment_kind', kind)).join(', ')],
  ], lists.reverse(), t('next_day.lists.none')));
  show(byId('list-actions'), can('add_list') ? el('button', { type: 'button', onclick: () => step(async () => { if (await addList()) { await showLists(); await showDay(); } }) }, t('next_day.add_list')) : null);
}

start(async () => {
  byId('print').addEventListener('click', () => print());
  byId('day').value = dayAfter(today(), 1);
  byId('day').addEventListener('change', () => step(showDay));
  if (can('show_readiness')) await showDay();
  byId('lists-section').hidden = !can('list_lists');
  if (can('list_lists')) await showLists();
});
