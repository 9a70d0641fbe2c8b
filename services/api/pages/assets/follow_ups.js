// Follow-ups that are due after completed cases, the overdue ones first and in words.

import { actions, button, buttonsThen } from './controls.js';
import { el, table } from './dom.js';
import { all, post } from './api.js';
import { day, today } from './format.js';
import { form, showPatient } from './forms.js';
import { mark } from './verdict.js';
import { t } from './texts.js';

/** The follow-ups that are not done, with the site's list; `again` shows them anew. */
export async function followUps(again) {
  const [due, rules] = await Promise.all([all('/v1/follow-ups', { open: true }), all('/v1/follow-up-rules')]);
  const rows = due.flatMap((one) => one.follow_ups).sort((a, b) => a.due_on.localeCompare(b.due_on));
  const act = buttonsThen(again);
  const done = (row) => form(t('follow_ups.done'), [
    { name: 'done_on', label: t('follow_ups.done_on'), kind: 'date', value: today() },
    { name: 'outcome', label: t('follow_ups.outcome'), most: 500 },
  ], (values) => post(`/v1/cases/${row.case_id}/follow-ups`, { ...values, name: row.name }));
  const add = () => form(t('follow_ups.add'), [
    { name: 'name', label: t('people.name'), most: 100 }, { name: 'days', label: t('follow_ups.days'), kind: 'number' },
    { name: 'source', label: t('follow_ups.source'), most: 200 },
  ], (values) => post('/v1/follow-up-rules', values));
  return el('div', {}, table(t('follow_ups.title'), [
    [t('follow_ups.follow_up'), (row) => row.name], [t('follow_ups.due_on'), (row) => (row.overdue ? [mark('look'), ` ${t('follow_ups.overdue', { day: day(row.due_on) })}`] : day(row.due_on))],
    [t('procedure'), (row) => row.procedure], [t('practitioner'), (row) => row.practitioner_name],
    [t('shelf.actions'), (row) => {
      const of = `${row.name}, ${row.procedure}`;
      return actions(
        button(t('station.patient'), () => showPatient(row.case_id), { of, needs: 'show_patient' }),
        row.due_on <= today() ? act(t('follow_ups.done'), () => done(row), { of, needs: 'record_follow_up' }) : null);
    }],
  ], rows, t('follow_ups.none')),
  el('p', { class: 'hint' }, rules.length ? t('follow_ups.list', { list: rules.map((one) => `${one.name}: ${one.days} (${one.source})`).join('; ') }) : t('follow_ups.no_list')),
  actions(act(t('follow_ups.add'), add, { needs: 'add_follow_up_rule' })));
}
