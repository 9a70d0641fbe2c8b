// People and their roles, stations, and the policy in force.

import { byId, el, facts, field, show, table } from './dom.js';
import { all, get, post, put } from './api.js';
import { count, instant } from './format.js';
import { can, dialog, start, step } from './shell.js';
import { t, word } from './texts.js';

const ROLES = ['circulator', 'practitioner', 'materials', 'compliance', 'administrator', 'inspector', 'integration'];

function rolePicks(chosen) {
  const boxes = ROLES.map((role) => {
    const box = el('input', { type: 'checkbox', value: role });
    box.checked = chosen.includes(role);
    return box;
  });
  const content = el('fieldset', {}, el('legend', {}, t('people.roles')), boxes.map((box) => el('label', { class: 'check' }, box, ` ${word('role', box.value)}`)));
  return { content, chosen: () => boxes.filter((box) => box.checked).map((box) => box.value) };
}

// The end of an account, as a day in this browser's zone: through that day.
function endOf(input) {
  return input.value ? new Date(`${input.value}T23:59:59`).toISOString() : undefined;
}

async function addPerson() {
  const inputs = { login: el('input', { required: true, maxlength: 64, autocomplete: 'off', autocapitalize: 'none' }), name: el('input', { required: true, maxlength: 200, autocomplete: 'off' }), password: el('input', { type: 'password', required: true, minlength: 15, maxlength: 256, autocomplete: 'new-password' }), ends: el('input', { type: 'date' }) };
  const roles = rolePicks([]);
  const content = el('div', { class: 'fields' }, field(t('login'), inputs.login, t('people.login.hint')), field(t('people.name'), inputs.name), field(t('password'), inputs.password, t('people.password.hint')), roles.content, field(t('people.ends'), inputs.ends, t('people.ends.hint')));
  const run = () => post('/v1/people', { login: inputs.login.value.trim(), name: inputs.name.value.trim(), password: inputs.password.value, roles: roles.chosen(), ends_at: endOf(inputs.ends) });
  if (await dialog(t('people.add'), content, [{ label: t('people.add'), primary: true, run }])) await step(showPeople);
}

async function changePerson(person) {
  const roles = rolePicks(person.roles);
  const ends = el('input', { type: 'date', value: person.ends_at?.slice(0, 10) ?? '' });
  const content = el('div', { class: 'fields' }, el('p', {}, person.name), roles.content, field(t('people.ends'), ends, t('people.ends.hint')));
  const run = () => put(`/v1/people/${person.id}`, { roles: roles.chosen(), ends_at: endOf(ends) }, person.version);
  if (await dialog(t('people.change'), content, [{ label: t('people.change'), primary: true, run }])) await step(showPeople);
}

async function showPeople() {
  const people = await all('/v1/people');
  const change = (row) => el('button', { type: 'button', 'aria-label': t('people.change.of', { name: row.name }), onclick: () => changePerson(row) }, t('people.change'));
  show(byId('people'), table(t('people.accounts'), [
    [t('people.name'), (row) => row.name],
    [t('login'), (row) => row.login],
    [t('people.roles'), (row) => row.roles.map((role) => word('role', role)).join(', ')],
    [t('people.ends'), (row) => (row.ends_at ? instant(row.ends_at) : t('people.no_end'))],
    ...(can('change_person') ? [[t('shelf.actions'), change]] : []),
  ], people, t('people.empty')));
}

async function showStations() {
  const stations = await all('/v1/stations');
  show(byId('stations'), table(t('people.stations'), [[t('people.name'), (row) => row.name]], stations, t('people.stations.empty')));
}

async function addStation() {
  const name = el('input', { required: true, maxlength: 100 });
  const run = () => post('/v1/stations', { name: name.value.trim() });
  if (await dialog(t('people.add_station'), field(t('people.name'), name), [{ label: t('people.add_station'), primary: true, run }])) await step(showStations);
}

async function showPolicy() {
  const policy = await get('/v1/policy');
  const { settings } = policy;
  show(byId('settings'), facts(Object.entries(settings).map(([name, value]) => [word('setting', name), typeof value === 'number' ? count(value) : value === true ? t('yes') : value === false ? t('no') : String(value)])));
  show(byId('rules'), table(t('people.rules'), [
    [t('people.rule'), (row) => row.slug],
    [t('people.severity'), (row) => word('verdict', row.severity)],
    [t('people.source'), (row) => row.source],
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
  if (can('list_people')) {
    byId('people-section').hidden = false;
    await showPeople();
  }
  await showStations();
  await showPolicy();
});
