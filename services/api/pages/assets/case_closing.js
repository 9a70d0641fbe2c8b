// What closes a case's record: its signatures, amendments beside the signed record, and documents.

import { actions, button, select } from './controls.js';
import { el, field, table } from './dom.js';
import { get, post } from './api.js';
import { day, instant, today } from './format.js';
import { form, signed, signerFields } from './forms.js';
import { can } from './shell.js';
import { mark } from './verdict.js';
import { t, word } from './texts.js';

const DOCUMENTS = [
  ['show_device_record', 'device-record', 'documents.device_record'],
  ['show_chart_record', 'chart-record', 'documents.chart_record'],
  ['show_chart_bundle', 'chart-bundle', 'documents.chart_bundle'],
  ['show_billing_list', 'billing-list?format=csv', 'documents.billing_csv'],
  ['show_billing_list', 'billing-list?format=xlsx', 'documents.billing_xlsx'],
];

/** Links to the documents of a case that this person may have; they open beside the sheet. */
export function documents({ id }) {
  const links = DOCUMENTS.filter(([action]) => can(action));
  if (links.length === 0) return null;
  return el('div', {}, el('p', { class: 'hint' }, t('documents.why')), actions(
    links.map(([, path, label]) => el('a', { class: 'button', href: `/v1/cases/${id}/${path}`, target: '_blank', rel: 'noopener' }, t(label)))));
}

/** Signatures, amendments and until when the record is kept; `act` makes the button that amends. */
export function signatures(one, act, retention) {
  return el('div', {}, table(t('closing.signatures'), [
    [t('people.name'), (row) => row.name], [t('station.meaning'), (row) => row.meaning], [t('closing.signed_at'), (row) => instant(row.signed_at)],
    [t('closing.position'), (row) => String(row.position), 'number'],
    [t('closing.record'), (row) => (row.unchanged ? t('closing.unchanged') : [mark('look'), ` ${t('closing.changed')}`])],
  ], one.signatures, t('closing.not_signed')),
  one.signatures.length === 0 ? null : table(t('closing.amendments', { number: String(one.amendments.length) }), [
    [t('closing.what'), (row) => [word('part', row.part), row.field && word('stated', row.field)].filter(Boolean).join(': ')],
    [t('closing.old'), (row) => row.old_value ?? t('closing.not_recorded')], [t('closing.new'), (row) => row.new_value], [t('reason'), (row) => row.reason],
    [t('closing.signed'), (row) => `${row.name}, ${instant(row.signed_at)}, ${row.meaning}`],
  ], one.amendments, t('closing.no_amendments')),
  one.signatures.length > 0 ? actions(act(t('closing.amend'), () => amend(`/v1/cases/${one.id}`), { needs: 'amend_case' })) : null,
  retention ? el('p', { class: 'hint' }, `${retention.until ? t('closing.kept', { day: day(retention.until) }) : t('closing.kept_at_least')} ${retention.rules.map((rule) => `${day(rule.until)} (${word('retention', rule.rule)}: ${rule.source})`).join('; ')}. ${t('caution.retention')}`) : null);
}

// The old value is what the record states now; the service refuses it when somebody amended meanwhile.
async function amend(path) {
  const { parts } = await get(`${path}/record`);
  const choices = parts.flatMap((part) => [{ part }, ...part.values.map((value) => ({ part, value }))]);
  const label = ({ part, value }) => `${word('part', part.part)} ${part.name}: ${value ? word('stated', value.field) : t('closing.addition')}`;
  const what = select(choices.map((one, at) => [at, label(one)]), { name: 'field' });
  const old = el('output', { name: 'old_value' });
  const chosen = () => choices[Number(what.value)];
  const stands = () => { old.value = chosen().value ? chosen().value.value ?? t('closing.not_recorded') : ''; };
  what.addEventListener('change', stands);
  stands();
  return form(t('closing.amend'), [
    { name: 'new_value', label: t('closing.new'), kind: 'long', most: 1000 }, { name: 'reason', label: t('reason') },
    { name: 'meaning', label: t('station.meaning'), most: 200, value: t('closing.meaning') }, ...signerFields(),
  ], (values) => {
    const { part, value } = chosen();
    return post(`${path}/amendments`, {
      part: part.part, ...(part.part === 'record' ? {} : { part_id: part.part_id }),
      ...(value ? { field: value.field, ...(value.value === undefined ? {} : { old_value: value.value }) } : {}),
      ...signed(values),
    });
  }, el('div', { class: 'fields' }, el('p', {}, t('closing.why')), field(t('closing.what'), what), field(t('closing.old'), old)));
}

/** The surgical log of days, chosen here and opened beside the page. */
export function surgicalLog() {
  const [from, to] = [0, 1].map(() => el('input', { type: 'date', value: today(), required: true }));
  const kind = select(['pdf', 'csv'].map((one) => [one, one.toUpperCase()]));
  const open = async () => window.open(`/v1/surgical-log?from=${from.value}&to=${to.value}&format=${kind.value}`, '_blank', 'noopener');
  return el('div', { class: 'ask' }, field(t('documents.from'), from), field(t('documents.to'), to), field(t('documents.form'), kind),
    button(t('documents.surgical_log'), open));
}
