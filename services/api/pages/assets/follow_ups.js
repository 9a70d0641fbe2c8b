// Follow-ups that are due after completed cases, the overdue ones first and in words.

import { el, facts, table } from './dom.js';
import { all, get, post } from './api.js';
import { day, today } from './format.js';
import { form } from './forms.js';
import { can, dialog, step } from './shell.js';
import { mark } from './verdict.js';
import { t } from './texts.js';

/** The follow-ups that are not done, with the site's list; `again` shows them anew. */
export async function followUps(again) {
  const [due, rules] = await Promise.all([all('/v1/follow-ups', { open: true }), all('/v1/follow-up-rules')]);
  const rows = due.flatMap((one) => one.follow_ups).sort((a, b) => a.due_on.localeCompare(b.due_on));
  const act = (label, of, run) => el('button', { type: 'button', 'aria-label': of ? `${label}: ${of}` : null, onclick: (event) => step(async () => { if (await run()) await again(); }, event.currentTarget) }, label);
  const done = (row) => form(t('follow_ups.done'), [
    { name: 'done_on', label: t('follow_ups.done_on'), kind: 'date', value: today() },
    { name: 'outcome', label: t('follow_ups.outcome'), most: 500 },
  ], (values) => post(`/v1/cases/${row.case_id}/follow-ups`, { ...values, name: row.name }));
  const patient = async (row) => {
    const { name, record_number: number, born_on: born } = await get(`/v1/cases/${row.case_id}/patient`);
    await dialog(t('patient'), facts([[t('patient'), name], [t('record_number'), number], [t('born_on'), day(born)]]), []);
  };
  const add = () => form(t('follow_ups.add'), [
    { name: 'name', label: t('people.name'), most: 100 }, { name: 'days', label: t('follow_ups.days'), kind: 'number' },
    { name: 'source', label: t('follow_ups.source'), most: 200 },
  ], (values) => post('/v1/follow-up-rules', values));
  return el('div', {}, table(t('follow_ups.title'), [
    [t('follow_ups.follow_up'), (row) => row.name], [t('follow_ups.due_on'), (row) => (row.overdue ? [mark('look'), ` ${t('follow_ups.overdue', { day: day(row.due_on) })}`] : day(row.due_on))],
    [t('procedure'), (row) => row.procedure], [t('practitioner'), (row) => row.practitioner_name],
    [t('shelf.actions'), (row) => el('div', { class: 'actions' },
      can('show_patient') ? act(t('station.patient'), `${row.name}, ${row.procedure}`, () => patient(row)) : null,
      can('record_follow_up') && row.due_on <= today() ? act(t('follow_ups.done'), `${row.name}, ${row.procedure}`, () => done(row)) : null)],
  ], rows, t('follow_ups.none')),
  el('p', { class: 'hint' }, rules.length ? t('follow_ups.list', { list: rules.map((one) => `${one.name}: ${one.days} (${one.source})`).join('; ') }) : t('follow_ups.no_list')),
  can('add_follow_up_rule') ? el('div', { class: 'actions' }, act(t('follow_ups.add'), '', add)) : null);
}
