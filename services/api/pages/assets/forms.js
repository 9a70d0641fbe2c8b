// Dialogs made of fields: each a name, a label and a kind.

import { named, orNone, select } from './controls.js';
import { el, facts, field } from './dom.js';
import { separatorsOf } from './capture.js';
import { all, get, isBadgeSession, post } from './api.js';
import { count, day } from './format.js';
import { dialog, session, step } from './shell.js';
import { t } from './texts.js';

// A workbook of a spreadsheet (XLSX) is a ZIP archive and begins as one (APPNOTE.TXT, 4.3.7).
const isWorkbook = (bytes) => [0x50, 0x4b, 0x03, 0x04].every((byte, at) => bytes[at] === byte);

/** The largest workbook that the service takes, in bytes. */
const LARGEST_WORKBOOK = 3000000;

// Spreadsheets save text as UTF-8 or, older ones, as Windows-1252.
function textOf(bytes) {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

function base64(file) {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result.split(',')[1]);
    reader.onerror = () => reject(reader.error);
    reader.readAsDataURL(file);
  });
}

/** A field that puts a file's text into another one, or its workbook in that one's place. */
function fileFor(area, label) {
  const input = el('input', { type: 'file', name: 'workbook', accept: '.csv,.tsv,.txt,.xlsx,text/*' });
  input.addEventListener('change', () => step(async () => {
    const [file] = input.files;
    [area.workbook, area.value, area.disabled] = [undefined, '', false];
    if (!file) return;
    const bytes = new Uint8Array(await file.arrayBuffer());
    if (!isWorkbook(bytes)) {
      area.value = textOf(bytes);
      return;
    }
    if (file.size > LARGEST_WORKBOOK) {
      input.value = '';
      throw new Error(t('file.too_large', { megabytes: count(LARGEST_WORKBOOK / 1000000) }));
    }
    [area.workbook, area.value, area.disabled] = [await base64(file), t('file.workbook', { name: file.name }), true];
  }));
  return field(label, input, t('file.hint', { megabytes: count(LARGEST_WORKBOOK / 1000000) }));
}

/**
 * One field of a dialog. Kinds: text, scan, long, number, date, time, password, check, or a list of
 * choices.
 */
function input({ name, kind = 'text', value = '', choices, most = 500, rows = 6, required = true, complete, mode }) {
  if (choices) return select(choices, { name, value });
  if (kind === 'long') return el('textarea', { name, rows, maxlength: most, required, value });
  const made = el('input', {
    name,
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

/** The field for who saw something destroyed; needed for that alone. */
export async function witnessField() {
  const people = await all('/v1/witnesses');
  return { name: 'witness_id', label: t('work.witness'), hint: t('work.witness.hint'), required: false, choices: orNone(named(people)) };
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

/** Asks for fields and runs with their values; resolves to what `run` gave, or null. */
export async function form(title, fields, run, before = null) {
  const made = fields.map((one) => input(one));
  const content = el('div', { class: 'fields' }, before, fields.flatMap((one, at) => (one.kind === 'check'
    ? el('label', { class: 'check' }, made[at], ` ${one.label}`)
    : [field(one.label, made[at], one.hint), one.file ? fileFor(made[at], one.file) : null])));
  const value = (one, at) => (made[at].workbook ? ['workbook', made[at].workbook] : [one.name, read(one, made[at])]);
  const values = () => Object.fromEntries(fields.map(value));
  return dialog(title, content, [{ label: title, primary: true, run: () => run(values()) }]);
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
