// Drugs as their labels print them, and multi-dose vials: first puncture, last day, what is left.

import { buttonsThen, lotName } from './controls.js';
import { byId, show, table } from './dom.js';
import { all, post } from './api.js';
import { day, today } from './format.js';
import { form, itemOf, withReason } from './forms.js';
import { findings } from './verdict.js';
import { t, word } from './texts.js';

const STRENGTHS = ['percent', 'mg_per_ml', 'meq_per_ml', 'ratio'];
const label = () => ({ name: 'label', label: t('vial.label'), hint: t('equipment.label.hint'), kind: 'scan', most: 512 });

/** The strengths of a drug in words. */
export const strengths = (drug) => drug.strengths.map((one) => `${one.substance} ${one.mg_per_ml ? `${one.mg_per_ml} mg/mL` : `${one.meq_per_ml} mEq/mL`}`).join(', ');

// A line such as "lidocaine 1 percent" or "epinephrine 1:100000 ratio".
function strength(line) {
  const parts = line.split(/\s+/);
  const [kind, value] = [parts.pop(), parts.pop()];
  const known = STRENGTHS.find((one) => one === kind || word('strength', one) === kind);
  if (!known || !value || !parts.length) throw new Error(t('vial.strength_unread', { line }));
  return { substance: parts.join(' '), [known]: value };
}

const describe = () => form(t('vial.describe'), [
  label(), { name: 'volume_ml', label: t('vial.volume'), most: 10, required: false },
  { name: 'in_use_days', label: t('vial.in_use'), hint: t('vial.in_use.hint'), kind: 'number', required: false },
  { name: 'strengths', label: t('record.strength'), hint: t('vial.strengths.hint'), kind: 'long', list: true, most: 1000, required: false },
  { name: 'source', label: t('routine.source'), most: 200 },
], async ({ label: text, strengths: lines, ...facts }) => {
  const { product_id } = await itemOf(text);
  return post(`/v1/products/${product_id}/drug`, { ...facts, strengths: (lines ?? []).map(strength) });
});

const open = () => form(t('vial.open'), [
  label(), { name: 'name', label: t('vial.name'), hint: t('vial.name.hint'), most: 50 },
  { name: 'punctured_on', label: t('vial.punctured'), kind: 'date', value: today() },
  { name: 'volume_ml', label: t('vial.volume'), hint: t('vial.volume.hint'), most: 10, required: false },
], async ({ label: text, ...vial }) => {
  const { lot_id, unit_id } = await itemOf(text);
  return post('/v1/vials', { ...vial, lot_id, unit_id });
});

const discard = (row) => withReason(t('vial.discard'), (values) => post(`/v1/vials/${row.id}/discard`, values));

/** Fills the section of the vials. */
export async function showVials() {
  const [vials, drugs] = [await all('/v1/vials', { open: true }), await all('/v1/drugs')];
  const act = buttonsThen(showVials);
  show(byId('vials'),
    table(t('vials'), [
      [t('product'), (row) => row.product_name], [t('lot'), lotName], [t('vial.name'), (row) => row.name],
      [t('vial.punctured'), (row) => day(row.punctured_on)], [t('vial.last_day'), (row) => day(row.last_day)],
      [t('vial.left'), (row) => `${row.left_ml} / ${row.volume_ml}`, 'number'],
      [t('findings'), (row) => (row.findings.length ? findings(row.findings) : '')],
      [t('shelf.actions'), (row) => act(t('vial.discard'), () => discard(row), { of: `${row.product_name} ${row.name}`, needs: 'discard_vial' })],
    ], vials, t('vial.none')),
    table(t('vial.drugs'), [
      [t('product'), (row) => row.product_name], [t('record.strength'), strengths], [t('vial.volume'), (row) => row.volume_ml ?? ''],
      [t('vial.in_use'), (row) => row.in_use_days ?? ''], [t('routine.source'), (row) => row.source],
    ], drugs, t('vial.drugs.none')));
  show(byId('vial-actions'), act(t('vial.open'), open, { needs: 'open_vial' }), act(t('vial.describe'), describe, { needs: 'describe_drug' }));
}
