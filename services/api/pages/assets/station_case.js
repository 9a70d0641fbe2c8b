// The setup sheet: one field that takes every reading, the last verdict, and what is on the case.

import { actions, button, choices, labelFacts } from './controls.js';
import { byId, el, show } from './dom.js';
import { all, get, isBadge, post, put } from './api.js';
import { captureInto } from './capture.js';
import { form, showPatient, signed, signerFields, withReason } from './forms.js';
import { caseRecord } from './case_record.js';
import { age, earlyStop, equipmentCode } from './knowledge.js';
import { clockTime, count, instant } from './format.js';
import { deliver, forget, mayDeliver, onLink, scan } from './held.js';
import { askWho, can, meanwhile, session, step, trouble } from './shell.js';
import { findings, mark, sentenceOf, shape } from './verdict.js';
import { makeReady, mute, muted, play } from './tones.js';
import { t, word } from './texts.js';

let current = null;
let leave = () => {};

/** Opens the sheet of a case at a station; `back` leads to the list of cases. */
export async function openSheet(one, stationId, back) {
  current = { case: one, stationId, scans: [], rows: new Map(), last: null };
  show(byId('on-case'));
  leave = back;
  byId('sheet').hidden = false;
  idle();
  makeReady();
  await deliver();
  await load().catch((error) => trouble(error));
  byId('capture').focus();
}

/** Leaves the sheet. */
export function leaveCase() {
  current = null;
}

// How long the scanner has to rest before the sheet is read again: longer than between two items.
const REST_MS = 4000;
let resting;

async function load() {
  const of = current;
  const { id } = of.case;
  const [shownCase, scans] = await Promise.all([get(`/v1/cases/${id}`), all(`/v1/cases/${id}/scans`)]);
  if (current !== of) return;
  // A reading whose answer came while the list was on its way is on the case all the same.
  const known = new Set(scans.map((one) => one.id));
  of.scans = [...scans, ...of.scans.filter((one) => !known.has(one.id))].sort((a, b) => b.position - a.position);
  of.case = shownCase;
  of.behind = false;
  render();
  whenResting();
}

// A scan's own answer puts its row on the sheet. What others changed meanwhile and the rest of the
// record are read once the scanner rests, so that no scan waits for them.
function whenResting() {
  const of = current;
  clearTimeout(resting);
  resting = setTimeout(async () => {
    if (current !== of) return;
    try {
      if (of.behind) await load();
      else await caseRecord(byId('record'), of.case, of.scans, load);
    } catch (error) {
      trouble(error);
    }
  }, REST_MS);
}

function render() {
  const one = current.case;
  // What is the same stays as it is: a person may be on a button of it.
  const shown = JSON.stringify([one, session.id, current.emergency, muted()]);
  if (current.shown !== shown) {
    current.shown = shown;
    show(byId('sheet-case'), el('h2', {}, one.procedure),
      el('p', {}, `${instant(one.scheduled_for)} · ${one.location.name} · ${one.practitioner.name} · `, el('span', { class: 'status' }, word('status', one.status))));
    show(byId('sheet-actions'), ...sheetActions(one));
  }
  showRows();
  show(byId('counts'), counts());
}

function sheetActions(one) {
  const change = (verb) => async () => {
    await post(`/v1/cases/${one.id}/${verb}`, {}, { version: current.case.version });
    await load();
  };
  return [
    one.status === 'preparation' && may('start_case') ? button(t('station.start'), change('start')) : null,
    one.status === 'in-progress' && may('complete_case') ? button(t('station.complete'), change('complete')) : null,
    one.status === 'completed' ? button(t('station.sign'), sign, { needs: 'sign_case' }) : null,
    may('show_patient') ? button(t('station.patient'), () => showPatient(one.id)) : button(t('station.emergency'), emergency, { needs: 'take_emergency_access' }),
    button(t('station.hand_over'), () => handOver()),
    button(muted() ? t('station.unmute') : t('station.mute'), async () => { mute(!muted()); render(); }, { 'aria-pressed': String(muted()) }),
    button(t('print'), async () => print()),
    button(t('station.back'), async () => leave()),
  ];
}

