// Requests to the service, with the session's cookies.

import { has, said, t } from './texts.js';

/** The service said no: `problem` is its answer (RFC 9457). */
export class Refused extends Error {
  constructor(status, problem, retryAfter) {
    super();
    this.problem = problem;
    this.retryAfter = retryAfter;
    this.message = this.inWords((pointer) => pointer.replace(/^\//, ''));
    /** The fields that it names, as JSON pointers. */
    this.fields = new Set((problem.errors ?? []).map((one) => one.pointer));
    this.status = status;
    this.code = problem.code;
  }

  /** What the service said, in the page's language; `label` names a field by its JSON pointer. */
  inWords(label) {
    const { code, detail, errors = [], title } = this.problem;
    const key = `problem.${code}`;
    const kind = has(key) ? t(key) : title;
    // A text in no language of the page is still said, behind what kind of problem it is.
    const what = detail ? said(detail) ?? `${kind} (${detail})` : kind;
    const fields = errors.map((one) => `${label(one.pointer)}: ${said(one.detail) ?? one.detail}`).join('; ');
    return [what, fields, this.retryAfter ? t('problem.wait', { seconds: this.retryAfter }) : ''].filter(Boolean).join(' ');
  }
}

/** The service was not reached. */
export class Unreached extends Error {
  constructor(method) {
    super(`${t('unreached')}${method === 'GET' ? '' : ` ${t('unreached.again')}`}`);
  }
}

async function send(method, path, { body, version, key, accept } = {}) {
  const headers = { accept: accept ?? 'application/json' };
  if (body !== undefined) headers['content-type'] = 'application/json';
  if (method === 'POST' || method === 'PUT') headers['idempotency-key'] = key ?? newKey();
  if (version !== undefined) headers['if-match'] = `"${version}"`;
  const text = body === undefined ? undefined : JSON.stringify(body);
  try {
    return await fetch(path, { method, headers, body: text, credentials: 'same-origin' });
  } catch {
    throw new Unreached(method);
  }
}

/** A fresh key for a request that writes. */
export function newKey() {
  return crypto.randomUUID();
}

async function refusal(response) {
  const problem = await response.json().catch(() => ({ title: `${response.status}` }));
  const wait = Number(response.headers.get('retry-after')) || 0;
  return new Refused(response.status, problem, wait);
}

const RENEWED = 'lotwarden-renewed';

// A refresh token is good once, and every tab of this browser has the same one: one at a time, and
// none when another tab has just done it.
async function renew(since) {
  return navigator.locks.request('lotwarden-renew', async () => {
    if (Number(localStorage.getItem(RENEWED)) > since) return true;
    const response = await send('POST', '/v1/sessions/refresh', { body: {} });
    if (response.status >= 500 || response.status === 429) throw await refusal(response);
    if (response.ok) localStorage.setItem(RENEWED, Date.now());
    return response.ok;
  });
}

let askToSignIn = async () => false;

/** Names who asks a person to sign in when the session is over; resolves to whether one did. */
export function onSignedOut(ask) {
  askToSignIn = ask;
}

// Whether the session is over. A secret that does not fit is refused with 401 too, and is nobody's end.
async function isOver(response) {
  if (response.status !== 401) return false;
  const problem = await response.clone().json().catch(() => ({}));
  return problem.code === 'not-signed-in';
}

/** Sends a request; a session that is over is renewed, or a person signs in, and it is sent again. */
export async function ask(method, path, options = {}) {
  const started = Date.now();
  const kept = { ...options, key: options.key ?? newKey() };
  let response = await send(method, path, kept);
  if ((await isOver(response)) && (await renew(started))) response = await send(method, path, kept);
  while ((await isOver(response)) && (await askToSignIn())) {
    response = await send(method, path, kept);
  }
  if (!response.ok) throw await refusal(response);
  return response;
}

async function json(method, path, options) {
  const response = await ask(method, path, options);
  if (response.status === 204) return null;
  const text = await response.text().catch(() => { throw new Unreached(method); });
  return JSON.parse(text);
}

// Keys of writes whose answer did not come, by what was sent: the same act again is the same request
// and counts once, whether or not the first one arrived. Hashes, because a body may hold a secret.
const unanswered = new Map();

async function actOf(...parts) {
  const text = new TextEncoder().encode(JSON.stringify(parts));
  return new Uint8Array(await crypto.subtle.digest('SHA-256', text)).join();
}

async function write(method, path, { key: own, ...sent }) {
  if (own) return json(method, path, { ...sent, key: own });
  const act = await actOf(method, path, sent);
  const key = unanswered.get(act) ?? newKey();
  try {
    const answer = await json(method, path, { ...sent, key });
    unanswered.delete(act);
    return answer;
  } catch (error) {
    // What failed inside the service may be on record all the same.
    if (error instanceof Refused && error.status < 500) unanswered.delete(act);
    else unanswered.set(act, key);
    throw error;
  }
}

/** Reads one thing. */
export const get = (path, options) => json('GET', path, options);

/** Writes; `options` may have a `version` (If-Match) and a `key` of its own. */
export const post = (path, body, options) => write('POST', path, { ...options, body });

/** Puts a new state in the place of a version. */
export const put = (path, body, version) => write('PUT', path, { body, version });

/** Ends something. */
export const remove = (path) => json('DELETE', path);

/** A query string without the empty parts. */
export function query(parts) {
  const present = Object.entries(parts).filter(([, value]) => value !== '' && value !== null && value !== undefined);
  const text = new URLSearchParams(present).toString();
  return text ? `?${text}` : '';
}

/** Reads a whole list, page by page, up to `most` items; `cut` on it says whether more follow. */
export async function all(path, parts = {}, most = 2000) {
  const items = [];
  let cursor;
  do {
    const page = await get(path + query({ ...parts, limit: 200, cursor }));
    items.push(...page.items);
    cursor = page.next;
  } while (cursor && items.length < most);
  items.cut = Boolean(cursor);
  return items;
}

// A badge carries its text in AI 92 of a GS1 symbol; typed, it stands alone.
const BADGE = /^(?:\][A-Za-z]\d)?(?:92)?LWB[A-Z2-9]{20}$/i;
const BADGE_SESSION = 'lotwarden-badge-session';

/** Whether these characters are a badge's. */
export function isBadge(text) {
  return BADGE.test(text);
}

/** Signs in by badge and PIN at this paired station; whoever was signed in here is signed out. */
export async function badgeIn(badge, pin) {
  const response = await send('POST', '/v1/stations/current/sessions', { body: { badge, pin, browser: true } });
  if (!response.ok) throw await refusal(response);
  localStorage.setItem(RENEWED, Date.now());
  sessionStorage.setItem(BADGE_SESSION, (await response.json()).session_id);
}

/** Lets the holder of a badge in whose PIN is held back; another person vouches with badge and PIN. */
export async function vouchIn(badge, voucher) {
  const response = await send('POST', '/v1/stations/current/vouches', { body: { badge, voucher, browser: true } });
  if (!response.ok) throw await refusal(response);
  localStorage.setItem(RENEWED, Date.now());
  sessionStorage.setItem(BADGE_SESSION, (await response.json()).session_id);
}

/** Whether a session was begun by badge at this station, which may then deliver its held scans. */
export function isBadgeSession(id) {
  return sessionStorage.getItem(BADGE_SESSION) === id;
}

/** What this station is, as it was paired; nothing when it is not. */
export async function pairedStation() {
  const response = await send('GET', '/v1/stations/current');
  if (response.status === 401) return null;
  if (!response.ok) throw await refusal(response);
  return response.json();
}

/** Asks with the station's own credential. */
export async function asStation(path, body) {
  const response = await send('POST', path, { body });
  if (!response.ok) throw await refusal(response);
  return response.json();
}

/** Signs in without asking anybody again. */
export async function signIn(login, password) {
  const response = await send('POST', '/v1/sessions', { body: { login, password, browser: true } });
  if (!response.ok) throw await refusal(response);
  localStorage.setItem(RENEWED, Date.now());
}

/** Gives a file to the person. */
export function save(name, blob) {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}

/** Gives rows as a CSV file (RFC 4180); no cell can be taken for a formula by a spreadsheet. */
export function saveCsv(name, headings, rows) {
  const cell = (value) => {
    const text = String(value ?? '');
    const plain = /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
    return `"${plain.replaceAll('"', '""')}"`;
  };
  const lines = [headings, ...rows].map((row) => row.map(cell).join(','));
  save(name, new Blob([`\ufeff${lines.join('\r\n')}\r\n`], { type: 'text/csv' }));
}
