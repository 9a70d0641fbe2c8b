// Equipment on a case and the energy that it gave: set up by choosing, taken back, how long it ran.

import { actions, limitText, orNone } from './controls.js';
import { el, facts, table } from './dom.js';
import { post } from './api.js';
import { count, instant } from './format.js';
import { form, withReason } from './forms.js';
import { dialog } from './shell.js';
import { findings, mark, sentence } from './verdict.js';
import { t, word } from './texts.js';

/** Says what a rule stopped, in a dialog; gives back what was judged. */
export async function told(judged) {
  if (judged?.verdict === 'stop') await dialog(word('verdict', 'stop'), findings(judged.findings), []);
  return judged;
}

/** The equipment of a case; `register` is the site's. */
export function equipmentOnCase({ items }, register, id, act) {
  const strike = (row) => withReason(t('station.strike'), ({ reason }) => post(`/v1/equipment/${row.equipment_id}/strike`, { case_id: id, reason }));
  const run = (row) => form(t('equipment.run'), [{ name: 'minutes', label: t('record.minutes'), most: 10 }],
    ({ minutes }) => post(`/v1/equipment/${row.equipment_id}/runs`, { case_id: id, minutes }));
  const free = register.filter((one) => !items.some((row) => row.on_case && row.equipment_id === one.id));
  const choose = () => form(t('equipment.set_up'), [
    { name: 'equipment_id', label: t('equipment'), choices: free.map((one) => [one.id, one.described]) },
  ], (values) => post(`/v1/cases/${id}/equipment`, values));
  const actionsOf = (row) => (row.on_case ? actions(
    act(t('equipment.run'), () => run(row), { of: row.described, needs: 'record_run' }),
    act(t('station.strike'), () => strike(row), { of: row.described, needs: 'strike_equipment' })) : null);
  return el('div', {}, table(t('equipment'), [
    [t('equipment'), (row) => row.described],
    [t('verdict'), (row) => mark(row.struck_reason ? 'struck' : row.verdict)],
    [t('findings'), (row) => row.struck_reason ?? row.findings.flatMap((one) => [sentence(one), ' '])],
    [t('stated.recorded_at'), (row) => instant(row.at)],
    [t('shelf.actions'), actionsOf],
  ], items, t('equipment.none_on_case')),
  free.length ? actions(act(t('equipment.set_up'), async () => told(await choose()), { needs: 'use_equipment' })) : null);
}

/** The energy log of a case with its sums. */
export function energyLog({ entries, active_seconds: seconds, gas_litre: litre, passes }) {
  const skin = (row) => (row.max_skin_celsius ? `${row.max_skin_celsius} °C, ${row.instrument ?? ''}` : '');
  return el('div', {}, table(t('record.energy', { number: count(entries.length) }), [
    [t('record.zone'), (row) => row.zone], [t('record.generator'), (row) => row.generator], [t('record.power'), (row) => row.power_percent, 'number'],
    [t('record.passes'), (row) => count(row.passes), 'number'], [t('record.seconds'), (row) => row.active_seconds, 'number'],
    [t('record.skin'), skin], [t('energy.outside'), (row) => row.outside.map(limitText).join('; ')], [t('record.notes'), (row) => row.notes ?? ''],
  ], entries, t('record.energy.none')), facts([[t('record.seconds'), seconds], [t('record.passes'), count(passes)], [t('record.gas.litre'), litre]]));
}

/** Asks for energy in one zone; `items` are on the case, `equipment` is what was set up there. */
export function addEnergy(path, items, equipment) {
  const of = (kind) => equipment.filter((one) => one.on_case && one.kind === kind).map((one) => [one.equipment_id, one.described]);
  const generators = of('generator');
  if (!items.length || !generators.length) return dialog(t('record.energy.add'), el('p', {}, t('record.energy.first')), []);
  return form(t('record.energy.add'), [
    { name: 'handpiece_scan_id', label: t('record.handpiece'), choices: items.map((one) => [one.id, `${one.product.name} ${one.unit?.serial ?? one.lot?.number ?? ''}`]) },
    { name: 'zone', label: t('record.zone'), most: 100 }, { name: 'generator_id', label: t('record.generator'), choices: generators },
    { name: 'power_percent', label: t('record.power'), most: 10 }, { name: 'litre_per_minute', label: t('record.flow'), most: 10, required: false },
    { name: 'passes', label: t('record.passes'), kind: 'number' }, { name: 'active_seconds', label: t('record.seconds'), most: 10 },
    { name: 'max_skin_celsius', label: t('record.skin'), most: 10, required: false },
    { name: 'instrument_id', label: t('record.instrument'), choices: orNone(of('thermometer')), required: false },
    { name: 'emissivity', label: t('record.emissivity'), most: 10, required: false }, { name: 'distance_cm', label: t('record.distance'), most: 10, required: false },
    { name: 'notes', label: t('record.notes'), required: false },
  ], (values) => post(`${path}/energy`, values));
}
