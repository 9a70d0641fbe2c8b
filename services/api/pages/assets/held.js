// Scans on their way: each is kept at the station before it is sent, and until the service has
// answered. Nothing here knows a patient; the characters are sealed with a key that cannot leave
// this browser, and are gone when the scan is delivered.

import { Refused, asStation, isBadgeSession, newKey, post } from './api.js';
import { session } from './shell.js';

const STORE = 'scans';

// Each tab sends its own scans; one that was left behind is sent by any other after a while.
const TAB = sessionStorage.getItem('lotwarden-tab') ?? newKey();
sessionStorage.setItem('lotwarden-tab', TAB);
const LEFT_MS = 30000;

const isMine = (one) => one.actor === session?.id;

/**
 * Whether a scan may be sent now: in a person's own session, or by the station's credential in the
 * name of who had signed in by badge. Nobody's scan goes out in the name of the next person.
 */
export const mayDeliver = (one) => one.at_station || isMine(one);

const isLeft = (one) => Date.now() - Date.parse(one.occurred_at) > LEFT_MS;
const isDue = (one) => one.state === 'waiting' && mayDeliver(one) && (one.tab === TAB || isLeft(one));

function request(of) {
  return new Promise((resolve, reject) => {
    of.onsuccess = () => resolve(of.result);
    of.onerror = () => reject(of.error);
  });
}

let opened = null;

function database() {
  opened ??= new Promise((resolve, reject) => {
    const open = indexedDB.open('lotwarden', 1);
    open.onupgradeneeded = () => {
      open.result.createObjectStore(STORE, { keyPath: 'seq', autoIncrement: true });
      open.result.createObjectStore('keys');
    };
    open.onsuccess = () => resolve(open.result);
    open.onerror = () => reject(open.error);
  });
  return opened;
}

async function within(store, mode, run) {
  const transaction = (await database()).transaction(store, mode, { durability: 'strict' });
  const result = await request(run(transaction.objectStore(store)));
  await new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error);
  });
  return result;
}

let sealing = null;

async function key() {
  sealing ??= (async () => {
    const known = await within('keys', 'readonly', (keys) => keys.get('seal'));
    if (known) return known;
    const made = await crypto.subtle.generateKey({ name: 'AES-GCM', length: 256 }, false, ['encrypt', 'decrypt']);
    // Another tab may make one at the same time: the first that is kept is everybody's.
    await within('keys', 'readwrite', (keys) => keys.add(made, 'seal')).catch((error) => {
      if (error.name !== 'ConstraintError') throw error;
    });
    return within('keys', 'readonly', (keys) => keys.get('seal'));
  })();
  return sealing;
}

async function seal(text) {
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const bytes = await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, await key(), new TextEncoder().encode(text));
  return { iv, bytes };
}

async function unseal({ iv, bytes }) {
  const text = await crypto.subtle.decrypt({ name: 'AES-GCM', iv }, await key(), bytes);
  return new TextDecoder().decode(text);
}

/** Every scan that is kept here, oldest first. */
export async function kept() {
  return within(STORE, 'readonly', (scans) => scans.getAll());
}

const put = (record) => within(STORE, 'readwrite', (scans) => scans.put(record));

/** Forgets a scan that a person has dealt with. */
export const forget = (seq) => within(STORE, 'readwrite', (scans) => scans.delete(seq));

const listeners = new Set();
const waiting = new Map();

/** Tells how many scans wait: `{holding, others, person, reached}`, and the scans. */
export function onLink(tell) {
  listeners.add(tell);
  kept().then(announce);
}

let sending = false;
let wanted = false;
let reached = true;

function announce(records) {
  const state = {
    holding: records.filter((one) => one.state === 'waiting').length,
    others: records.filter((one) => one.state === 'waiting' && !mayDeliver(one)).length,
    person: records.filter((one) => one.state === 'person').length,
    reached,
  };
  for (const tell of listeners) tell(state, records);
}

// What this page has kept and not sent yet, while nothing older waits: it need not be read back to be
// sent. Nothing at all when the store has to be read first.
let fresh = null;

/**
 * Keeps a scan and sends it when its turn has come.
 *
 * Resolves to `{recorded}` when the service answered, or `{held}` when it was not reached; a held
 * scan is delivered later with the same key, so that it counts once.
 */
