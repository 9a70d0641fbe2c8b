// The settings of the recall desk: how long each task may take by class, who is reminded, and the
// letters to patients.

import { actions, buttonsThen, choices, select } from './controls.js';
import { el, facts, show, table } from './dom.js';
import { get, put } from './api.js';
import { count } from './format.js';
import { form } from './forms.js';
import { t, word } from './texts.js';

const CLASSES = ['I', 'II', 'III'];
const UNITS = ['hours', 'work_days', 'days'];

const kindsOf = (policy) => [...new Set(policy.targets.map((one) => one.kind))];
const targetOf = (targets, kind, klass) => targets.find((one) => one.kind === kind && one.class === klass);
const reason = () => ({ name: 'reason', label: t('reason') });

/** Fills a place with the settings; who may change them gets buttons. */
export async function deskSettings(place) {
  const policy = await get('/v1/notice-policy');
  const act = buttonsThen(() => deskSettings(place));
  const spans = { hours: 'desk.span.hours', work_days: 'desk.span.work_days', days: 'desk.span.days' };
  const span = ({ after, unit }) => t(spans[unit], { number: count(after) });
  const needs = 'change_notice_policy';
  show(place,
    table(t('desk.targets'), [
      [t('people.task'), (kind) => word('notice_task', kind)],
      ...CLASSES.map((klass) => [t('desk.class', { class: klass }), (kind) => span(targetOf(policy.targets, kind, klass))]),
    ], kindsOf(policy), ''),
    facts([
      [t('desk.remind'), t('desk.remind.hours', { hours: count(policy.remind_hours) })],
      [t('desk.mail_from'), policy.mail_from ?? t('desk.no_mail')],
      [t('desk.mail_to'), policy.mail_to.join(', ')],
    ]),
    ...['en', 'de'].map((language) => el('details', {}, el('summary', {}, t(`work.letter.${language}`)), el('p', { class: 'notice-text', lang: language }, policy.letters[language]))),
    actions(
      act(t('desk.change_targets'), () => changeTargets(policy), { needs }),
      act(t('desk.change_mail'), () => changeMail(policy), { needs }),
      act(t('desk.change_letters'), () => changeLetters(policy), { needs })));
}

// The settings are one record: what a dialog does not ask for stays as it was read.
function change({ letters, mail_from: from, mail_to: to, remind_hours: hours, targets, version }, changed) {
  return put('/v1/notice-policy', { letters, mail_from: from, mail_to: to, remind_hours: hours, targets, ...changed }, version);
}

function changeTargets(policy) {
  const inputs = policy.targets.map((one, at) => {
    const of = `${word('notice_task', one.kind)}, ${t('desk.class', { class: one.class })}`;
    return {
      ...one,
      number: el('input', { name: `targets/${at}/after`, type: 'number', min: 1, max: 8760, value: one.after, 'aria-label': t('desk.after.of', { of }) }),
      list: select(choices('target_unit', UNITS), { name: `targets/${at}/unit`, value: one.unit, 'aria-label': t('desk.unit.of', { of }) }),
    };
  });
  const grid = table(t('desk.targets'), [
    [t('people.task'), (kind) => word('notice_task', kind)],
    ...CLASSES.map((klass) => [t('desk.class', { class: klass }), (kind) => {
      const { number, list } = targetOf(inputs, kind, klass);
      return el('div', { class: 'span' }, number, list);
    }]),
  ], kindsOf(policy), '');
  const targets = () => inputs.map(({ kind, class: klass, number, list }) => ({ kind, class: klass, after: Number(number.value), unit: list.value }));
  return form(t('desk.change_targets'), [reason()], (values) => change(policy, { targets: targets(), ...values }), el('div', {}, el('p', {}, t('desk.targets.why')), grid));
}

function changeMail(policy) {
  return form(t('desk.change_mail'), [
    { name: 'remind_hours', label: t('desk.remind.before'), kind: 'number', value: policy.remind_hours },
    { name: 'mail_from', label: t('desk.mail_from'), hint: t('desk.mail_from.hint'), most: 254, value: policy.mail_from ?? '', required: false },
    { name: 'mail_to', label: t('desk.mail_to'), hint: t('desk.mail_to.hint'), kind: 'long', list: true, most: 6000, value: policy.mail_to.join('\n') },
    reason(),
  ], (values) => change(policy, values));
}

function changeLetters(policy) {
  const fields = policy.letter_fields.map((name) => `{${name}}`).join(' ');
  const letter = (language) => ({ name: language, label: t(`work.letter.${language}`), hint: t('desk.letter.hint', { fields }), kind: 'long', rows: 14, most: 10000, value: policy.letters[language] });
  return form(t('desk.change_letters'), [letter('en'), letter('de'), reason()], ({ en, de, ...values }) => change(policy, { letters: { en, de }, ...values }));
}
