// The register of equipment: what is due, services, filters, in and out of service, its cases.

import { actions, buttonsThen, choices, named, orNone } from './controls.js';
import { byId, show, table } from './dom.js';
import { all, get, post, put } from './api.js';
import { count, day, instant, today } from './format.js';
import { form, withReason } from './forms.js';
import { dialog } from './shell.js';
import { findings } from './verdict.js';
import { t, word } from './texts.js';

const KINDS = ['generator', 'vibration_drive', 'smoke_evacuator', 'thermometer', 'other'];
const TYPES = ['contact', 'infrared_spot', 'infrared_camera'];

let places = [];

const placeField = (value = '') => ({ name: 'location_id', label: t('place'), choices: orNone(named(places)), required: false, value });
const labelField = (value = '') => ({ name: 'label', label: t('equipment.label'), hint: t('equipment.label.hint'), kind: 'scan', most: 200, required: false, value });

const add = () => form(t('equipment.add'), [
  { name: 'asset_number', label: t('equipment.asset'), hint: t('equipment.asset.hint'), most: 50 },
  { name: 'kind', label: t('equipment.kind'), choices: choices('equipment_kind', KINDS) },
  { name: 'thermometer_type', label: t('equipment.type'), choices: orNone(choices('thermometer_type', TYPES)), required: false },
  { name: 'name', label: t('people.name'), most: 200 }, { name: 'serial', label: t('serial'), most: 50, required: false },
  labelField(), placeField(),
], (values) => post('/v1/equipment', values));

const change = (row) => form(t('equipment.change'), [
  { name: 'name', label: t('people.name'), most: 200, value: row.name }, labelField(row.label), placeField(row.location_id),
], (values) => put(`/v1/equipment/${row.id}`, values, row.version));

const service = (row) => form(t('equipment.service'), [
  { name: 'kind', label: t('equipment.service.kind'), choices: choices('service', ['maintenance', 'calibration']) },
  { name: 'done_on', label: t('equipment.done_on'), kind: 'date', value: today() }, { name: 'due_on', label: t('equipment.due_on'), kind: 'date' },
  { name: 'done_by', label: t('equipment.done_by'), most: 200 }, { name: 'certificate', label: t('equipment.certificate'), most: 100, required: false },
  { name: 'as_found', label: t('equipment.as_found'), hint: t('equipment.as_found.hint'), choices: orNone(choices('as_found', ['in_tolerance', 'out_of_tolerance'])), required: false },
], (values) => post(`/v1/equipment/${row.id}/services`, values));

const filter = (row) => form(t('equipment.filter'), [
  { name: 'filter', label: t('equipment.filter.id'), most: 100 },
  { name: 'life_hours', label: t('equipment.life_hours'), most: 10, required: false },
  { name: 'life_cases', label: t('equipment.life_cases'), kind: 'number', required: false },
  { name: 'case_hours', label: t('equipment.case_hours'), most: 10, required: false },
], (values) => post(`/v1/equipment/${row.id}/filters`, values));

// Which cases and patients had it; each look is a ledger entry, so the first day is asked for first.
async function cases(row) {
  const last = row.services.find((one) => one.as_found === 'in_tolerance')?.done_on;
  const answer = await form(t('equipment.cases'), [
    { name: 'since', label: t('equipment.since'), hint: t('equipment.since.hint'), kind: 'date', required: false, value: last ?? '' },
  ], ({ since }) => get(`/v1/equipment/${row.id}/cases${since ? `?since=${since}` : ''}`));
  if (!answer) return;
  await dialog(row.described, table(t('equipment.cases'), [
    [t('stated.recorded_at'), (one) => instant(one.at)], [t('procedure'), (one) => one.procedure],
    [t('patient'), (one) => one.patient?.name ?? ''], [t('record_number'), (one) => one.patient?.record_number ?? ''],
  ], answer.cases, t('equipment.cases.none')), []);
}

const due = (row) => [
  row.calibration_due_on && `${t('equipment.calibrated')} ${day(row.calibration_due_on)}`,
  row.maintenance_due_on && `${t('equipment.maintained')} ${day(row.maintenance_due_on)}`,
  row.filter && `${t('equipment.filter.used')} ${row.filter.life_hours ? `${row.filter.hours_used} / ${row.filter.life_hours} h` : `${count(row.filter.cases_used)} / ${count(row.filter.life_cases)}`}`,
].filter(Boolean).join(' · ');

const act = buttonsThen(() => showEquipment());

function actionsOf(row) {
  const of = (needs, label, run) => act(label, () => run(row), { of: row.described, needs });
  return actions(
    of('record_service', t('equipment.service'), service),
    row.kind === 'smoke_evacuator' ? of('change_filter', t('equipment.filter'), filter) : null,
    row.out_of_service_since
      ? of('return_equipment', t('equipment.return'), () => withReason(t('equipment.return'), (values) => post(`/v1/equipment/${row.id}/return`, values, { version: row.version })))
      : of('take_out_of_service', t('equipment.out'), () => withReason(t('equipment.out'), (values) => post(`/v1/equipment/${row.id}/out-of-service`, values))),
    of('change_equipment', t('equipment.change'), change),
    of('show_equipment_cases', t('equipment.cases'), cases));
}

/** Fills the section of the equipment. */
export async function showEquipment() {
  places = await all('/v1/locations');
  const rows = await all('/v1/equipment');
  show(byId('equipment'), table(t('equipment'), [
    [t('equipment.asset'), (row) => row.asset_number],
    [t('people.name'), (row) => [row.name, row.serial && `${t('serial')} ${row.serial}`].filter(Boolean).join(', ')],
    [t('equipment.kind'), (row) => [word('equipment_kind', row.kind), row.thermometer_type && word('thermometer_type', row.thermometer_type)].filter(Boolean).join(', ')],
    [t('place'), (row) => row.location_name ?? ''],
    [t('equipment.due'), due],
    [t('findings'), (row) => (row.findings.length ? findings(row.findings) : '')],
    [t('shelf.actions'), actionsOf],
  ], rows, t('equipment.none')));
  show(byId('equipment-actions'), act(t('equipment.add'), add, { needs: 'add_equipment' }));
}
