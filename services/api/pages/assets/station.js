// The station: which one this is, today's cases, and the setup sheet of one of them.

import { button, named } from './controls.js';
import { byId, el, facts, field, show } from './dom.js';
import { all, asStation, get, pairedStation, post } from './api.js';
import { day, instant, instantHere, today, zoneName } from './format.js';
import { form } from './forms.js';
import { can, start, step } from './shell.js';
import { leaveCase, openSheet } from './station_case.js';
import { surgicalLog } from './case_closing.js';
import { followUps } from './follow_ups.js';
import { deliver } from './held.js';
import { refresh } from './knowledge.js';
import { t, word } from './texts.js';

const CASES = 'lotwarden-cases';
const STATION = 'lotwarden-station';

let station = JSON.parse(localStorage.getItem(STATION) ?? 'null');

// A browser becomes a station once, with a code from the people page, and stays one.
async function showStation() {
  station = await pairedStation();
  localStorage.setItem(STATION, JSON.stringify(station));
  if (station) {
    show(byId('paired'), facts([[t('station.this'), station.name]]));
    return;
  }
  const code = el('input', { name: 'code', maxlength: 20, autocomplete: 'off', autocapitalize: 'characters', spellcheck: 'false' });
  const pair = async () => {
    await asStation('/v1/stations/pair', { code: code.value, browser: true });
    await showStation();
  };
  show(byId('paired'), el('p', { class: 'hint' }, t('station.not_paired')), el('div', { class: 'ask' },
    field(t('station.code'), code),
    button(t('station.pair'), pair)));
}

// A case without its patient: what a station may keep for when the network is gone.
function withoutPatient({ id, procedure, status, scheduled_for, location, practitioner, version }) {
  return { id, procedure, status, scheduled_for, location, practitioner, version };
}

async function todaysCases() {
  try {
    const cases = (await all('/v1/cases', { day: today() })).map(withoutPatient).sort((a, b) => a.scheduled_for.localeCompare(b.scheduled_for));
    localStorage.setItem(CASES, JSON.stringify(cases));
    return cases;
  } catch (error) {
    const known = JSON.parse(localStorage.getItem(CASES) ?? 'null');
    if (!known) throw error;
    return known;
  }
}

function card(one) {
  return el('button', { type: 'button', class: 'card', onclick: (event) => step(() => enter(one), event.currentTarget) },
    el('strong', {}, one.procedure),
    el('span', {}, `${instant(one.scheduled_for)} · ${one.location.name}`),
    el('span', {}, one.practitioner.name),
    el('span', { class: 'status' }, word('status', one.status)));
}

async function chooseCase() {
  leaveCase();
  byId('sheet').hidden = true;
  byId('choose').hidden = false;
  show(byId('cases'), el('p', {}, t('looking')));
  const cases = await todaysCases();
  show(byId('cases'), cases.length ? cases.map(card) : el('p', { class: 'empty' }, t('station.no_cases', { day: day(today()) })));
  byId('open-case').hidden = !can('open_case');
  if (can('show_surgical_log')) show(byId('surgical-log'), el('h2', {}, t('documents.surgical_log')), surgicalLog());
  if (can('list_follow_ups')) dueFollowUps();
}

async function dueFollowUps() {
  const list = await followUps(dueFollowUps).catch(() => null);
  // Without the network the station still opens its cases.
  if (list) show(byId('follow-ups'), el('h2', {}, t('follow_ups.title')), list);
}

async function enter(one) {
  byId('choose').hidden = true;
  await openSheet(one, station?.id ?? null, () => step(chooseCase));
}

async function openCase() {
  const [places, people] = [await all('/v1/locations'), await all('/v1/practitioners')];
  const opened = await form(t('station.open_case'), [
    { name: 'procedure', label: t('procedure'), most: 200 },
    { name: 'scheduled_for', label: t('station.scheduled'), hint: t('time.of_facility', { zone: zoneName() }), kind: 'time', value: '08:00' },
    { name: 'location_id', label: t('place'), choices: named(places.filter((one) => one.kind === 'room')) },
    { name: 'practitioner_id', label: t('practitioner'), choices: named(people) },
    { name: 'name', label: t('patient'), most: 200 },
    { name: 'record_number', label: t('record_number'), most: 40 },
    { name: 'born_on', label: t('born_on'), kind: 'date', required: false },
  ], ({ scheduled_for: time, name, record_number, born_on, ...planned }) => post('/v1/cases', {
    ...planned, scheduled_for: instantHere(`${today()}T${time}`), patient: { name, record_number, born_on },
  }));
  if (opened) await enter(withoutPatient(await get(`/v1/cases/${opened.id}`)));
}

start(async () => {
  byId('open-case').addEventListener('click', () => step(openCase));
  await showStation().catch(() => {});
  refresh().catch(() => {});
  setInterval(() => refresh().catch(() => {}), 5 * 60000);
  deliver();
  await chooseCase();
});
