// The ledger: its head, its entries with old and new values, a check of the chain, and parcels.

import { button, options, orNone } from './controls.js';
import { byId, el, facts, show } from './dom.js';
import { all, ask, get, post, query, save } from './api.js';
import { count, dayAfter, instant, instantHere, today } from './format.js';
import { can, start, step } from './shell.js';
import { t } from './texts.js';

let people = new Map();
let cursor;

async function showHead() {
  const head = await get('/v1/ledger/head');
  show(byId('head'), facts([
    [t('ledger.size'), count(head.size)],
    [t('ledger.newest'), instant(head.at)],
    [t('ledger.hash'), el('code', {}, head.hash)],
    [t('ledger.id'), el('code', {}, head.ledger_id)],
  ]));
  return head;
}

// ---- Verification, in this browser, from the entries themselves

const hex = (bytes) => [...new Uint8Array(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('');

/** An entry's hash: SHA-256 of 0x00 and its body (RFC 9162, 2.1.1), whose form is RFC 8785's. */
async function entryHash(body) {
  const text = new TextEncoder().encode(JSON.stringify(body));
  const bytes = new Uint8Array(text.length + 1);
  bytes.set(text, 1);
  return hex(await crypto.subtle.digest('SHA-256', bytes));
}

/** What stands before the first entry: the SHA-256 of the format's published line. */
async function genesis() {
  return hex(await crypto.subtle.digest('SHA-256', new TextEncoder().encode('lotwarden ledger format 1 genesis')));
}

async function verify(event) {
  await step(async () => {
    const head = await showHead();
    const bar = el('progress', { max: head.size, value: 0, 'aria-label': t('ledger.verifying') });
    const said = el('p', {}, t('ledger.verifying'));
    show(byId('verification'), bar, said);
    const fail = (position, what) => show(byId('verification'), el('p', { class: 'verification bad' }, t('ledger.broken', { position: count(position), what })));
    let [expected, next, last] = [0, undefined, await genesis()];
    do {
      const page = await get('/v1/ledger/entries' + query({ limit: 200, cursor: next }));
      for (const { body, hash, position } of page.items) {
        if (position >= head.size) break;
        if (position !== expected || body.position !== expected) return fail(expected, t('ledger.broken.missing'));
        if ((await entryHash(body)) !== hash) return fail(position, t('ledger.broken.changed'));
        if (body.previous !== last) return fail(position, t('ledger.broken.link'));
        last = hash;
        expected += 1;
      }
      bar.value = expected;
      said.textContent = t('ledger.verified_so_far', { done: count(expected), all: count(head.size) });
      next = page.next;
    } while (next && expected < head.size);
    if (expected !== head.size || last !== head.hash) return fail(expected, t('ledger.broken.short'));
    show(byId('verification'), el('p', { class: 'verification good' }, t('ledger.valid', { size: count(head.size), hash: head.hash })));
    return undefined;
  }, event.currentTarget);
}

// ---- Entries

function actorName(actor) {
  return people.get(actor) ?? actor;
}

function flat(value, path = '') {
  if (Array.isArray(value)) return value.flatMap((one, at) => flat(one, `${path}[${at + 1}]`));
  if (value && typeof value === 'object') return Object.entries(value).flatMap(([key, one]) => flat(one, path ? `${path}.${key}` : key));
  return [[path, String(value)]];
}

// Old and new values side by side, then everything else of the entry.
function changes(data) {
  const [old, fresh] = [new Map(flat(data.old ?? {})), new Map(flat(data.new ?? {}))];
  const names = [...new Set([...old.keys(), ...fresh.keys()])];
  const rows = names.map((name) => el('tr', {}, el('th', { scope: 'row' }, name), el('td', {}, old.get(name) ?? ''), el('td', {}, fresh.get(name) ?? '')));
  const rest = Object.fromEntries(Object.entries(data).filter(([key]) => key !== 'old' && key !== 'new'));
  return [
    rows.length ? el('table', { class: 'changes' }, el('thead', {}, el('tr', {}, [t('ledger.value'), t('ledger.old'), t('ledger.new')].map((one) => el('th', { scope: 'col' }, one)))), el('tbody', {}, rows)) : null,
    facts(flat(rest)),
  ];
}

function entry({ body, hash, position }) {
  return el('details', { class: 'entry' },
    el('summary', {}, el('span', { class: 'position' }, `#${count(position)}`), el('strong', {}, body.action), el('span', {}, actorName(body.actor)), el('span', {}, instant(body.at)), el('span', { class: 'quiet' }, body.subject)),
    ...changes(body.data).filter(Boolean),
    facts([[t('ledger.hash'), el('code', {}, hash)], [t('ledger.previous'), el('code', {}, body.previous)], [t('ledger.station'), body.station]]));
}

function asked() {
  // The days of the facility, the last one included.
  const startOf = (id, days) => {
    const { value } = byId(id);
    return value ? instantHere(`${dayAfter(value, days)}T00:00`) : '';
  };
  return {
    case_id: byId('case').value.trim(), actor: byId('actor').value, action: byId('action').value,
    subject: byId('subject').value.trim(), from: startOf('from', 0), before: startOf('before', 1),
  };
}

async function showEntries(fresh) {
  const page = await get('/v1/ledger/entries' + query({ ...asked(), limit: 50, cursor: fresh ? undefined : cursor }));
  const rows = page.items.map(entry);
  if (fresh) show(byId('entries'), rows.length ? rows : el('p', { class: 'empty' }, t('ledger.no_entries')));
  else byId('entries').append(...rows);
  cursor = page.next;
  byId('more').hidden = !cursor;
}

async function makeParcel(event) {
  event.preventDefault();
  await step(async () => {
    show(byId('made'), el('p', {}, t('ledger.parcel.making')));
    const parcel = await post('/v1/ledger/parcels', { reason: byId('reason').value.trim(), with_identity: byId('with-identity').checked });
    const download = async () => save(`parcel-${parcel.position}.jsonl`, await (await ask('GET', parcel.download, { accept: '*/*' })).blob());
    show(byId('made'), el('p', {}, t('ledger.parcel.made', { entries: count(parcel.entries), cases: count(parcel.cases) })),
      button(t('download'), download));
    await showHead();
  }, event.submitter);
}

start(async () => {
  await showHead();
  byId('parcels').hidden = !can('export_parcel');
  byId('parcel').addEventListener('submit', makeParcel);
  if (!can('list_entries')) return;
  byId('search').hidden = false;
  byId('verify').hidden = false;
  byId('verify').addEventListener('click', verify);
  byId('print').addEventListener('click', () => print());
  const list = can('list_people') ? await all('/v1/people') : [];
  people = new Map(list.map((one) => [`person:${one.id}`, one.name]));
  show(byId('actor'), options(orNone([...people], t('ledger.anybody'))));
  const policy = await get('/v1/policy');
  show(byId('action'), options(orNone(policy.actions.map((row) => [row.action, row.action]), t('ledger.any_action'))));
  byId('ask').addEventListener('submit', (event) => {
    event.preventDefault();
    step(() => showEntries(true), event.submitter);
  });
  byId('more').addEventListener('click', (event) => step(() => showEntries(false), event.currentTarget));
  byId('from').value = dayAfter(today(), -6);
  await showEntries(true);
});
