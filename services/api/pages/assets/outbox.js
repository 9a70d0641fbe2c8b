// What others are told of: webhooks with the messages that wait or were given up, and the mails of
// the outbox.

import { actions, button, buttonsThen, choices, orNone, select } from './controls.js';
import { el, field, show, table } from './dom.js';
import { all, post } from './api.js';
import { count, instant } from './format.js';
import { form } from './forms.js';
import { can, step } from './shell.js';
import { said, t, word } from './texts.js';

const EVENTS = ['notice.added', 'notice.confirmed', 'notice.ended', 'notice.closed', 'notice_task.due'];
const STATES = ['dead', 'waiting', 'delivered'];

/**
 * Fills a place with webhooks, messages and mails, as far as this person may see them; `nameOf` names
 * who did something, as the ledger writes them.
 */
export async function outbox(place, nameOf) {
  const messages = el('div');
  const state = select(orNone(choices('delivery', STATES), t('outbox.every_state')), { value: 'dead' });
  const hooks = await all('/v1/webhooks');
  const known = new Map(hooks.map((one) => [one.id, one]));
  const showMessages = async () => show(messages, messageTable(await all('/v1/webhook-messages', { state: state.value }), known, showMessages));
  state.addEventListener('change', () => step(showMessages));
  show(place, webhookTable(hooks, nameOf, () => outbox(place, nameOf)),
    el('h3', {}, t('outbox.messages')), el('div', { class: 'ask' }, field(t('shelf.state'), state)), messages,
    el('h3', {}, t('outbox.mails')), el('p', { class: 'hint' }, t('outbox.mails.hint')), mailTable(can('list_mails') ? await all('/v1/mails') : []));
  await showMessages();
}

const event = (row) => word('outbox_event', row.event);

function webhookTable(hooks, nameOf, again) {
  const act = buttonsThen(again);
  const end = (row) => post(`/v1/webhooks/${row.id}/end`, {}, { version: row.version });
  return el('div', {}, table(t('outbox.webhooks'), [
    [t('outbox.address'), (row) => el('code', {}, row.address)],
    [t('outbox.events'), (row) => row.events.map((one) => word('outbox_event', one)).join(', ')],
    [t('outbox.added'), (row) => `${nameOf(row.added_by)}, ${instant(row.added_at)}`],
    [t('outbox.ended'), (row) => (row.ended_at ? `${nameOf(row.ended_by)}, ${instant(row.ended_at)}` : t('no'))],
    [t('shelf.actions'), (row) => (row.ended_at ? null : act(t('outbox.end'), () => sure(row, end), { of: row.address, needs: 'end_webhook' }))],
  ], hooks, t('outbox.webhooks.none')), actions(act(t('outbox.add'), add, { needs: 'add_webhook' })));
}

const sure = (row, end) => form(t('outbox.end'), [], () => end(row), el('p', {}, t('outbox.end.why', { address: row.address })));

const add = () => form(t('outbox.add'), [
  { name: 'address', label: t('outbox.address'), hint: t('outbox.address.hint'), most: 500 },
  ...EVENTS.map((name) => ({ name, label: word('outbox_event', name), kind: 'check', value: true })),
  { name: 'secret', label: t('outbox.secret'), hint: t('outbox.secret.hint'), kind: 'password', complete: 'off' },
], ({ address, secret, ...chosen }) => post('/v1/webhooks', { address, secret, events: EVENTS.filter((name) => chosen[name]) }));

function messageTable(messages, hooks, again) {
  const resend = async (row) => {
    await post(`/v1/webhook-messages/${row.id}/resend`, {}, { version: row.version });
    await again();
  };
  const next = (row) => (row.next_at ? t('outbox.next', { at: instant(row.next_at) }) : '');
  return table(t('outbox.messages'), [
    [t('outbox.event'), event],
    [t('outbox.address'), (row) => hooks.get(row.webhook_id)?.address ?? ''],
    [t('outbox.written'), (row) => instant(row.created_at)],
    [t('shelf.state'), (row) => [el('span', { class: `state ${row.state === 'dead' ? 'past' : 'later'}` }, word('delivery', row.state)), el('div', {}, next(row))]],
    [t('outbox.attempts'), (row) => count(row.attempts), 'number'],
    [t('outbox.last'), (row) => (row.last_at ? `${said(row.last_answer) ?? row.last_answer}, ${instant(row.last_at)}` : '')],
    [t('shelf.actions'), (row) => (row.state === 'waiting' || hooks.get(row.webhook_id)?.ended_at ? null : button(t('outbox.resend'), () => resend(row), { of: `${event(row)}, ${instant(row.created_at)}`, needs: 'resend_message' }))],
  ], [...messages].reverse(), t('outbox.messages.none'));
}

function mailTable(mails) {
  return table(t('outbox.mails'), [
    [t('outbox.event'), event],
    [t('outbox.written'), (row) => instant(row.created_at)],
    [t('outbox.handed'), (row) => (row.handed_at ? instant(row.handed_at) : t('outbox.not_handed'))],
    [t('outbox.mail'), (row) => el('details', {}, el('summary', {}, t('outbox.read')), el('p', { class: 'notice-text' }, row.message))],
  ], [...mails].reverse(), t('outbox.mails.none'));
}
