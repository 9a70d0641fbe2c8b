// What waits for a person, the own account, people with their badges and sessions, the review of
// what they hold, stations, what others are told of, and the policy in force.

import { actions, button } from './controls.js';
import { byId, el, facts, field, show, table } from './dom.js';
import { all, get, post, put, remove } from './api.js';
import { count, dayOf, instant, instantHere } from './format.js';
import { form } from './forms.js';
import { outbox } from './outbox.js';
import { can, dialog, session, start, step } from './shell.js';
import { sourceOf } from './verdict.js';
import { t, word } from './texts.js';

const ROLES = ['circulator', 'practitioner', 'materials', 'compliance', 'administrator', 'inspector', 'integration'];

function rolePicks(chosen, from = ROLES) {
  const boxes = from.map((role) => {
    const box = el('input', { type: 'checkbox', value: role });
    box.checked = chosen.includes(role);
    return box;
  });
  const content = el('fieldset', { name: 'roles' }, el('legend', {}, t('people.roles')), boxes.map((box) => el('label', { class: 'check' }, box, ` ${word('role', box.value)}`)));
  return { content, chosen: () => boxes.filter((box) => box.checked).map((box) => box.value) };
}

// The end of an account, as a day at the facility: through that day.
function endOf(input) {
  return input.value ? instantHere(`${input.value}T23:59:59`) : undefined;
}

async function addPerson() {
  const inputs = { login: el('input', { name: 'login', required: true, maxlength: 64, autocomplete: 'off', autocapitalize: 'none' }), name: el('input', { name: 'name', required: true, maxlength: 200, autocomplete: 'off' }), password: el('input', { name: 'password', type: 'password', required: true, minlength: 15, maxlength: 256, autocomplete: 'new-password' }), ends: el('input', { name: 'ends_at', type: 'date' }) };
  const roles = rolePicks([]);
  const content = el('div', { class: 'fields' }, field(t('login'), inputs.login, t('people.login.hint')), field(t('people.name'), inputs.name), field(t('password'), inputs.password, t('people.password.hint')), roles.content, field(t('people.ends'), inputs.ends, t('people.ends.hint')));
  const run = () => post('/v1/people', { login: inputs.login.value.trim(), name: inputs.name.value.trim(), password: inputs.password.value, roles: roles.chosen(), ends_at: endOf(inputs.ends) });
  if (await dialog(t('people.add'), content, [{ label: t('people.add'), primary: true, run }])) await step(showPeople);
}

async function changePerson(person) {
  const roles = rolePicks(person.roles);
  const ends = el('input', { name: 'ends_at', type: 'date', value: person.ends_at ? dayOf(person.ends_at) : '' });
  const content = el('div', { class: 'fields' }, roles.content, field(t('people.ends'), ends, t('people.ends.hint')));
  const run = () => put(`/v1/people/${person.id}`, { roles: roles.chosen(), ends_at: endOf(ends) }, person.version);
  if (await dialog(t('people.change'), content, [{ label: t('people.change'), primary: true, run }])) await step(showPeople);
}

let names = new Map();

async function showPeople() {
  const people = await all('/v1/people');
  names = new Map(people.map((one) => [one.id, one.name]));
  const actionsOf = (row) => actions(
    button(t('people.change'), () => changePerson(row), { of: row.name, needs: 'change_person' }),
    button(t('people.badge'), () => giveBadge(row), { of: row.name, needs: 'give_badge' }),
    button(t('people.end_badge'), () => endBadge(row), { of: row.name, needs: 'end_badge' }),
    button(t('people.sessions'), () => showSessionsOf(row), { of: row.name, needs: 'list_person_sessions' }));
  const may = ['change_person', 'give_badge', 'end_badge', 'list_person_sessions'].some(can);
  show(byId('people'), table(t('people.accounts'), [
    [t('people.name'), (row) => row.name],
    [t('login'), (row) => row.login],
    [t('people.roles'), (row) => row.roles.map((role) => word('role', role)).join(', ')],
    [t('people.ends'), (row) => (row.ends_at ? instant(row.ends_at) : t('people.no_end'))],
    ...(may ? [[t('shelf.actions'), actionsOf]] : []),
  ], people, t('people.empty')));
}

async function giveBadge(person) {
  const sure = await dialog(t('people.badge'), el('p', {}, t('people.badge.why', { name: person.name })), [{ label: t('people.badge'), value: true, primary: true }]);
  if (!sure) return;
  const badge = await post(`/v1/people/${person.id}/badge`, {});
  const picture = el('img', { src: URL.createObjectURL(new Blob([badge.label_svg], { type: 'image/svg+xml' })), alt: t('people.badge.of', { name: person.name }), class: 'badge' });
  await dialog(t('people.badge'), el('div', {}, el('p', {}, t('people.badge.once')), picture, button(t('print'), async () => print())), []);
}

