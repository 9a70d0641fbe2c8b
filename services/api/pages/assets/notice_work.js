// The work on a notice: tasks, quantities of each lot, patients, the answer, and closing by two.

import { actions, buttonsThen, choices, named } from './controls.js';
import { el, show, table } from './dom.js';
import { all, get, post, put } from './api.js';
import { count, day, instant } from './format.js';
import { form, signed, signerFields, witnessField } from './forms.js';
import { can } from './shell.js';
import { t, word } from './texts.js';

/** Fills a place with the work; `again` shows the notice anew. */
export async function work(place, notice, again) {
  const path = `/v1/notices/${notice.id}`;
  const state = await get(`${path}/work`);
  const open = notice.state === 'open';
  const act = buttonsThen(again);
  const acting = (needs, label, of, run) => (open ? act(label, run, { of, needs }) : null);
  const write = (verb) => (values) => post(`${path}/${verb}`, values);
  const lotName = (row) => row.number ?? t('lot.not_recorded');

  const patientOf = (row) => t('patient.by_id', { id: row.patient_id.slice(-6) });
  const events = open && can('link_event') ? await all('/v1/events') : [];

  const taskButtons = (row) => (row.state === 'open' ? acting('change_notice_task', t('work.task.end'), word('notice_task', row.kind), () => form(t('work.task.end'), [
    { name: 'state', label: t('notices.state'), choices: choices('task_state', ['done', 'not_needed']) },
    { name: 'remark', label: t('work.remark'), required: false },
  ], (values) => put(`/v1/notice-tasks/${row.id}`, { ...values, due_at: row.due_at, owner_id: row.owner_id }, row.version))) : null);

  const disposes = open && can('record_disposal');
  const places = disposes ? named(await all('/v1/locations')) : [];
  const witness = disposes ? await witnessField() : null;
  const lotButtons = (row) => actions(
    acting('count_stock', t('work.count'), lotName(row), () => form(t('work.count'), [
      { name: 'quarantined', label: t('work.quarantined'), kind: 'number' },
      { name: 'left_in_place', label: t('work.left_in_place'), kind: 'number' },
    ], (values) => write('counts')({ ...values, lot_id: row.lot_id }))),
    acting('record_disposal', t('work.dispose'), lotName(row), () => form(t('work.dispose'), [
      { name: 'how', label: t('work.how'), choices: choices('disposal', ['sent_back', 'destroyed']) },
      { name: 'location_id', label: t('place'), choices: places },
      { name: 'quantity', label: t('quantity'), kind: 'number' },
      { name: 'tracking', label: t('work.tracking'), most: 200 },
      witness,
    ], (values) => write('disposals')({ ...values, lot_id: row.lot_id }))),
    row.counted && !row.settled ? acting('explain_difference', t('work.explain'), lotName(row), () => form(t('work.explain'), [
      { name: 'reason', label: t('reason') },
      ...signerFields(),
    ], (values) => write('explanations')({ ...signed(values), lot_id: row.lot_id }))) : null);

  const patientButtons = (row) => actions(
    acting('review_patient', t('work.review'), patientOf(row), () => form(t('work.review'), [
      { name: 'decision', label: t('work.decision'), choices: choices('decision', ['notify', 'not_needed', 'not_reached']) },
      { name: 'reason', label: t('reason') },
    ], (values) => write('reviews')({ ...values, patient_id: row.patient_id }))),
    row.decision === 'notify' ? acting('record_outreach', t('work.outreach'), patientOf(row), () => form(t('work.outreach'), [
      { name: 'method', label: t('work.method'), choices: choices('method', ['letter', 'telephone', 'mail', 'visit']) },
      { name: 'result', label: t('work.result'), choices: choices('result', ['reached', 'sent', 'no_answer', 'undeliverable', 'declined']) },
    ], (values) => write('outreach')({ ...values, patient_id: row.patient_id }))) : null,
    row.decision === 'notify' && can('write_letter') ? ['en', 'de'].map((language) => el('a', { class: 'button', href: `${path}/letters/${row.patient_id}?language=${language}`, download: `letter-${language}.pdf` }, t(`work.letter.${language}`))) : null,
    acting('record_disclosure', t('work.disclosure'), patientOf(row), () => form(t('work.disclosure'), [
      { name: 'disclosed_on', label: t('work.disclosed_on'), kind: 'date' },
      { name: 'to', label: t('work.disclosed_to'), most: 200 },
      { name: 'address', label: t('work.disclosed_address'), required: false, most: 300 },
      { name: 'what', label: t('work.disclosed_what'), hint: t('work.disclosed_what.hint') },
      { name: 'purpose', label: t('work.disclosed_why') },
    ], (values) => write('disclosures')({ ...values, patient_id: row.patient_id }))),
    state.sample?.patient_ids.includes(row.patient_id) ? acting('record_check', t('work.check'), patientOf(row), () => form(t('work.check'), [
      { name: 'effective', label: t('work.effective'), kind: 'check', value: true },
    ], (values) => write('checks')({ ...values, patient_id: row.patient_id }))) : null);

  const unknown = t('work.not_counted');
  const number = (value) => (value === undefined || value === null ? unknown : count(value));
  show(place,
    el('h3', {}, t('work.tasks')),
    table(t('work.tasks'), [
      [t('people.task'), (row) => word('notice_task', row.kind)],
      [t('people.review.due'), (row) => instant(row.due_at)],
      [t('notices.state'), (row) => word('task_state', row.state)],
      [t('work.remark'), (row) => row.remark ?? ''],
      [t('shelf.actions'), taskButtons],
    ], state.tasks, t('work.tasks.none')),
    el('h3', {}, t('work.lots')),
    el('p', { class: 'hint' }, t('work.lots.hint')),
    table(t('work.lots'), [
      [t('lot'), lotName],
      [t('work.received'), (row) => count(row.received), 'number'],
      [t('where_is.on_hand'), (row) => number(row.on_hand), 'number'],
      [t('work.quarantined'), (row) => number(row.quarantined), 'number'],
      [t('disposition.used'), (row) => count(row.used), 'number'],
      [t('disposition.wasted'), (row) => count(row.wasted), 'number'],
      [word('disposal', 'sent_back'), (row) => count(row.returned), 'number'],
      [word('disposal', 'destroyed'), (row) => count(row.destroyed), 'number'],
      [t('work.unaccounted'), (row) => number(row.unaccounted), 'number'],
      [t('work.settled'), (row) => (row.settled ? t('yes') : t('no'))],
      [t('shelf.actions'), lotButtons],
    ], state.lots, t('work.lots.none')),
    el('h3', {}, t('work.patients')),
    table(t('work.patients'), [
      [t('patient'), patientOf],
      [t('class'), (row) => word('class', row.class)],
      [t('work.decision'), (row) => (row.decision ? word('decision', row.decision) : t('work.undecided'))],
      [t('work.attempts'), (row) => count(row.attempts), 'number'],
      [t('work.told'), (row) => (row.told ? t('yes') : t('no'))],
      [t('shelf.actions'), patientButtons],
    ], state.patients, t('work.patients.none')),
    actions(
      acting('check_effectiveness', t('work.sample'), '', () => form(t('work.sample'), [
        { name: 'level', label: t('work.level'), choices: ['A', 'B', 'C', 'D', 'E'].map((one) => [one, one]) },
        { name: 'checks', label: t('work.checks'), kind: 'number', required: false },
      ], write('samples'))),
      acting('answer_notice', t('work.answer'), '', () => form(t('work.answer'), [
        { name: 'contact_name', label: t('people.name'), most: 200 },
        { name: 'contact_title', label: t('work.title'), most: 200 },
        { name: 'contact_phone', label: t('work.phone'), most: 50 },
        { name: 'sent_by', label: t('work.sent_by'), most: 100 },
        { name: 'adverse_events', label: t('work.adverse'), kind: 'check' },
      ], write('answers'))),
      events.length ? acting('link_event', t('work.link_event'), '', () => form(t('work.link_event'), [
        { name: 'event_id', label: t('work.event'), choices: events.map((one) => [one.id, `${word('event', one.event)}, ${day(one.happened_on)}`]) },
      ], write('adverse-events'))) : null,
      acting('close_notice', t('work.close'), '', () => form(t('work.close'), [
        { name: 'meaning', label: t('station.meaning'), value: t('work.close.meaning'), most: 200 },
        ...signerFields(),
      ], (values) => post(`${path}/close`, signed(values), { version: notice.version })))),
    state.events.some((one) => one.kind === 'answer') && can('show_answer') ? el('p', {}, el('a', { class: 'button', href: `${path}/answer`, download: 'answer.pdf' }, t('work.answer.pdf'))) : '',
    can('list_notice_disclosures') ? await disclosures(path) : '',
    el('h3', {}, t('work.done')),
    el('ol', { class: 'timeline' }, [
      ...state.events.map((one) => el('li', {}, el('strong', {}, word('work_event', one.kind)), ` ${instant(one.at)}`)),
      ...state.signatures.map((one) => el('li', {}, el('strong', {}, one.name), ` ${one.meaning}`)),
    ]));
}

// To whom what was disclosed, when and why; an answer to the firm names no patient.
async function disclosures(path) {
  const { items } = await get(`${path}/disclosures`);
  return el('section', {}, el('h3', {}, t('work.disclosures')), table(t('work.disclosures'), [
    [t('work.disclosed_on'), (row) => day(row.disclosed_on)],
    [t('work.disclosed_to'), (row) => [row.to, row.address].filter(Boolean).join(', ')],
    [t('patient'), (row) => (row.patient_id ? t('patient.by_id', { id: row.patient_id.slice(-6) }) : '')],
    [t('work.disclosed_what'), (row) => row.what],
    [t('work.disclosed_why'), (row) => row.purpose],
  ], items, t('work.disclosures.none')));
}