export async function scan({ caseId, stationId, text, anotherPiece }) {
  const { id: actor, session_id: sessionId } = session;
  const occurredAt = new Date().toISOString();
  const body = { text, occurred_at: occurredAt, another_piece: anotherPiece };
  if (stationId) body.station_id = stationId;
  const record = {
    key: newKey(), case_id: caseId, actor, session_id: sessionId, sealed: await seal(JSON.stringify(body)),
    occurred_at: occurredAt, state: 'waiting', tab: TAB, at_station: isBadgeSession(sessionId),
  };
  record.seq = await put(record);
  fresh?.push({ record, body });
  const answer = new Promise((resolve) => { waiting.set(record.key, resolve); });
  deliver();
  return answer;
}

function tell(record, answer) {
  const resolve = waiting.get(record.key);
  waiting.delete(record.key);
  resolve?.(answer);
  return Boolean(resolve);
}

const RETRY = new Set([409, 425, 429]);
let again = null;
let pause = 0;

function later(seconds) {
  clearTimeout(again);
  again = setTimeout(deliver, seconds * 1000 * (0.8 + 0.4 * Math.random()));
}

/** Sends what waits, in order; one tab at a time. */
export async function deliver() {
  wanted = true;
  if (sending) return;
  sending = true;
  try {
    // The first scan finds the key made.
    await key();
    while (wanted) {
      wanted = false;
      announce(await navigator.locks.request('lotwarden-deliver', deliverAll));
    }
  } catch (error) {
    // What waits was not read to its end.
    fresh = null;
    throw error;
  } finally {
    sending = false;
  }
}

// Gives what is kept in the end.
async function deliverAll() {
  for (;;) {
    let next = fresh?.shift();
    if (!next) {
      fresh = [];
      const records = await kept();
      const record = records.find(isDue);
      if (record) {
        // What is kept from here on comes in its turn, from the store.
        fresh = null;
        next = { record };
      } else if (fresh.length === 0) {
        // Whoever scanned has handed over meanwhile: the scan waits here for them.
        tellHeld(records.filter((one) => !mayDeliver(one)));
        return records;
      }
    }
    if (!next || !isDue(next.record)) continue;
    try {
      await deliverOne(next.record, next.body ?? JSON.parse(await unseal(next.record.sealed)));
      reached = true;
      pause = 0;
    } catch (error) {
      fresh = null;
      reached = error instanceof Refused;
      pause = Math.min(30, pause * 2 || 2);
      later(Math.max(pause, error.retryAfter ?? 0));
      // Everybody who waits hears at once that this station holds their scan.
      const records = await kept();
      tellHeld(records);
      return records;
    }
  }
}

function tellHeld(records) {
  for (const one of records) if (one.state === 'waiting') tell(one, { held: one });
}

async function deliverOne(record, body) {
  try {
    const recorded = record.at_station && (record.late || !isMine(record))
      ? await deliverLate(record, body)
      : await post(`/v1/cases/${record.case_id}/scans`, body, { key: record.key });
    if (tell(record, { recorded })) await forget(record.seq);
    else await put({ ...record, sealed: null, state: 'delivered', verdict: recorded.verdict, product: recorded.product?.name ?? '' });
  } catch (error) {
    if (!(error instanceof Refused) || RETRY.has(error.status) || error.status >= 500) {
      await put({ ...record, late: true });
      throw error;
    }
    await put({ ...record, state: 'person', why: error.message });
    tell(record, { refused: error });
  }
}

// A held scan goes with the station's own credential, in the name of who was signed in here then:
// it does not wait until that person signs in again.
async function deliverLate({ key: ownKey, session_id: sessionId, case_id: caseId }, body) {
  const { items: [item] } = await asStation('/v1/stations/current/held-scans', {
    sent_at: new Date().toISOString(), scans: [{ key: ownKey, session_id: sessionId, case_id: caseId, scan: body }],
  });
  if (item.outcome === 'recorded') return item.scan;
  throw new Refused(item.problem.status, item.problem, 0);
}

for (const event of ['online', 'focus']) addEventListener(event, deliver);
