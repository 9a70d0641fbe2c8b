// Gas cylinders: putting a fill on record from its label, stamps and gauge, and what is left.

import { actions, buttonsThen, choices, lotName } from './controls.js';
import { byId, el, show, table } from './dom.js';
import { all, post } from './api.js';
import { day, today } from './format.js';
import { form, itemOf } from './forms.js';
import { can } from './shell.js';
import { findings } from './verdict.js';
import { t, word } from './texts.js';

const number = (name, label, value = '', required = true) => ({ name, label, value, required, most: 10, mode: 'decimal' });

const add = () => form(t('cylinder.add'), [
  { name: 'label', label: t('cylinder.label'), hint: t('equipment.label.hint'), kind: 'scan', most: 512 },
  { name: 'gas', label: t('cylinder.gas'), choices: choices('gas', ['helium', 'other']) },
  { name: 'name_read_back', label: t('cylinder.read_back'), hint: t('cylinder.read_back.hint'), most: 200 },
  { name: 'filled_on', label: t('cylinder.filled_on'), kind: 'date', value: today() },
  number('water_volume_litre', t('cylinder.water_volume')), number('service_psi', t('cylinder.service')),
  { name: 'plus', label: t('cylinder.plus'), kind: 'check' },
  { name: 'retest_month', label: t('cylinder.retest'), hint: t('cylinder.retest.hint'), kind: 'date' },
  { name: 'star', label: t('cylinder.star'), kind: 'check' },
  number('gauge_accuracy_percent', t('cylinder.accuracy'), '2'), number('gauge_full_scale_psi', t('cylinder.scale'), '3000'),
  number('reserve_psi', t('cylinder.reserve'), '200'), number('expected_litre', t('cylinder.expected'), '', false),
], async ({ label, ...fill }) => {
  const { lot_id, unit_id } = await itemOf(label);
  return post('/v1/cylinders', { ...fill, lot_id, unit_id });
});

const gauge = (row) => form(t('record.gauge'), [
  number('gauge_psi', t('record.psi')), number('celsius', t('record.celsius')), number('litre_per_minute', t('record.flow'), '', false),
], (values) => post(`/v1/cylinders/${row.id}/gauge`, values));

/** Fills the section of the cylinders. */
export async function showCylinders() {
  const rows = await all('/v1/cylinders');
  const left = (row) => (row.left ? `${row.left.litre} L (${row.left.litre_low} – ${row.left.litre_high})` : t('record.not_computed'));
  const named = (row) => `${row.product_name} ${row.serial ?? row.lot ?? ''}`;
  const act = buttonsThen(showCylinders);
  const actionsOf = (row) => actions(
    act(t('record.gauge'), () => gauge(row), { of: named(row), needs: 'record_gauge' }),
    can('show_cylinder_label') ? el('a', { class: 'button', href: `/v1/cylinders/${row.id}/label?format=pdf`, 'aria-label': `${t('record.label')}: ${named(row)}` }, t('record.label')) : null);
  show(byId('cylinders'), table(t('cylinders'), [
    [t('product'), (row) => row.product_name],
    [t('serial'), (row) => row.serial ?? ''], [t('lot'), lotName],
    [t('outdate'), (row) => (row.expires_on ? day(row.expires_on) : ''), 'date'],
    [t('cylinder.retest_due'), (row) => day(row.retest_due_on)],
    [t('cylinder.state'), (row) => (row.state ? word('cylinder_state', row.state) : t('record.not_computed'))],
    [t('record.left'), left],
    [t('findings'), (row) => (row.findings.length ? findings(row.findings) : '')],
    [t('shelf.actions'), actionsOf],
  ], rows, t('record.gas.none')), rows[0] ? el('p', { class: 'caution' }, t('caution.figures')) : null);
  show(byId('cylinder-actions'), act(t('cylinder.add'), add, { needs: 'add_cylinder' }));
}
