// Counting a place: what the record says is there, what was found, and taking over the difference.

import { byId, el, printOnly, show, table } from './dom.js';
import { get, post } from './api.js';
import { count, day } from './format.js';
import { form } from './forms.js';
import { whatIs } from './shelf_moves.js';
import { can, step } from './shell.js';
import { t } from './texts.js';
import { sentenceOf } from './verdict.js';

const COLUMNS = () => [
  [t('product'), (row) => row.product_name],
  [t('lot'), (row) => row.lot ?? t('lot.not_recorded')],
  [t('serial'), (row) => row.serial ?? ''],
  [t('outdate'), (row) => (row.expires_on ? day(row.expires_on) : t('shelf.no_outdate'))],
  [t('shelf.count.expected'), (row) => count(row.expected), 'number'],
];

const button = (label, run, attributes = {}) => el('button', { type: 'button', ...attributes, onclick: (event) => step(run, event.currentTarget) }, label);

/** The work of counting; `again` reads the stock anew. */
export function counting(again) {
  let scanned = [];

  async function open() {
    scanned = [];
    showScanned();
    const place = byId('count-place').value;
    const sheet = await get(`/v1/locations/${place}/sheet`);
    // Another place was chosen meanwhile.
    if (byId('count-place').value !== place) return;
    // Empty until somebody counted; a piece is there or not. Enter leaves the number, so that the next scan is one.
    const inputs = sheet.lines.map((row) => el('input', { type: 'number', min: 0, max: row.unit_id ? 1 : 1000000, 'data-own': '', onkeydown: (event) => { if (event.key === 'Enter') event.currentTarget.blur(); }, 'aria-label': t('shelf.count.of', { product: row.product_name, lot: row.lot ?? '', serial: row.serial ?? '' }) }));
    const at = new Map(sheet.lines.map((row, line) => [row, inputs[line]]));
    show(byId('sheet'),
      table(t('shelf.count.sheet', { place: sheet.location.name }), [...COLUMNS(), [t('shelf.count.found'), (row) => at.get(row)]], sheet.lines, t('shelf.empty')),
      el('p', { class: 'caution' }, t('shelf.count.rest')),
      el('div', { class: 'actions' }, button(t('shelf.count.record'), () => record(place, sheet, inputs), { class: 'primary' }), button(t('print'), () => printOnly('work'))));
  }

  async function record(place, sheet, inputs) {
    const typed = sheet.lines.map((row, line) => ({ item: { lot_id: row.lot_id, unit_id: row.unit_id }, counted: Number(inputs[line].value) }));
    const read = scanned.map((one) => ({ item: { text: one.text }, counted: one.number }));
    const counted = await post(`/v1/locations/${place}/counts`, { lines: [...typed.filter((one) => one.counted > 0), ...read] });
    scanned = [];
    showScanned();
    showCount(counted);
  }

  function showCount(counted) {
    const open = counted.lines.filter((row) => row.difference !== 0 && !row.adjusted);
    const what = (row) => (row.adjusted ? t('shelf.count.adjusted', { reason: row.adjusted.reason }) : '');
    const differing = counted.lines.filter((row) => row.difference !== 0);
    const take = async () => {
      const body = ({ reason }) => post(`/v1/counts/${counted.id}/adjust`, { lines: open.slice(0, 200).map((row) => row.line), reason });
      const adjusted = await form(t('shelf.count.adjust'), [{ name: 'reason', label: t('reason') }], body);
      if (!adjusted) return;
      showCount(adjusted);
      await again();
    };
    show(byId('sheet'),
      el('p', {}, el('strong', {}, differing.length ? t('shelf.count.differs', { number: count(differing.length), place: counted.location_name }) : t('shelf.count.agrees', { place: counted.location_name }))),
      table(t('shelf.count.differences'), [...COLUMNS(), [t('shelf.count.found'), (row) => count(row.counted), 'number'], [t('record.difference'), (row) => count(row.difference), 'number'], [t('shelf.count.record_now'), what]], differing, t('shelf.count.none')),
      el('div', { class: 'actions' },
        open.length && can('adjust_stock') ? button(t('shelf.count.adjust'), take, { class: 'primary' }) : null,
        button(t('shelf.count.again'), open), button(t('print'), () => printOnly('work'))));
  }

  function showScanned() {
    show(byId('scanned'), scanned.length ? el('ul', { class: 'scans' }, scanned.map((one) => el('li', {}, el('div', { class: 'grow' }, el('strong', {}, one.what), el('span', {}, t('shelf.count.times', { number: count(one.number) })))))) : null);
  }

  async function take(text) {
    const reading = await post('/v1/readings', { text });
    if (reading.location) {
      byId('count-place').value = reading.location.id;
      await open();
      return;
    }
    if (reading.error) throw new Error(sentenceOf({ slug: 'unread', variant: reading.error.code, sentence: reading.error.message }));
    const known = scanned.find((one) => one.text === text);
    if (known) known.number += 1;
    else scanned.push({ text, number: 1, what: whatIs(reading) });
    showScanned();
  }

  byId('count-place').addEventListener('change', () => step(open));
  return { open, take };
}
