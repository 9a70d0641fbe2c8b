// The site's routine checks: what is due today, what was missed, recording one, the list itself.

import { actions, buttonsThen, choices, named, orNone, select } from './controls.js';
import { byId, el, field, show, table } from './dom.js';
import { all, get, post } from './api.js';
import { count, day, instant, instantHere, zoneName } from './format.js';
import { form, withReason } from './forms.js';
import { dialog } from './shell.js';
import { t, word } from './texts.js';

let places = [];

// A line such as "Temperature: 2..8 °C", "Seal intact: yes" or "Seal number".
function asked(line) {
  const [name, ...rest] = line.split(':');
  const what = rest.join(':').trim();
  const range = /^(-?[\d.]+)?\s*\.\.\s*(-?[\d.]+)?\s*(.*)$/.exec(what);
  if (range) return { name: name.trim(), kind: 'number', low: range[1], high: range[2], unit: range[3] || undefined };
  return { name: name.trim(), kind: what === t('yes') || what === 'yes' ? 'yes_no' : 'text' };
}

const add = () => form(t('routine.add'), [
  { name: 'name', label: t('routine.what'), most: 200 },
  { name: 'location_id', label: t('place'), choices: orNone(named(places)), required: false },
  { name: 'every', label: t('routine.every'), choices: choices('every', ['day', 'operating_day', 'week', 'month']) },
  { name: 'two_people', label: t('routine.two_people'), kind: 'check' },
  { name: 'values', label: t('routine.values'), hint: t('routine.values.hint'), kind: 'long', list: true, most: 4000 },
  { name: 'source', label: t('routine.source'), most: 200 },
], ({ values, ...body }) => post('/v1/routines', { ...body, values: values.map(asked) }));

const limits = (one) => [one.low ?? '', '–', one.high ?? '', one.unit ?? ''].join(' ').trim();

// One field for each value, with its limits; what was done is asked for when one lies outside.
async function record(row) {
  const inputs = row.values.map((one, at) => {
    const name = `values/${at}`;
    if (one.kind === 'yes_no') return select([['yes', t('yes')], ['no', t('no')]], { name });
    return el('input', { name, maxlength: 100, autocomplete: 'off', inputmode: one.kind === 'number' ? 'decimal' : null });
  });
  const [action, when] = [el('input', { name: 'action', maxlength: 500, autocomplete: 'off' }), el('input', { name: 'done_at', type: 'datetime-local' })];
  const content = el('div', { class: 'fields' },
    row.values.map((one, at) => field(one.name, inputs[at], one.kind === 'number' && (one.low || one.high) ? t('routine.limits', { limits: limits(one) }) : null)),
    field(t('routine.action'), action, t('routine.action.hint')), field(t('routine.done_at'), when, `${t('routine.done_at.hint')} ${t('time.of_facility', { zone: zoneName() })}`));
  const run = () => post(`/v1/routines/${row.id}/records`, {
    values: row.values.map((one, at) => ({ name: one.name, value: inputs[at].value.trim() })),
    action: action.value.trim() || undefined,
    done_at: when.value ? instantHere(when.value) : undefined,
  });
  return dialog(row.name, content, [{ label: t('routine.record'), primary: true, run }]);
}

async function records(row) {
  const rows = await all(`/v1/routines/${row.id}/records`);
  await dialog(row.name, table(t('routine.records'), [
    [t('routine.done_at'), (one) => instant(one.done_at)],
    [t('routine.values'), (one) => one.values.map((found) => `${found.name}: ${found.value}`).join('; ')],
    [t('routine.action'), (one) => [one.out_of_limits && t('routine.out_of_limits'), one.action].filter(Boolean).join(': ')],
    [t('routine.written'), (one) => [instant(one.recorded_at), one.late && word('period', 'late')].filter(Boolean).join(', ')],
    [t('record.second'), (one) => (one.confirmed_at ? instant(one.confirmed_at) : '')],
  ], rows.reverse(), t('routine.records.none')), []);
}

const end = (row) => withReason(t('routine.end'), (values) => post(`/v1/routines/${row.id}/end`, values));

const confirm = (row, id) => post(`/v1/routines/${row.id}/records/${id}/confirm`, {});

const span = (one) => (one.first_on === one.last_on ? day(one.last_on) : `${day(one.first_on)} – ${day(one.last_on)}`);
const state = (name) => el('span', { class: `state ${{ done: 'later', due: 'soon', late: 'undated', unconfirmed: 'soon', missed: 'past' }[name]}` }, word('period', name));

const act = buttonsThen(() => showRoutines());

function actionsOf(row, today) {
  const of = (needs, label, run) => act(label, () => run(row), { of: row.name, needs });
  const waits = row.periods.filter((one) => one.unconfirmed_record_id).at(-1);
  return actions(
    row.ended_on ? null : of('record_routine', t('routine.record'), record),
    waits && waits.state === 'unconfirmed' ? of('confirm_routine', `${t('record.confirm')} ${waits.last_on < today ? day(waits.last_on) : ''}`.trim(), () => confirm(row, waits.unconfirmed_record_id)) : null,
    of('list_routine_records', t('routine.records'), records),
    row.ended_on ? null : of('end_routine', t('routine.end'), end));
}

/** Fills the section of the routine checks. */
export async function showRoutines() {
  places = await all('/v1/locations');
  const { items, today } = await get('/v1/routines');
  const now = (row) => row.periods.find((one) => one.first_on <= today && today <= one.last_on);
  const missed = items.flatMap((row) => row.periods.filter((one) => one.state === 'missed').map((one) => ({ row, one })));
  show(byId('routines'),
    table(t('routine.checks'), [
      [t('routine.what'), (row) => row.name],
      [t('place'), (row) => row.location_name ?? ''],
      [t('routine.every'), (row) => [word('every', row.every), row.two_people && t('routine.by_two')].filter(Boolean).join(', ')],
      [t('routine.now'), (row) => (now(row) ? [state(now(row).state), now(row).out_of_limits ? ` ${t('routine.out_of_limits')}` : ''] : t('routine.not_asked'))],
      [t('routine.missed'), (row) => count(row.missed), 'number'],
      [t('shelf.actions'), (row) => actionsOf(row, today)],
    ], items, t('routine.none')),
    missed.length ? el('h3', {}, t('routine.missed.title')) : null,
    missed.length ? table(t('routine.missed.title'), [
      [t('routine.what'), ({ row }) => row.name], [t('routine.period'), ({ one }) => span(one)], [t('routine.now'), ({ one }) => state(one.state)],
    ], missed, '') : null);
  show(byId('routine-actions'), act(t('routine.add'), add, { needs: 'add_routine' }));
}