async function endBadge(person) {
  const sure = await dialog(t('people.end_badge'), el('p', {}, t('people.end_badge.why', { name: person.name })), [{ label: t('people.end_badge'), value: true, primary: true }]);
  if (sure) await remove(`/v1/people/${person.id}/badge`);
}

function sessionTable(caption, sessions, end) {
  return table(caption, [
    [t('people.session.started'), (row) => instant(row.started_at)],
    [t('people.session.renewed'), (row) => instant(row.renewed_at)],
    [t('people.session.ends'), (row) => instant(row.ends_at)],
    [t('station.title'), (row) => row.station?.name ?? ''],
    [t('shelf.actions'), (row) => (row.current ? t('people.session.this') : button(t('people.session.end'), () => end(row), { of: instant(row.started_at) }))],
  ], sessions, t('people.sessions.none'));
}

async function showSessions() {
  const end = async (row) => {
    await remove(`/v1/sessions/${row.id}`);
    await showSessions();
  };
  show(byId('sessions'), sessionTable(t('people.sessions'), await all('/v1/sessions'), end));
}

async function showSessionsOf(person) {
  const path = `/v1/people/${person.id}/sessions`;
  const box = el('div');
  const fill = async () => show(box, sessionTable(t('people.sessions'), await all(path), async (row) => {
    await remove(`${path}?session=${row.id}`);
    await fill();
  }));
  await fill();
  await dialog(t('people.sessions.of', { name: person.name }), box, [{ label: t('people.session.end_all'), run: async () => { await remove(path); return true; } }]);
}

async function changePassword() {
  const fields = [
    { name: 'password', label: t('password'), kind: 'password' },
    { name: 'new_password', label: t('people.new_password'), hint: t('people.password.hint'), kind: 'password', complete: 'new-password' },
  ];
  await form(t('people.change_password'), fields, (values) => post('/v1/people/current/password', values));
}

async function setPin() {
  const fields = [
    { name: 'password', label: t('password'), kind: 'password' },
    { name: 'pin', label: t('people.pin'), hint: t('people.pin.hint'), kind: 'password', complete: 'off', mode: 'numeric' },
  ];
  await form(t('people.set_pin'), fields, (values) => post('/v1/people/current/pin', values));
}

// ---- What waits for a person

async function showTasks() {
  const tasks = await all('/v1/tasks');
  const settle = (row) => async () => {
    const emergency = row.kind === 'emergency_access';
    const label = emergency ? t('people.task.review') : t('people.task.settle');
    const run = ({ note }) => (emergency
      ? post(`/v1/emergency-accesses/${row.id}/review`, { finding: note })
      : post(`/v1/tasks/${row.id}/settle`, { note }));
    if (await form(label, [{ name: 'note', label: t('people.task.note') }], run)) await showTasks();
  };
  const mayDo = (row) => (row.kind === 'emergency_access' ? can('review_emergency_access') && row.person_id !== session.id : can('settle_task'));
  show(byId('tasks'), table(t('people.tasks'), [
    [t('people.task'), (row) => t(`people.task.${row.kind}`, { name: names.get(row.person_id) ?? '' })],
    [t('people.task.raised'), (row) => instant(row.raised_at)],
    [t('case'), (row) => el('code', {}, row.case_id.slice(-6))],
    [t('shelf.actions'), (row) => (mayDo(row) ? button(row.kind === 'emergency_access' ? t('people.task.review') : t('people.task.settle'), settle(row), { of: instant(row.raised_at) }) : '')],
  ], tasks, t('people.tasks.none')));
}

// ---- The review of what people hold

async function showReview() {
  const held = await all('/v1/access-review');
  const review = (row) => async () => {
    const roles = rolePicks(row.person.roles, row.person.roles);
    const note = el('input', { name: 'note', required: true, minlength: 3, maxlength: 500 });
    const content = el('div', { class: 'fields' }, roles.content, field(t('people.review.note'), note));
    const run = () => post(`/v1/people/${row.person.id}/access-review`, { roles: roles.chosen(), note: note.value.trim() }, { version: row.person.version });
    if (await dialog(t('people.review.do'), content, [{ label: t('people.review.do'), primary: true, run }])) await showReview();
  };
  show(byId('review'), table(t('people.review'), [
    [t('people.name'), (row) => row.person.name],
    [t('people.roles'), (row) => row.person.roles.map((role) => word('role', role)).join(', ')],
    [t('people.review.signed_in'), (row) => (row.signed_in_at ? instant(row.signed_in_at) : t('people.never'))],
    [t('people.badge.given'), (row) => (row.badge_given_at ? instant(row.badge_given_at) : t('no'))],
    [t('people.review.last'), (row) => (row.reviewed_at ? instant(row.reviewed_at) : t('people.never'))],
    [t('people.review.due'), (row) => [el('span', { class: row.due ? 'state past' : 'state' }, instant(row.due_at))]],
    ...(can('review_access') ? [[t('shelf.actions'), (row) => button(t('people.review.do'), review(row), { of: row.person.name })]] : []),
  ], held, t('people.empty')));
}

