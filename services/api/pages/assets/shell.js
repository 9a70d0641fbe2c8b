// What every page has: the session, the way around, language and theme, and the idle lock.

import { byId, el, labelOf, show } from './dom.js';
import { Refused, Unreached, all, get, onSignedOut, remove } from './api.js';
import { useZone } from './format.js';
import { askToSignIn } from './sign_in.js';
import { t } from './texts.js';

const SEEN = 'lotwarden-session';

/** Who is signed in: `{id, name, roles, facility_name, time_zone}`. */
export let session = null;
let allowed = new Set();
let idleMinutes = 15;

/** Whether this person may do an action of the policy. */
export function can(action) {
  return allowed.has(action);
}

/** Says what went wrong, where everybody sees and hears it; nothing clears it. */
export function trouble(error) {
  // What is behind an open dialog cannot be seen: it is said in the dialog too.
  const dialog = document.querySelector('#dialog[open]');
  const boxes = [byId('trouble'), dialog?.querySelector('.dialog-trouble')].filter(Boolean);
  if (!error) {
    for (const box of boxes) box.hidden = true;
    return;
  }
  if (!(error instanceof Refused) && !(error instanceof Unreached)) console.error(error);
  // What the service found wrong is said by the labels that stand there.
  const words = error instanceof Refused ? error.inWords((pointer) => labelOf(dialog ?? byId('page'), pointer)) : error.message ?? String(error);
  for (const box of boxes) show(box, el('strong', {}, t('trouble')), ' ', words);
}

/** Says in the dialog, while one is open, what happened on the page behind it. */
export function meanwhile(...content) {
  const box = document.querySelector('#dialog[open] .meanwhile');
  if (box) show(box, ...content);
}

// The one that the step under way is for, where several buttons say the same.
let about = '';

/** Runs a step of a page; what goes wrong is said, and the button that began it waits meanwhile. */
export async function step(run, button) {
  trouble(null);
  if (button) {
    button.disabled = true;
    about = button.dataset.of ?? '';
  }
  byId('page').setAttribute('aria-busy', 'true');
  try {
    return await run();
  } catch (error) {
    trouble(error);
    return undefined;
  } finally {
    if (button) button.disabled = false;
    byId('page').removeAttribute('aria-busy');
  }
}

let closed = Promise.resolve();

/**
 * Opens the page's dialog with a title and content; resolves to the value it was closed with. A
 * second one waits until the first is closed.
 */
export function dialog(title, content, actions) {
  const of = about;
  const opened = closed.then(() => openDialog(title, of, content, actions));
  closed = opened.catch(() => {});
  return opened;
}

function openDialog(title, of, content, actions) {
  const box = byId('dialog');
  const before = document.activeElement;
  return new Promise((resolve) => {
    let answer = null;
    const button = ({ label, value, primary, run }) => el('button', {
      type: 'button', class: primary ? 'primary' : null,
      onclick: async (event) => {
        const result = run ? await step(run, event.currentTarget) : value;
        if (run && result === undefined) return;
        answer = result;
        box.close();
      },
    }, label);
    // Where nothing can be done there is nothing to call off.
    const cancel = { label: actions.length ? t('cancel') : t('close'), value: null };
    show(box, el('h2', { id: 'dialog-title' }, title), of && of !== title ? el('p', { class: 'about' }, of) : null, el('div', { class: 'meanwhile', role: 'status', hidden: true }), content,
      el('p', { role: 'alert', class: 'dialog-trouble', hidden: true }),
      el('div', { class: 'actions' }, [...actions, cancel].map(button)));
    box.addEventListener('close', () => {
      before?.focus?.();
      resolve(answer);
    }, { once: true });
    box.showModal();
  });
}

async function whoIsHere() {
  session = await get('/v1/sessions/current');
  const policy = await get('/v1/policy');
  const mine = policy.actions.filter((row) => row.roles.some((role) => session.roles.includes(role)));
  allowed = new Set(mine.map((row) => row.action));
  idleMinutes = policy.settings.idle_lock_minutes;
  // Staff only, for a reload without a network; never a patient.
  sessionStorage.setItem(SEEN, JSON.stringify({ session, allowed: [...allowed] }));
  showWho();
}

/** Asks somebody to sign in; when somebody did, this page knows who it is and what they may do. */
export async function askWho(why, options) {
  const somebody = await askToSignIn(why, options);
  if (somebody) await whoIsHere();
  return somebody;
}

function showWho() {
  useZone(session.time_zone);
  byId('who').hidden = false;
  byId('who-name').textContent = `${session.name} · ${session.facility_name}`;
}

function remembered() {
  const seen = JSON.parse(sessionStorage.getItem(SEEN) ?? 'null');
  if (!seen) return false;
  ({ session } = seen);
  allowed = new Set(seen.allowed);
  showWho();
  return true;
}

async function signOut() {
  await step(() => remove('/v1/sessions/current'), byId('sign-out'));
  sessionStorage.removeItem(SEEN);
  location.reload();
}

// After the site's minutes without a key or a touch the session ends and somebody signs in; the sheet stays.
// Without a network nobody could sign in again, so the lock waits for it.
function lockWhenIdle() {
  let last = Date.now();
  for (const kind of ['keydown', 'pointerdown']) {
    document.addEventListener(kind, () => { last = Date.now(); }, { capture: true, passive: true });
  }
  setInterval(async () => {
    if (Date.now() - last < idleMinutes * 60000) return;
    last = Date.now();
    try {
      await remove('/v1/sessions/current');
    } catch {
      return;
    }
    await askWho(t('sign_in.locked'));
  }, 15000);
}

function choices() {
  const theme = byId('theme');
  theme.value = localStorage.getItem('lotwarden-theme') ?? '';
  const apply = () => { document.documentElement.dataset.theme = theme.value; };
  apply();
  theme.addEventListener('change', () => {
    localStorage.setItem('lotwarden-theme', theme.value);
    apply();
  });
  byId('language').addEventListener('change', (event) => {
    document.cookie = `lotwarden-language=${event.target.value}; path=/; max-age=31536000; samesite=strict`;
    location.reload();
  });
}

const WORKER = '/worker.js';

// The pages' policy lets scripts come from one address only, the worker's.
function keepPages() {
  const one = { createScriptURL: (address) => (address === WORKER ? address : '') };
  const address = window.trustedTypes?.createPolicy('worker', one).createScriptURL(WORKER) ?? WORKER;
  navigator.serviceWorker?.register(address).catch((error) => console.error(error));
}

/** Starts a page: somebody is signed in, then `run` fills it. */
export async function start(run) {
  choices();
  onSignedOut(() => askWho());
  byId('sign-out').addEventListener('click', signOut);
  keepPages();
  try {
    await whoIsHere();
  } catch (error) {
    if (!(error instanceof Unreached) || !remembered()) {
      trouble(error);
      return;
    }
  }
  lockWhenIdle();
  byId('page').hidden = false;
  await step(run);
}

/** Names of places by id. */
export async function placeNames() {
  const places = await all('/v1/locations');
  return new Map(places.map((place) => [place.id, place.name]));
}