async function handOver(badge) {
  if (!(await askWho(t('station.hand_over.why'), { badge, mayLeave: true }))) return;
  await deliver();
  await load();
}

async function emergency() {
  const fields = [
    { name: 'reason', label: t('reason') },
    { name: 'minutes', label: t('station.emergency.minutes'), kind: 'number', value: '60' },
  ];
  const run = (values) => post(`/v1/cases/${current.case.id}/emergency-access`, values);
  if (await form(t('station.emergency'), fields, run, el('p', { class: 'caution' }, t('station.emergency.why')))) {
    current.emergency = true;
    await load();
  }
}

// What emergency access gives, in its case and until it ends; the service decides each time.
const IN_EMERGENCY = new Set(['start_case', 'complete_case', 'show_patient', 'set_disposition', 'strike_scan']);

function may(action) {
  return can(action) || (current.emergency && IN_EMERGENCY.has(action));
}

async function sign() {
  const meanings = ['performed', 'reviewed'].map((one) => word('meaning', one));
  const fields = [
    { name: 'meaning', label: t('station.meaning'), choices: meanings.map((meaning) => [meaning, meaning]) },
    ...signerFields(),
  ];
  const run = (values) => post(`/v1/cases/${current.case.id}/sign`, signed(values), { version: current.case.version });
  if (await form(t('station.sign'), fields, run, el('p', {}, t('station.sign.why', { name: session.name })))) await load();
}

// The readings, newest first; a row that says the same stays the element it is.
function showRows() {
  const place = byId('on-case');
  if (current.scans.length === 0) {
    show(place, el('p', { class: 'empty' }, t('station.nothing_yet')));
    return;
  }
  const list = place.querySelector('ul') ?? el('ul', { class: 'scans' });
  if (!list.isConnected) show(place, list);
  const { rows } = current;
  for (const [at, one] of current.scans.entries()) {
    const said = JSON.stringify([one.strike, one.item?.disposition, one.item?.version, itemName(one), details(one), session.id, current.emergency]);
    const before = rows.get(one.id);
    if (before?.said !== said) {
      before?.element.remove();
      rows.set(one.id, { said, element: row(one) });
    }
    const { element } = rows.get(one.id);
    if (list.children[at] !== element) list.insertBefore(element, list.children[at] ?? null);
  }
}

function verdictOf(one) {
  return one.strike ? 'struck' : one.verdict;
}

function itemName(one) {
  return one.product?.name ?? one.text ?? t('scan.unread_text');
}

function details(one) {
  return labelFacts({ lot: one.lot?.number, serial: one.unit?.serial, expires_on: one.lot?.expires_on });
}

function row(one) {
  const acts = one.strike ? [] : [
    one.item && may('set_disposition') ? dispositionButton(one) : null,
    may('strike_scan') ? button(t('station.strike'), () => strike(one), { 'aria-label': t('station.strike.of', { item: itemName(one) }) }) : null,
  ];
  return el('li', { class: verdictOf(one) },
    mark(verdictOf(one)),
    el('div', { class: 'grow' },
      el('strong', {}, itemName(one)),
      el('span', {}, details(one)),
      el('small', {}, clockTime(one.occurred_at), one.strike ? ` · ${t('station.struck_because', { reason: one.strike.reason })}` : ''),
      one.verdict === 'taken' ? null : findings(one.findings)),
    actions(acts));
}

const DISPOSITIONS = ['used', 'wasted', 'opened_unused', 'returned', 'failed'];

// A button and no list to choose from: with a list in each row a sheet of forty scans took Chromium
// twice the processor time for each new one.
function dispositionButton(one) {
  const said = word('disposition', one.item.disposition);
  return button(said, () => setDisposition(one), { of: itemName(one), 'aria-label': `${said}. ${t('station.disposition.of', { item: itemName(one) })}` });
}

