// The shelf: receiving by scanning, what is where and until when, and what is on hold.

import { button, labelFacts, lotName, named, options, orNone } from './controls.js';
import { byId, el, show, table } from './dom.js';
import { all, post, saveCsv } from './api.js';
import { captureInto } from './capture.js';
import { columns } from './charts.js';
import { count, day, dayAfter, daysTo, instant, today } from './format.js';
import { withReason } from './forms.js';
import { counting } from './shelf_counts.js';
import { moving } from './shelf_moves.js';
import { sweeping } from './shelf_sweeps.js';
import { can, meanwhile, start, step } from './shell.js';
import { findings } from './verdict.js';
import { LANGUAGE, t, word } from './texts.js';

let stock = [];
let places = new Map();

// First expired, first out: the earliest outdate first, lots without one last.
function byOutdate(a, b) {
  return (a.expires_on ?? '9999').localeCompare(b.expires_on ?? '9999') || a.product_name.localeCompare(b.product_name);
}

function state(row) {
  if (row.held) return 'held';
  if (!row.expires_on) return 'undated';
  const days = daysTo(row.expires_on);
  return days < 0 ? 'past' : days <= 30 ? 'soon' : 'later';
}

function shownRows() {
  const [place, within] = [byId('place').value, byId('within').value];
  const fits = { '': () => true, past: (row) => row.expires_on && row.expires_on < today(), 30: (row) => row.expires_on && daysTo(row.expires_on) <= 30, held: (row) => row.held };
  return stock.filter((row) => row.quantity > 0 && (!place || row.location_id === place) && fits[within](row)).sort(byOutdate);
}

const stateMark = (row) => el('span', { class: `state ${state(row)}` }, t(`shelf.state.${state(row)}`, { days: row.expires_on ? count(daysTo(row.expires_on)) : '' }));

// Which lot of each product is to be taken first, second, ...: in date, not on hold, and not where
// held items wait.
function takingOrder() {
  const order = new Map();
  const lots = new Map();
  for (const row of stock.filter((one) => one.quantity > 0 && !one.held && places.get(one.location_id)?.kind !== 'quarantine' && (!one.expires_on || daysTo(one.expires_on) >= 0)).sort(byOutdate)) {
    const known = lots.get(row.product_id) ?? lots.set(row.product_id, []).get(row.product_id);
    if (!known.includes(row.lot_id)) known.push(row.lot_id);
    order.set(row, known.indexOf(row.lot_id) + 1);
  }
  return order;
}

const COLUMNS = () => [
  [t('product'), (row) => row.product_name],
  [t('lot'), lotName],
  [t('outdate'), (row) => (row.expires_on ? day(row.expires_on) : t('shelf.no_outdate')), 'date'],
  [t('shelf.state'), stateMark],
  [t('place'), (row) => row.location_name],
  [t('quantity'), (row) => count(row.quantity), 'number'],
];

const orderColumn = (order) => [t('shelf.order'), (row) => (order.has(row) ? t('shelf.order.of', { number: count(order.get(row)) }) : t('shelf.order.none')), 'number'];

function showStock() {
  const act = can('place_hold') ? [[t('shelf.actions'), actions]] : [];
  show(byId('stock'), stock.cut ? el('p', { class: 'caution' }, t('list.cut', { number: count(stock.length) })) : null,
    table(t('shelf.stock'), [...COLUMNS(), orderColumn(takingOrder()), ...act], shownRows(), t('shelf.empty')));
}

function actions(row) {
  return row.held ? null : button(t('shelf.hold'), () => hold(row), { 'aria-label': t('shelf.hold.of', { product: row.product_name, lot: row.lot ?? '' }) });
}

async function hold(row) {
  const what = el('p', {}, t('shelf.hold.what', { product: row.product_name, lot: lotName(row) }));
  const run = ({ reason }) => post('/v1/holds', { scope: 'lot', target_id: row.lot_id, reason });
  if (await withReason(t('shelf.hold'), run, what)) await load();
}

function monthName(month) {
  const date = new Date(`${month}-15T00:00:00Z`);
  const part = (options) => new Intl.DateTimeFormat(LANGUAGE, { ...options, timeZone: 'UTC' }).format(date);
  return [part({ month: 'short' }), part({ year: 'numeric' })];
}

// What is past, each of the next twelve months, the years after, and what has no outdate.
function showChart() {
  const first = today().slice(0, 7);
  const months = Array.from({ length: 12 }, (_, at) => dayAfter(`${first}-15`, Math.round(at * 30.44)).slice(0, 7));
  const years = [...new Set(stock.map((row) => row.expires_on?.slice(0, 4)).filter((year) => year > months[11].slice(0, 4)))].sort();
  const bars = new Map([
    ['past', { label: [t('shelf.chart.past')], value: 0, kind: 'past' }],
    ...months.map((month, at) => [month, { label: monthName(month), value: 0, kind: at < 1 ? 'soon' : 'later' }]),
    ['later', { label: [t('shelf.chart.later'), months[11].slice(0, 4)], value: 0, kind: 'later' }],
    ...years.map((year) => [year, { label: [t('shelf.chart.all_of'), year], value: 0, kind: 'later' }]),
    ['undated', { label: [t('shelf.chart.undated')], value: 0, kind: 'undated' }],
  ]);
  for (const row of stock) {
    const { expires_on: outdate } = row;
    const month = outdate?.slice(0, 7);
    const bar = !outdate ? 'undated' : outdate < today() ? 'past' : bars.has(month) ? month : bars.has(outdate.slice(0, 4)) ? outdate.slice(0, 4) : 'later';
    bars.get(bar).value += row.quantity;
  }
  show(byId('chart'), columns(t('shelf.chart'), [...bars.values()]));
}

