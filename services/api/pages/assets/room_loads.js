// Sterile processing: sterilizers, loads with their packs and indicators, release, cleaning, and
// how often a reusable product may be processed.

import { actions, button, buttonsThen, choices, named, orNone, select } from './controls.js';
import { byId, el, facts, field, placed, show, table } from './dom.js';
import { all, post } from './api.js';
import { separatorsOf } from './capture.js';
import { count, instant, instantHere, today, zoneName } from './format.js';
import { form, itemOf, withReason } from './forms.js';
import { can, dialog } from './shell.js';
import { t, word } from './texts.js';

let sterilizers = [];

const addSterilizer = () => form(t('sterilizer.add'), [
  { name: 'name', label: t('people.name'), most: 100 },
  { name: 'positive_policy', label: t('sterilizer.policy'), hint: t('sterilizer.policy.hint'), choices: choices('positive_policy', ['recall_suspect', 'decide_single_positive']) },
], (values) => post('/v1/sterilizers', values));

// A pack: its lot-control label, and the reusable pieces in it, a scanned label each line.
function packFields(number) {
  const inputs = { label: el('input', { name: 'label', maxlength: 50 }), name: el('input', { name: 'name', maxlength: 200 }), implant: el('input', { name: 'implant', type: 'checkbox' }), pieces: el('textarea', { name: 'unit_ids', rows: 3, maxlength: 4000 }) };
  const lines = separatorsOf(inputs.pieces);
  const content = el('fieldset', {}, el('legend', {}, t('load.pack', { number: count(number) })),
    field(t('load.pack.label'), inputs.label), field(t('load.pack.name'), inputs.name),
    el('label', { class: 'check' }, inputs.implant, ` ${t('load.pack.implant')}`), field(t('load.pieces'), inputs.pieces, t('load.pieces.hint')));
  const value = async () => {
    const units = [];
    for (const text of lines().split('\n').map((line) => line.trim()).filter(Boolean)) {
      const item = await itemOf(text);
      if (!item.unit_id) throw new Error(t('load.no_piece', { product: item.product_name }));
      units.push(item.unit_id);
    }
    return { label: inputs.label.value.trim(), name: inputs.name.value.trim(), implant: inputs.implant.checked, unit_ids: units };
  };
  return { content, value, empty: () => !inputs.label.value.trim() && !inputs.name.value.trim() && !inputs.pieces.value.trim() };
}

async function addLoad() {
  const cases = can('list_cases') ? await all('/v1/cases', { day: today() }) : [];
  const inputs = {
    sterilizer: select(named(sterilizers), { name: 'sterilizer_id' }), cycle: el('input', { name: 'cycle', maxlength: 50 }),
    kind: select(choices('load_kind', ['terminal', 'immediate_use']), { name: 'kind' }),
    one: select(orNone(cases.map((one) => [one.id, `${one.procedure}, ${instant(one.scheduled_for)}`])), { name: 'case_id' }),
    reason: el('input', { name: 'reason', maxlength: 500 }), started: el('input', { name: 'started_at', type: 'datetime-local' }),
    minutes: el('input', { name: 'exposure_minutes', maxlength: 10, inputmode: 'decimal' }), celsius: el('input', { name: 'exposure_celsius', maxlength: 10, inputmode: 'decimal' }),
  };
  const hints = { one: t('load.case.hint'), started: `${t('load.started.hint')} ${t('time.of_facility', { zone: zoneName() })}` };
  const labels = { sterilizer: t('sterilizer'), cycle: t('load.cycle'), kind: t('load.kind'), one: t('case'), reason: t('reason'), started: t('load.started'), minutes: t('load.minutes'), celsius: t('load.celsius') };
  const packs = [packFields(1)];
  const place = el('div', {}, packs[0].content);
  const more = button(t('load.pack.add'), () => {
    packs.push(packFields(packs.length + 1));
    place.append(packs.at(-1).content);
  });
  const content = el('div', { class: 'fields' }, Object.entries(inputs).map(([name, input]) => field(labels[name], input, hints[name])), el('p', { class: 'hint' }, t('load.packs.hint')), place, more);
  let now;
  const run = async () => {
    // The same one again, when it is sent again after an answer that did not come.
    now ??= new Date().toISOString();
    const filled = placed('packs', packs, packs.filter((one) => !one.empty()));
    const shown = [];
    for (const one of filled) shown.push(await one.value());
    return post('/v1/loads', {
      sterilizer_id: inputs.sterilizer.value, cycle: inputs.cycle.value.trim(), kind: inputs.kind.value,
      case_id: inputs.one.value || undefined, reason: inputs.reason.value.trim() || undefined,
      started_at: inputs.started.value ? instantHere(inputs.started.value) : now,
      exposure_minutes: inputs.minutes.value.trim(), exposure_celsius: inputs.celsius.value.trim(), packs: shown,
    });
  };
  return dialog(t('load.add'), content, [{ label: t('load.add'), primary: true, run }]);
}