async function setDisposition(one) {
  const fields = [
    { name: 'disposition', label: t('disposition'), choices: choices('disposition', DISPOSITIONS), value: one.item.disposition },
    { name: 'reason', label: t('reason'), hint: t('station.disposition.reason'), required: false },
  ];
  const run = async ({ disposition, reason }) => {
    if (disposition !== 'used' && !reason) throw new Error(t('reason.missing'));
    await put(`/v1/cases/${current.case.id}/scans/${one.id}/disposition`, { disposition, reason }, one.item.version);
    await load();
    return true;
  };
  await form(t('station.disposition.set'), fields, run);
}

async function askReason(title) {
  return withReason(title, async ({ reason }) => {
    if (!reason) throw new Error(t('reason.missing'));
    return reason;
  });
}

async function strike(one) {
  const reason = await askReason(t('station.strike'));
  if (reason === null) return;
  await post(`/v1/cases/${current.case.id}/scans/${one.id}/strike`, { reason });
  await load();
}

function counts() {
  const tally = {};
  for (const one of current.scans) tally[verdictOf(one)] = (tally[verdictOf(one)] ?? 0) + 1;
  return el('ul', { class: 'tally' }, Object.entries(tally).map(([verdict, number]) => el('li', {}, mark(verdict), ' ', el('strong', {}, count(number)))));
}

// ---- The last verdict

function idle() {
  const panel = byId('verdict');
  panel.className = 'verdict idle';
  show(panel, el('p', { class: 'verdict-word' }, t('station.ready')));
  show(byId('verdict-actions'));
}

function verdict(kind, title, details, list = [], actions = []) {
  const panel = byId('verdict');
  panel.className = `verdict ${kind}`;
  panel.dataset.verdict = kind;
  show(panel, shape(kind), el('div', {}, el('p', { class: 'verdict-word' }, word('verdict', kind)),
    el('p', { class: 'verdict-item' }, title), details ? el('p', {}, details) : null, findings(list)));
  // A stop interrupts whoever listens; the other verdicts wait their turn.
  byId('stop-said').textContent = kind === 'stop' ? `${word('verdict', kind)}. ${title}. ${list.map(sentenceOf).join(' ')}` : '';
  show(byId('verdict-actions'), ...actions);
  if (kind === 'checking') return;
  meanwhile(mark(kind), ` ${[title, details].filter(Boolean).join(' · ')}`, findings(list));
  play(kind);
}

async function take(text, anotherPiece = false) {
  if (!current) return;
  if (isBadge(text)) {
    await step(() => handOver(text));
    return;
  }
  if (await command(text)) return;
  const code = equipmentCode(text);
  if (code) {
    await setUp(code);
    return;
  }
  const of = current;
  // Said before the network is asked: the reading is here.
  verdict('checking', t('station.characters', { number: count(text.length) }));
  const answer = await scan({ caseId: of.case.id, stationId: of.stationId, text, anotherPiece });
  if (current !== of) return;
  if (answer.recorded) recorded(answer.recorded, text);
  else if (answer.refused) {
    verdict('unread', t('station.refused'), answer.refused.message);
    trouble(answer.refused);
  } else heldHere(text);
}

// Equipment is not held: without the network nobody could say what is due on it.
async function setUp(code) {
  const of = current;
  verdict('checking', code);
  try {
    const used = await post(`/v1/cases/${of.case.id}/equipment`, { code });
    if (current === of) verdict(used.verdict, used.described, t('equipment'), used.findings);
  } catch (error) {
    if (current === of) verdict('unread', code, error.message);
    return;
  }
  await load().catch((error) => trouble(error));
}

