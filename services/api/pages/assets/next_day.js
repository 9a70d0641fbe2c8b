// The day before: whether the cases of a day can be set up, picking lists to print, and what a
// setup needs.

import { actions, button, buttonsThen, lotName, named, orNone } from './controls.js';
import { byId, el, show, table } from './dom.js';
import { Refused, all, get, post } from './api.js';
import { count, day, dayAfter, instant, today } from './format.js';
import { form } from './forms.js';
import { can, start, step } from './shell.js';
import { mark, reasonOf, sentence } from './verdict.js';
import { t, word } from './texts.js';

// A reason with what the rules say of each piece that was looked at.
function reason(one) {
  return el('li', { class: 'look' }, el('strong', {}, `${word('reason_kind', one.kind)}: `), reasonOf(one),
    (one.pieces ?? []).map((piece) => el('div', {}, `${piece.name}: `, piece.findings.flatMap((found) => [sentence(found), ' ']))));
}

async function showDay() {
  const asked = byId('day').value || dayAfter(today(), 1);
  byId('picking').hidden = true;
  const { cases } = await get(`/v1/readiness?day=${asked}`);
  const pick = (row) => button(t('next_day.picking'), () => showPicking(row.case), { of: row.case.procedure });
  const reasons = (row) => (row.ready ? t('next_day.ready') : el('ul', { class: 'findings' }, row.reasons.map(reason)));
  show(byId('cases'), table(`${t('next_day.cases')} ${day(asked)}`, [
    [t('procedure'), (row) => row.case.procedure],
    [t('next_day.planned'), (row) => `${instant(row.case.scheduled_for)}, ${row.case.location.name}`],
    [t('practitioner'), (row) => row.case.practitioner.name],
    [t('verdict'), (row) => (row.ready ? mark('taken', t('next_day.is_ready')) : mark('look'))],
    [t('next_day.reasons'), reasons],
    ...(can('show_picking') ? [[t('shelf.actions'), pick]] : []),
  ], cases, t('next_day.none')));
}

// What a line of a list asks for: a product, or any of a kind.
const lineName = (line) => (line.product_id ? line.name : word('product_kind', line.name));

// A list to take along: by the places' names, of each product the lot that expires first.
async function showPicking(one) {
  const picking = await get(`/v1/cases/${one.id}/picking`);
  const short = picking.lines.filter((line) => line.short > 0);
  const line = (row) => picking.lines[row.line];
  const lots = picking.from.map(({ lot_id, quantity }) => ({ lot_id, quantity }));
  const took = async () => {
    try {
      await post(`/v1/cases/${one.id}/picks`, { kind: 'picked', lines: lots }, { version: picking.version });
    } catch (error) {
      // Somebody else was there: what is still to be taken is another list.
      if (error instanceof Refused && error.status === 412) {
        await showPicking(one);
        throw new Error(t('next_day.changed'));
      }
      throw error;
    }
    await showDay();
    await showPicking(one);
  };
  show(byId('picking'), el('h2', {}, `${t('next_day.picking')}: ${one.procedure}, ${instant(one.scheduled_for)}`),
    picking.list_id ? null : el('p', { class: 'caution' }, t('next_day.no_list')),
    table(t('next_day.picking'), [
      [t('place'), (row) => row.location_name],
      [t('product'), (row) => (row.substitute ? [row.product_name, el('br'), el('strong', {}, t('next_day.substitute', { product: lineName(line(row)) }))] : row.product_name)],
      [t('lot'), lotName],
      [t('outdate'), (row) => (row.expires_on ? day(row.expires_on) : t('shelf.no_outdate')), 'date'],
      [t('next_day.take'), (row) => count(row.quantity), 'number'],
      [t('next_day.open_hold'), (row) => `${count(line(row).open)} / ${count(line(row).hold)}`, 'number'],
      [t('next_day.tick'), () => '☐', 'number'],
    ], picking.from, t('next_day.nothing')),
    short.length ? table(t('next_day.short'), [
      [t('product'), lineName], [t('next_day.open_hold'), (row) => `${count(row.open)} / ${count(row.hold)}`, 'number'],
      [t('next_day.taken'), (row) => count(row.taken), 'number'], [t('next_day.short'), (row) => count(row.short), 'number'],
    ], short, '') : null,
    actions(button(t('print'), async () => print()), lots.length ? button(t('next_day.took'), took, { needs: 'record_pick', primary: true }) : null));
  byId('picking').scrollIntoView();
}

// A line such as "2 + 1 Compression pad": to open, to hold, and the product as the catalogue names it.
async function item(line) {
  const found = /^(\d+)\s*(?:\+\s*(\d+))?\s+(.+)$/.exec(line);
  if (!found) throw new Error(t('next_day.line_unread', { line }));
  const [, open, hold, names] = found;
  const ids = [];
  for (const name of names.split('|').map((one) => one.trim())) {
    const products = await all('/v1/products', { q: name });
    const known = products.find((one) => one.name === name);
    if (!known) throw new Error(t('next_day.no_product', { name }));
    ids.push(known.id);
  }
  const [product, ...alternatives] = ids;
  return { product_id: product, open: Number(open), hold: Number(hold ?? 0), alternative_ids: alternatives };
}

async function addList() {
  const people = can('list_practitioners') ? await all('/v1/practitioners') : [];
  const equipment = ['generator', 'vibration_drive', 'smoke_evacuator', 'thermometer'];
  return form(t('next_day.add_list'), [
    { name: 'procedure', label: t('procedure'), most: 200 },
    { name: 'practitioner_id', label: t('practitioner'), choices: orNone(named(people), t('next_day.everybody')), required: false },
    { name: 'items', label: t('next_day.items'), hint: t('next_day.items.hint'), kind: 'long', list: true, most: 8000 },
    ...equipment.map((kind) => ({ name: kind, label: word('equipment_kind', kind), kind: 'check' })),
  ], async ({ procedure, practitioner_id, items: lines, ...needs }) => {
    const items = [];
    for (const line of lines) items.push(await item(line));
    return post('/v1/lists', { procedure, practitioner_id, items, equipment: equipment.filter((kind) => needs[kind]) });
  });
}

async function showLists() {
  const lists = await all('/v1/lists');
  const amount = (one, name) => el('li', {}, `${count(one.open)} + ${count(one.hold)} ${name}`);
  const items = (row) => el('ul', {},
    row.items.map((one) => amount(one, [one.product_id, ...one.alternative_ids].map((id) => row.product_names[id]).join(' | '))),
    row.kinds.map((one) => amount(one, word('product_kind', one.kind))));
  show(byId('lists'), table(t('next_day.lists'), [
    [t('procedure'), (row) => row.procedure],
    [t('practitioner'), (row) => (row.practitioner_id ? t('next_day.own') : t('next_day.everybody'))],
    [t('next_day.items'), items],
    [t('equipment'), (row) => row.equipment.map((kind) => word('equipment_kind', kind)).join(', ')],
  ], lists.reverse(), t('next_day.lists.none')));
  const act = buttonsThen(async () => {
    await showLists();
    await showDay();
  });
  show(byId('list-actions'), act(t('next_day.add_list'), addList, { needs: 'add_list' }));
}

start(async () => {
  byId('print').addEventListener('click', () => print());
  byId('day').value = dayAfter(today(), 1);
  byId('day').addEventListener('change', () => step(showDay));
  if (can('show_readiness')) await showDay();
  byId('lists-section').hidden = !can('list_lists');
  if (can('list_lists')) await showLists();
});