async function indicator(row) {
  const read = await form(t('load.indicator'), [
    { name: 'kind', label: t('equipment.kind'), choices: choices('indicator', ['mechanical', 'chemical', 'biological']) },
    { name: 'result', label: t('load.result'), choices: choices('indicator_result', ['good', 'not_good', 'negative', 'positive']) },
    { name: 'repeat', label: t('load.repeat'), kind: 'check' },
  ], (values) => post(`/v1/loads/${row.id}/indicators`, values));
  if (read?.suspects?.length) {
    await dialog(t('load.suspects'), el('div', {}, el('p', { class: 'caution' }, t('load.suspects.why')), facts([
      [t('load.suspects'), read.suspects.map((one) => one.cycle).join(', ')], [t('load.reached'), count(read.reached.length)],
    ])), []);
  }
  return read;
}

const clean = () => form(t('load.clean'), [
  { name: 'label', label: t('load.piece'), hint: t('equipment.label.hint'), kind: 'scan', most: 512 },
  { name: 'flushed', label: t('load.flushed'), kind: 'check' }, { name: 'brush', label: t('load.brush'), most: 100 },
  { name: 'inspected', label: t('load.inspected'), kind: 'check' }, { name: 'remark', label: t('record.notes'), required: false },
], async ({ label, ...body }) => {
  const { unit_id } = await itemOf(label);
  return post('/v1/cleanings', { ...body, unit_id });
});

const limit = () => form(t('load.limit'), [
  { name: 'label', label: t('load.piece'), hint: t('equipment.label.hint'), kind: 'scan', most: 512 },
  { name: 'cycle_limit', label: t('load.limit.cycles'), hint: t('load.limit.hint'), kind: 'number', required: false },
  { name: 'source', label: t('routine.source'), most: 200 },
], async ({ label, ...body }) => {
  const { product_id } = await itemOf(label);
  return post(`/v1/products/${product_id}/processing`, body);
});

const act = buttonsThen(() => showLoads());

function loadActions(row) {
  const of = (needs, label, run) => act(label, run, { of: row.cycle, needs });
  return actions(
    of('record_indicator', t('load.indicator'), () => indicator(row)),
    row.released || row.held ? null : of('release_load', t('load.release'), () => post(`/v1/loads/${row.id}/release`, {}, { version: row.version })),
    row.held ? of('clear_load', t('load.clear'), () => withReason(t('load.clear'), (values) => post(`/v1/loads/${row.id}/clear`, values, { version: row.version }))) : null);
}

/** Fills the section of sterile processing. */
export async function showLoads() {
  sterilizers = await all('/v1/sterilizers');
  const loads = (can('list_loads') ? await all('/v1/loads') : []).reverse();
  const giveBack = (row) => post(`/v1/sterilizers/${row.id}/return`, {}, { version: row.version });
  const back = (row) => (row.out_of_service_since ? act(t('equipment.return'), () => giveBack(row), { of: row.name, needs: 'return_sterilizer' }) : null);
  const pieces = (pack) => pack.units.map((unit) => `${unit.product_name} ${unit.serial} (${count(unit.cycle)})`).join(', ');
  show(byId('loads'),
    table(t('sterilizers'), [
      [t('people.name'), (row) => row.name], [t('sterilizer.policy'), (row) => word('positive_policy', row.positive_policy)],
      [t('shelf.state'), (row) => (row.out_of_service_since ? t('sterilizer.out', { since: instant(row.out_of_service_since) }) : t('sterilizer.in'))],
      [t('shelf.actions'), back],
    ], sterilizers, t('sterilizer.none')),
    table(t('loads'), [
      [t('load.cycle'), (row) => `${row.sterilizer_name}, ${row.cycle}`], [t('load.kind'), (row) => word('load_kind', row.kind)],
      [t('load.started'), (row) => `${instant(row.started_at)}, ${row.exposure_minutes} min, ${row.exposure_celsius} °C`],
      [t('load.packs'), (row) => el('ul', {}, row.packs.map((pack) => el('li', {}, [`${pack.label} ${pack.name}`, pieces(pack)].filter(Boolean).join(': '))))],
      [t('load.indicators'), (row) => row.indicators.map((one) => `${word('indicator', one.kind)}: ${word('indicator_result', one.result)}`).join('; ')],
      [t('shelf.state'), (row) => [word('load_status', row.status), row.held?.reason].filter(Boolean).join(': ')],
      [t('shelf.actions'), loadActions],
    ], loads, t('load.none')));
  show(byId('load-actions'),
    sterilizers.length ? act(t('load.add'), addLoad, { needs: 'record_load' }) : null, act(t('load.clean'), clean, { needs: 'record_cleaning' }),
    act(t('load.limit'), limit, { needs: 'set_cycle_limit' }), act(t('sterilizer.add'), addSterilizer, { needs: 'add_sterilizer' }));
}