function recorded(one, text) {
  current.last = { scan: one, text };
  const title = one.product?.name ?? (one.unread ? t('scan.unread_text') : t('scan.unknown_product'));
  const list = one.unread ? [{ slug: 'unread', variant: one.unread.code, severity: 'look', sentence: one.unread.message, source: t('scan.reader') }, ...one.findings] : one.findings;
  const repeated = one.findings.some((finding) => finding.slug === 'same_scan_again');
  const another = repeated && !one.unit_id
    ? [button(t('station.another_piece'), () => take(text, true), { primary: true })] : [];
  verdict(one.verdict, title, labelFacts(one.label), list, another);
  current.scans = [asListed(one, text), ...current.scans.filter((other) => other.id !== one.id)];
  current.behind = true;
  render();
  whenResting();
}

// A scan's answer as the case's list has it.
function asListed(one, text) {
  const { lot, serial, expires_on: outdate } = one.label ?? {};
  return {
    ...one, position: one.entry.position, text: one.unread ? undefined : text,
    lot: one.lot_id && { id: one.lot_id, number: lot, expires_on: outdate },
    unit: one.unit_id && { id: one.unit_id, serial },
  };
}

function heldHere(text) {
  const why = earlyStop(text);
  if (why) verdict('stop', t('station.held_here'), t('station.not_checked'), [{ severity: 'stop', sentence: why, source: age() }]);
  else verdict('held', t('station.held_here'), t('station.not_checked'));
}

// ---- Commands of the printed sheet

const COMMANDS = {
  UNDO: () => {
    const last = current.scans.find((one) => !one.strike);
    return last ? strike(last) : undefined;
  },
  AGAIN: () => (current.last ? take(current.last.text, true) : undefined),
  BACK: () => leave(),
  HANDOVER: () => handOver(),
  START: () => byId('sheet-actions').querySelector('button')?.focus(),
};

async function command(text) {
  const found = /^(?:\][A-Za-z]\d)?LWCMD([A-Z]+)$/i.exec(text);
  const run = found && COMMANDS[found[1].toUpperCase()];
  if (!run) return false;
  await step(async () => run());
  return true;
}

// ---- The line to the service

let linkShown;

function showLink(state, records) {
  const notable = records.filter((one) => one.state !== 'waiting' || !state.reached || !mayDeliver(one));
  // Most scans change nothing here, and nothing is painted again.
  const shown = JSON.stringify([state, notable.map((one) => [mayDeliver(one), one])]);
  if (shown === linkShown) return;
  linkShown = shown;
  const line = byId('link-state');
  const texts = {
    person: state.person && t('link.person', { number: count(state.person) }),
    holding: (!state.reached || state.others) && state.holding && t('link.holding', { number: count(state.holding) }),
    sending: state.holding && t('link.sending', { number: count(state.holding) }),
  };
  const kind = ['person', 'holding', 'sending'].find((one) => texts[one]);
  line.hidden = false;
  line.className = `link-state ${kind ?? 'live'}`;
  line.textContent = kind ? texts[kind] : t('link.live');
  const done = (one) => button(t('station.seen'), async () => {
    await forget(one.seq);
    await deliver();
  });
  const what = (one) => ({ waiting: mayDeliver(one) ? t('held.waiting') : t('held.other'), person: t('held.person', { why: one.why }), delivered: t('held.delivered', { item: one.product }) })[one.state];
  show(byId('held'), notable.length === 0 ? null : el('section', {}, el('h3', {}, t('held.title')),
    el('ul', { class: 'scans' }, notable.map((one) => el('li', {}, mark(one.state === 'delivered' ? one.verdict : 'held'),
      el('div', { class: 'grow' }, el('span', {}, what(one)), el('small', {}, t('held.at', { time: clockTime(one.occurred_at) }))),
      one.state === 'waiting' ? null : done(one))))));
  if (current && records.some((one) => one.state === 'delivered')) load().catch(() => {});
}

captureInto(byId('capture'), (text) => take(text));
byId('type-it').addEventListener('click', () => {
  byId('capture').inputMode = 'text';
  byId('capture').focus();
});
byId('enter-it').addEventListener('click', () => {
  byId('capture').focus();
  byId('capture').dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, cancelable: true }));
});
onLink(showLink);