// ---- Stations

async function showStations() {
  const stations = await all('/v1/stations');
  const pair = (row) => async () => {
    const { code, ends_at: ends } = await post(`/v1/stations/${row.id}/pairing-codes`, {});
    await dialog(t('people.pair'), el('div', {}, el('p', {}, t('people.pair.how', { station: row.name, ends: instant(ends) })), el('p', { class: 'code' }, code)), []);
    await showStations();
  };
  const unpair = (row) => async () => {
    await remove(`/v1/stations/${row.id}/credential`);
    await showStations();
  };
  const change = (row) => async () => {
    const fields = [
      { name: 'name', label: t('people.name'), most: 100, value: row.name },
      { name: 'separator', label: t('people.separator'), hint: t('people.separator.hint'), most: 13, value: row.separator },
    ];
    const run = (values) => put(`/v1/stations/${row.id}`, values, row.version);
    if (await form(t('people.change'), fields, run)) await showStations();
  };
  show(byId('stations'), table(t('people.stations'), [
    [t('people.name'), (row) => row.name],
    [t('people.separator'), (row) => row.separator],
    [t('people.paired'), (row) => (row.paired_at ? instant(row.paired_at) : t('no'))],
    ...(can('make_pairing_code') ? [[t('shelf.actions'), (row) => actions(
      button(t('people.change'), change(row), { of: row.name }), button(t('people.pair'), pair(row), { of: row.name }),
      row.paired_at ? button(t('people.unpair'), unpair(row), { of: row.name }) : null)]] : []),
  ], stations, t('people.stations.empty')));
}

async function addStation() {
  const run = (values) => post('/v1/stations', values);
  if (await form(t('people.add_station'), [{ name: 'name', label: t('people.name'), most: 100 }], run)) await step(showStations);
}

async function changePolicy() {
  const { settings, version } = await get('/v1/policy');
  const fields = Object.entries(settings).map(([name, value]) => ({ name, label: word('setting', name), kind: typeof value === 'boolean' ? 'check' : 'number', value }));
  const run = ({ reason, ...changed }) => put('/v1/policy', { settings: changed, reason }, version);
  if (await form(t('people.change_policy'), [...fields, { name: 'reason', label: t('reason') }], run)) await showPolicy();
}

async function showPolicy() {
  const policy = await get('/v1/policy');
  const { settings } = policy;
  show(byId('settings'), facts(Object.entries(settings).map(([name, value]) => [word('setting', name), typeof value === 'number' ? count(value) : value === true ? t('yes') : value === false ? t('no') : String(value)])));
  show(byId('rules'), table(t('people.rules'), [
    [t('people.rule'), (row) => word('rule', row.slug)],
    [t('people.severity'), (row) => word('verdict', row.severity)],
    [t('people.source'), sourceOf],
  ], policy.rules, ''));
  show(byId('actions'), table(t('people.who_may'), [
    [t('ledger.action'), (row) => row.action],
    ...ROLES.map((role) => [word('role', role), (row) => (row.roles.includes(role) ? t('yes') : '–')]),
  ], policy.actions, ''));
}

start(async () => {
  byId('print').addEventListener('click', () => print());
  byId('add-person').hidden = !can('add_person');
  byId('add-person').addEventListener('click', addPerson);
  byId('add-station').hidden = !can('add_station');
  byId('add-station').addEventListener('click', addStation);
  byId('change-policy').hidden = !can('change_policy');
  byId('change-policy').addEventListener('click', () => step(changePolicy));
  byId('change-password').addEventListener('click', () => step(changePassword));
  byId('set-pin').hidden = !can('set_pin');
  byId('set-pin').addEventListener('click', () => step(setPin));
  byId('end-others').addEventListener('click', (event) => step(async () => {
    await remove('/v1/sessions');
    await showSessions();
  }, event.currentTarget));
  const sections = [['list_people', 'people-section', showPeople], ['list_tasks', 'tasks-section', showTasks], ['list_access', 'review-section', showReview], ['list_webhooks', 'outbox-section', () => outbox(byId('outbox'), (actor) => names.get(actor.replace('person:', '')) ?? actor)]];
  for (const [action, section, fill] of sections) {
    if (!can(action)) continue;
    byId(section).hidden = false;
    await fill();
  }
  await showSessions();
  await showStations();
  await showPolicy();
});
