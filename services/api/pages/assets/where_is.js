// From a lot, a serial or a scanned label to patients, cases and places.

import { actions, button } from './controls.js';
import { byId, el, facts, show, table } from './dom.js';
import { get, query, saveCsv } from './api.js';
import { count, instant } from './format.js';
import { genealogy } from './genealogy.js';
import { placeNames, start, step } from './shell.js';
import { separatorsOf } from './capture.js';
import { t, word } from './texts.js';

function patientName(item) {
  return item.patient ? `${item.patient.name} (${item.patient.record_number})` : t('patient.by_id', { id: item.patient_id.slice(-6) });
}

function lotName(answer, id) {
  const lot = answer.lots.find((one) => one.id === id);
  return lot?.number ?? t('lot.not_recorded');
}

function shown(answer, places) {
  const { counts, product } = answer;
  const classOf = (row) => word('class', row.class);
  const lot = (row) => lotName(answer, row.lot_id);
  const columns = {
    items: [
      [t('patient'), patientName],
      [t('case'), (row) => `${row.procedure}, ${instant(row.scheduled_for)}`],
      [t('class'), classOf],
      [t('lot'), lot],
      [t('disposition'), (row) => word('disposition', row.disposition)],
      [t('taken_at'), (row) => instant(row.taken_at)],
    ],
    on_hand: [
      [t('place'), (row) => row.location],
      [t('lot'), lot],
      [t('class'), classOf],
      [t('quantity'), (row) => count(row.quantity), 'number'],
    ],
    receipts: [
      [t('received_at'), (row) => instant(row.received_at)],
      [t('place'), (row) => places.get(row.location_id) ?? ''],
      [t('lot'), lot],
      [t('class'), classOf],
      [t('quantity'), (row) => count(row.quantity), 'number'],
      [t('receipt.open'), (row) => (row.open ? t('yes') : t('no'))],
    ],
    stopped: [
      [t('scanned_at'), (row) => instant(row.occurred_at)],
      [t('lot'), lot],
      [t('class'), classOf],
      [t('findings'), (row) => row.findings.map((slug) => word('rule', slug)).join(', ')],
    ],
  };
  const section = (name, empty) => el('section', {}, el('h2', {}, t(`where_is.${name}`)),
    table(t(`where_is.${name}`), columns[name], answer[name], empty));
  const tile = (name, value) => el('div', { class: 'tile' }, el('strong', {}, count(value)), el('span', {}, name));
  const onHand = answer.on_hand.reduce((sum, row) => sum + row.quantity, 0);
  const exportCsv = async () => saveCsv('where-is.csv', columns.items.map(([heading]) => heading),
    answer.items.map((row) => columns.items.map(([, content]) => content(row))));
  return [
    el('h2', {}, product ? product.name : t('where_is.unknown_product')),
    facts([
      [t('maker'), product && `${product.maker} ${product.model}`],
      [t('identifiers'), answer.identifiers.join(', ')],
      [t('lot'), answer.lot],
      [t('serial'), answer.serial],
    ]),
    el('div', { class: 'tiles' },
      tile(t('where_is.patients'), counts.patients),
      tile(t('where_is.cases'), counts.cases),
      tile(t('class.affected'), counts.affected),
      tile(t('class.cannot_exclude'), counts.cannot_exclude),
      tile(t('where_is.on_hand_units'), onHand)),
    counts.cannot_exclude > 0 ? el('p', { class: 'caution' }, t('where_is.cannot_exclude')) : null,
    genealogy(answer, { patientName, lotName }),
    actions(button(t('print'), async () => print()), button(t('export_csv'), exportCsv, { disabled: answer.items.length === 0 })),
    section('items', t('where_is.items.empty')),
    section('on_hand', t('where_is.on_hand.empty')),
    section('receipts', t('where_is.receipts.empty')),
    section('stopped', t('where_is.stopped.empty')),
  ];
}

start(async () => {
  const places = await placeNames();
  const identifier = byId('identifier');
  const text = separatorsOf(identifier);
  byId('ask').addEventListener('submit', (event) => {
    event.preventDefault();
    step(async () => {
      show(byId('answer'), el('p', {}, t('looking')));
      const parts = { identifier: text(), lot: byId('lot').value.trim(), serial: byId('serial').value.trim() };
      try {
        show(byId('answer'), shown(await get(`/v1/where-used${query(parts)}`), places));
      } catch (error) {
        byId('answer').replaceChildren();
        throw error;
      }
    }, event.submitter);
  });
  identifier.focus();
});
