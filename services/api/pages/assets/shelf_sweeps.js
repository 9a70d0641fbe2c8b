// Taking what expires off the shelf: the list of what is due, and what becomes of it.

import { actions, button, choices, lotName, named } from './controls.js';
import { byId, el, printOnly, show, table } from './dom.js';
import { post } from './api.js';
import { count, day, daysTo, instant } from './format.js';
import { form, witnessField } from './forms.js';
import { step } from './shell.js';
import { t } from './texts.js';

/** The work of sweeping; `stock` gives what is on hand and `again` reads it anew. */
export function sweeping(places, stock, again) {
  const within = () => Number(byId('sweep-within').value) || 0;
  let left = new Set();

  function due() {
    const place = byId('sweep-place').value;
    return stock().filter((row) => row.quantity > 0 && row.expires_on && daysTo(row.expires_on) < within()
      && (!place || row.location_id === place) && places.get(row.location_id)?.kind !== 'quarantine');
  }

  function open() {
    left = new Set();
    const rows = due();
    const pick = (row) => {
      const box = el('input', { type: 'checkbox', 'aria-label': t('shelf.sweep.take.of', { product: row.product_name, lot: row.lot ?? '' }), onchange: () => (box.checked ? left.delete(row) : left.add(row)) });
      box.checked = true;
      return box;
    };
    show(byId('due'), table(t('shelf.sweep.due'), [
      [t('product'), (row) => row.product_name], [t('lot'), lotName], [t('outdate'), (row) => day(row.expires_on), 'date'],
      [t('place'), (row) => row.location_name], [t('quantity'), (row) => count(row.quantity), 'number'], [t('shelf.sweep.take'), pick],
    ], rows, t('shelf.sweep.none')),
    rows.length ? actions(button(t('shelf.sweep.now'), () => sweep(rows), { primary: true }), button(t('print'), () => printOnly('work'))) : null);
  }

  async function sweep(rows) {
    const stockTaken = rows.filter((row) => !left.has(row)).slice(0, 200);
    if (stockTaken.length === 0) throw new Error(t('shelf.sweep.none_chosen'));
    const quarantines = [...places.values()].filter((place) => place.kind === 'quarantine');
    const outcomes = ['quarantined', 'sent_back', 'destroyed'].filter((one) => one !== 'quarantined' || quarantines.length);
    const fields = [
      { name: 'disposition', label: t('shelf.sweep.becomes'), choices: choices('sweep', outcomes) },
      quarantines.length ? { name: 'to_id', label: t('shelf.sweep.quarantine'), choices: named(quarantines) } : null,
      await witnessField(),
      { name: 'note', label: t('shelf.sweep.note'), most: 200 },
    ].filter(Boolean);
    const run = ({ disposition, to_id: to, witness_id: witness, note }) => post('/v1/stock/sweeps', {
      within_days: within(), stock: stockTaken.map((row) => ({ lot_id: row.lot_id, location_id: row.location_id })), disposition, note,
      to_id: disposition === 'quarantined' ? to : undefined, witness_id: disposition === 'destroyed' ? witness : undefined,
    });
    const swept = await form(t('shelf.sweep.now'), fields, run);
    if (!swept) return;
    await again();
    show(byId('due'), el('p', {}, el('strong', {}, t('shelf.sweep.done', { at: instant(swept.swept_at) }))), table(t('shelf.sweep.taken'), [
      [t('product'), (row) => row.product_name], [t('lot'), lotName], [t('serial'), (row) => row.serial ?? ''],
      [t('outdate'), (row) => day(row.expires_on), 'date'], [t('shelf.sweep.stood'), (row) => places.get(row.location_id).name], [t('quantity'), (row) => count(row.quantity), 'number'],
    ], swept.lines, ''), actions(button(t('print'), () => printOnly('work'))));
  }

  const take = async () => {
    throw new Error(t('shelf.sweep.no_scan'));
  };
  for (const id of ['sweep-within', 'sweep-place']) byId(id).addEventListener('change', () => step(async () => open()));
  return { open: async () => open(), take };
}
