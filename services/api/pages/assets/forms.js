// Dialogs made of fields: each a name, a label and a kind.

import { select } from './controls.js';
import { el, facts, field } from './dom.js';
import { separatorsOf } from './capture.js';
import { Refused, get, isBadgeSession, post } from './api.js';
import { day } from './format.js';
import { dialog, session } from './shell.js';
import { t } from './texts.js';

// Spreadsheets save text as UTF-8 or, older ones, as Windows-1252.
async function textOf(file) {
  const bytes = await file.arrayBuffer();
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

/** A field that puts a file's text into another one. */
function fileFor(area, label) {
  const input = el('input', { type: 'file', accept: '.csv,.tsv,.txt,text/*' });
  input.addEventListener('change', async () => {
    if (input.files[0]) area.value = await textOf(input.files[0]);
  });
  return field(label, input);
}

/**
 * One field of a dialog. Kinds: text, scan, long, number, date, time, password, check, or a list of
 * choices.
 */
function input({ kind = 'text', value = '', choices, most = 500, rows = 6, required = true, complete, mode }) {
  if (choices) return select(choices, { value });
  if (kind === 'long') return el('textarea', { rows, maxlength: most, required, value });
  const made = el('input', {
    type: { check: 'checkbox', scan: 'text' }[kind] ?? kind,
    maxlength: { text: most, scan: most, password: 256 }[kind],
    min: kind === 'number' ? 0 : null,
    required: required && kind !== 'check',
    autocomplete: complete ?? (kind === 'password' ? 'current-password' : 'off'),
    inputmode: mode,
    value,
  });
  if (kind === 'check') made.checked = value === true;
  if (kind === 'scan') made.whole = separatorsOf(made);
  return made;
}

function read(one, made) {
  if (one.kind === 'check') return made.checked;
  if (one.kind === 'number') return made.value === '' ? undefined : Number(made.value);
  const text = made.whole ? made.whole() : one.kind === 'password' ? made.value : made.value.trim();
  if (text === '' && one.required === false) return undefined;
  if (text === '' && one.kind === 'time') throw new Error(t('time.missing', { label: one.label }));
  return one.list ? text.split('\n').map((line) => line.trim()).filter(Boolean) : text;
}

/** What a signer is asked for: badge and PIN where the session was begun with them, else the password. */
export function signerFields() {
  if (!isBadgeSession(session.session_id)) return [{ name: 'password', label: t('password'), kind: 'password' }];
  return [
    { name: 'badge', label: t('sign.badge'), hint: t('sign.badge.hint'), kind: 'password', complete: 'off' },
    { name: 'pin', label: t('sign.pin'), kind: 'password', complete: 'off', mode: 'numeric' },
  ];
}

/** The values of a form with the signer's fields, as requests have them. */
export function signed({ badge, pin, ...values }) {
  return badge === undefined ? values : { ...values, by_badge: { badge: badge.trim(), pin } };
}

// A field's label by its JSON pointer; of a list, with the number of the line.
function labelOf(fields, pointer) {
  const parts = pointer.split('/').slice(1);
  const one = fields.find((field) => parts.includes(field.name));
  if (!one) return parts.join('/');
  const at = parts[parts.indexOf(one.name) + 1] ?? '';
  return /^\d+$/.test(at) ? `${one.label} ${Number(at) + 1}` : one.label;
}

/** Asks for fields and runs with their values; resolves to what `run` gave, or null. */
export async function form(title, fields, run, before = null) {
  const made = fields.map((one) => input(one));
  const content = el('div', { class: 'fields' }, before, fields.flatMap((one, at) => (one.kind === 'check'
    ? el('label', { class: 'check' }, made[at], ` ${one.label}`)
    : [field(one.label, made[at], one.hint), one.file ? fileFor(made[at], one.file) : null])));
  const values = () => Object.fromEntries(fields.map((one, at) => [one.name, read(one, made[at])]));
  const sent = async () => {
    try {
      return await run(values());
    } catch (error) {
      // What the service found wrong is said by the labels that stand in the dialog.
      if (error instanceof Refused) error.message = error.inWords((pointer) => labelOf(fields, pointer));
      throw error;
    }
  };
  return dialog(title, content, [{ label: title, primary: true, run: sent }]);
}

/** Asks for a reason and runs with `{reason}`. */
export const withReason = (title, run, before) => form(title, [{ name: 'reason', label: t('reason') }], run, before);

/** Shows the patient of a case; the ledger says that they were shown. */
export async function showPatient(caseId) {
  const { name, record_number: number, born_on: born } = await get(`/v1/cases/${caseId}/patient`);
  await dialog(t('patient'), facts([[t('patient'), name], [t('record_number'), number], [t('born_on'), day(born)]]), []);
}

/** The item of a label that was scanned into a dialog, as the record has it. */
export async function itemOf(text) {
  const { on_record: item } = await post('/v1/readings', { text });
  if (!item) throw new Error(t('item.not_on_record'));
  return item;
}
