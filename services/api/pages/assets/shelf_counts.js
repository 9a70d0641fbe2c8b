// Counting a place: what the record says is there, what was found, and taking over the difference.

import { actions, button, lotName } from './controls.js';
import { byId, el, printOnly, show, table } from './dom.js';
import { get, post } from './api.js';
import { count, day } from './format.js';
import { withReason } from './forms.js';
import { readingOf, whatIs } from './shelf_moves.js';
import { step } from './shell.js';
import { t } from './texts.js';

const COLUMNS = () => [
  [t('product'), (row) => row.product_name],
  [t('lot'), lotName],
  [t('serial'), (row) => row.serial ?? ''],
  [t('outdate'), (row) => (row.expires_on ? day(row.expires_on) : t('shelf.no_outdate')), 'date'],
  [t('shelf.count.expected'), (row) => count(row.expected), 'number'],
];

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
    // Empty until somebody counted; a piece is there or not.
    const inputs = sheet.lines.map((row) => el('input', { type: 'number', min: 0, max: row.unit_id ? 1 : 1000000, 'aria-label': t('shelf.count.of', { product: row.product_name, lot: row.lot ?? '', serial: row.serial ?? '' }) }));
    const at = new Map(sheet.lines.map((row, line) => [row, inputs[line]]));
    show(byId('sheet'),
      table(t('shelf.count.sheet', { place: sheet.location.name }), [...COLUMNS(), [t('shelf.count.found'), (row) => at.get(row)]], sheet.lines, t('shelf.empty')),
      el('p', { class: 'caution' }, t('shelf.count.rest')),
      actions(button(t('shelf.count.record'), () => record(place, sheet, inputs), { primary: true }), button(t('print'), () => printOnly('work'))));
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
    const what = (row) => (row.adjusted ? t('shelf.count.adjusted', { reason: row.adjusted.reason }) : '');
    const differing = counted.lines.filter((row) => row.difference !== 0);
    const standing = differing.filter((row) => !row.adjusted);
    const take = async () => {
      const run = ({ reason }) => post(`/v1/counts/${counted.id}/adjust`, { lines: standing.slice(0, 200).map((row) => row.line), reason });
      const adjusted = await withReason(t('shelf.count.adjust'), run);
      if (!adjusted) return;
      showCount(adjusted);
      await again();
    };
    show(byId('sheet'),
      el('p', {}, el('strong', {}, differing.length ? t('shelf.count.differs', { number: count(differing.length), place: counted.location_name }) : t('shelf.count.agrees', { place: counted.location_name }))),
      table(t('shelf.count.differences'), [...COLUMNS(), [t('shelf.count.found'), (row) => count(row.counted), 'number'], [t('record.difference'), (row) => count(row.difference), 'number'], [t('shelf.count.record_now'), what]], differing, t('shelf.count.none')),
      actions(
        standing.length ? button(t('shelf.count.adjust'), take, { needs: 'adjust_stock', primary: true }) : null,
        button(t('shelf.count.again'), open), button(t('print'), () => printOnly('work'))));
  }

  function showScanned() {
    show(byId('scanned'), scanned.length ? el('ul', { class: 'scans' }, scanned.map((one) => el('li', {}, el('div', { class: 'grow' }, el('strong', {}, one.what), el('span', {}, t('shelf.count.times', { number: count(one.number) })))))) : null);
  }

  async function take(text) {
    const reading = await readingOf(text);
    if (reading.location) {
      byId('count-place').value = reading.location.id;
      await open();
      return;
    }
    const known = scanned.find((one) => one.text === text);
    if (known) known.number += 1;
    else scanned.push({ text, number: 1, what: whatIs(reading) });
    showScanned();
  }

  byId('count-place').addEventListener('change', () => step(open));
  return { open, take };
}
