// The site's settings and end points of energy, each with its source: written down, ended with a
// reason. Entries of the energy log are compared with those that counted at their time.

import { buttonsThen, choices, limitText, orNone } from './controls.js';
import { byId, show, table } from './dom.js';
import { get, post } from './api.js';
import { day, dayOf } from './format.js';
import { form, withReason } from './forms.js';
import { t, word } from './texts.js';

const VALUES = ['power_percent', 'litre_per_minute', 'passes', 'active_seconds', 'max_skin_celsius'];
const THERMOMETERS = ['contact', 'infrared_spot', 'infrared_camera'];

const add = () => form(t('energy.limit.add'), [
  { name: 'value', label: t('energy.limit.value'), choices: choices('energy_value', VALUES) },
  { name: 'least', label: t('energy.limit.least'), most: 10, required: false }, { name: 'most', label: t('energy.limit.most'), most: 10, required: false },
  { name: 'zone', label: t('record.zone'), most: 100, required: false, hint: t('energy.limit.zone.hint') },
  { name: 'thermometer_type', label: t('energy.limit.thermometer'), choices: orNone(choices('thermometer_type', THERMOMETERS)), required: false, hint: t('energy.limit.thermometer.hint') },
  { name: 'source', label: t('routine.source'), most: 200 },
], (values) => post('/v1/energy-limits', values));

const end = (one) => withReason(t('energy.limit.end'), (values) => post(`/v1/energy-limits/${one.id}/end`, values));

/** Fills the section of the settings and end points of energy. */
export async function showEnergyLimits() {
  const { items } = await get('/v1/energy-limits');
  const act = buttonsThen(showEnergyLimits);
  const state = (one) => (one.ended_at
    ? t('energy.limit.ended', { day: day(dayOf(one.ended_at)), reason: one.end_reason })
    : act(t('energy.limit.end'), () => end(one), { of: limitText(one), needs: 'end_energy_limit' }));
  show(byId('energy-limits'), table(t('energy.limits'), [
    [t('energy.limit.value'), (one) => word('energy_value', one.value)],
    [t('energy.limit.least'), (one) => one.least ?? '', 'number'], [t('energy.limit.most'), (one) => one.most ?? '', 'number'],
    [t('record.zone'), (one) => one.zone ?? ''], [t('energy.limit.thermometer'), (one) => (one.thermometer_type ? word('thermometer_type', one.thermometer_type) : '')],
    [t('routine.source'), (one) => one.source], [t('shelf.actions'), state],
  ], items, t('energy.limit.none')));
  show(byId('energy-limit-actions'), act(t('energy.limit.add'), add, { needs: 'add_energy_limit' }));
}