async function showHolds() {
  const holds = await all('/v1/holds', { in_force: true });
  const names = new Map(stock.map((row) => [row.product_id, row.product_name]));
  const lots = new Map(stock.map((row) => [row.lot_id, row.lot]));
  const product = (row) => names.get(row.product_id) ?? t('shelf.hold.product', { id: row.product_id.slice(-6) });
  show(byId('holds'), table(t('shelf.holds'), [
    [t('product'), product],
    [t('shelf.hold.scope'), (row) => word('scope', row.scope)],
    [t('lot'), (row) => lots.get(row.lot_id) ?? ''],
    [t('reason'), (row) => row.reason],
    [t('shelf.hold.placed'), (row) => instant(row.placed_at)],
    [t('shelf.actions'), (row) => button(t('shelf.lift'), () => lift(row), { needs: 'lift_hold', 'aria-label': t('shelf.lift.of', { product: product(row) }) })],
  ], holds, t('shelf.holds.empty')));
}

async function lift(row) {
  const run = (values) => post(`/v1/holds/${row.id}/lift`, values, { version: row.version });
  if (await withReason(t('shelf.lift'), run)) await load();
}

async function load() {
  stock = await all('/v1/stock', {}, 20000);
  showStock();
  showChart();
  await showHolds();
}

// A place's own label chooses where the next packages go. Tells whether the stock changed.
async function receive(text) {
  const { location } = await post('/v1/readings', { text });
  if (location) {
    byId('to-place').value = location.id;
    return false;
  }
  const line = { text, quantity: Number(byId('quantity').value) || 1, location_id: byId('to-place').value };
  const receipt = await post('/v1/receipts', { lines: [line] });
  byId('quantity').value = 1;
  const shown = receipt.lines.map((one) => el('div', { class: `receipt ${one.findings.length ? 'look' : 'taken'}` },
    el('strong', {}, t('shelf.received', { quantity: count(one.units), product: one.product_name })),
    el('span', {}, labelFacts(one)),
    findings(one.findings)));
  byId('received').prepend(...shown);
  return true;
}

// One scan after another, in the order they were read: the next waits until the one before is done.
// What went wrong with one stays said while others wait behind it. The stock is read anew when none
// waits any more.
function inTurn() {
  let before = Promise.resolve();
  let waiting = 0;
  let [changed, failed] = [false, null];
  return (take) => {
    if (waiting === 0) [changed, failed] = [false, null];
    waiting += 1;
    before = before.then(() => step(async () => {
      try {
        if (await take()) changed = true;
        meanwhile(t('shelf.scanned_behind'));
      } catch (error) {
        changed = true;
        failed ??= error;
      }
      waiting -= 1;
      if (waiting === 0 && changed) await load();
      if (failed) throw failed;
    }));
  };
}

// What a scan means here: one kind of work at a time, the one chosen when it was read.
function work(kinds) {
  let current = null;
  const choose = (kind) => {
    current = kind;
    for (const one of kinds) {
      byId(one.name).hidden = one !== kind;
      one.button.setAttribute('aria-pressed', String(one === kind));
    }
    return kind.open?.();
  };
  for (const kind of kinds) kind.button = button(t(kind.label), () => choose(kind));
  if (kinds.length === 0) return;
  show(byId('modes'), ...kinds.map((kind) => kind.button));
  byId('work').hidden = false;
  const queue = inTurn();
  captureInto(byId('capture'), (text) => {
    const { take } = current;
    queue(() => take(text));
  });
  step(() => choose(kinds[0]));
}

start(async () => {
  const every = await all('/v1/locations');
  places = new Map(every.map((one) => [one.id, one]));
  for (const id of ['place', 'sweep-place']) show(byId(id), ...options(orNone(named(every), t('shelf.everywhere'))));
  for (const id of ['place', 'within']) byId(id).addEventListener('change', showStock);
  byId('print').addEventListener('click', () => print());
  byId('export').addEventListener('click', () => saveCsv('stock.csv', COLUMNS().slice(0, 3).concat(COLUMNS().slice(4)).map(([heading]) => heading),
    shownRows().map((row) => [row.product_name, row.lot, row.expires_on, row.location_name, row.quantity])));
  // Goods come in at a dock, or go to a shelf at once; a room is the exception.
  const order = ['dock', 'shelf', 'room'];
  const open = every.filter((one) => order.includes(one.kind)).sort((a, b) => order.indexOf(a.kind) - order.indexOf(b.kind));
  show(byId('to-place'), ...options(named(open)));
  show(byId('count-place'), ...options(named(every)));
  await load();
  work([
    can('record_receipt') && { name: 'receive', label: 'shelf.receive', take: receive },
    can('move_stock') && { name: 'move', label: 'shelf.move', ...moving(places) },
    can('count_shelf') && { name: 'count', label: 'shelf.count', ...counting(load) },
    can('sweep_stock') && { name: 'sweep', label: 'shelf.sweep', ...sweeping(places, () => stock, load) },
  ].filter(Boolean));
});
