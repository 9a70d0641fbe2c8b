// The recall desk: which notices there are, taking one in, and what is overdue.

import { button, choices, orNone } from './controls.js';
import { byId, el, show, table } from './dom.js';
import { all, post } from './api.js';
import { columns } from './charts.js';
import { count, day, instant } from './format.js';
import { form } from './forms.js';
import { openDesk } from './notice_desk.js';
import { deskSettings } from './notice_settings.js';
import { can, start, step } from './shell.js';
import { t, word } from './texts.js';

const STATES = ['unconfirmed', 'open', 'closed', 'withdrawn'];

async function load() {
  byId('desk').hidden = true;
  byId('list').hidden = false;
  const notices = await all('/v1/notices', { in_catalogue: byId('in-catalogue').checked || '', state: byId('state').value });
  const open = (row) => button(t('notices.open'), () => enter(row.id), { of: row.reference });
  const tally = STATES.map((one) => ({ label: [word('notice_state', one)], value: notices.filter((row) => row.state === one).length, kind: one === 'unconfirmed' ? 'soon' : one === 'open' ? 'past' : 'later' }));
  show(byId('progress'), notices.length && !byId('state').value ? columns(t('notices.progress'), tally) : null);
  show(byId('notices'), table(t('notices.title'), [
    [t('notices.reference'), (row) => row.reference],
    [t('notices.firm'), (row) => row.firm],
    [t('notices.product'), (row) => row.product.slice(0, 120)],
    [t('notices.class'), (row) => row.class ?? t('notices.class.none')],
    [t('notices.received'), (row) => day(row.received_on), 'date'],
    [t('notices.state'), (row) => word('notice_state', row.state)],
    [t('shelf.actions'), open],
  ], [...notices].reverse(), t('notices.empty')), notices.cut ? el('p', { class: 'caution' }, t('list.cut', { number: count(notices.length) })) : null);
  const overdue = await all('/v1/notice-tasks', { overdue: true });
  const names = new Map(notices.map((row) => [row.id, row.reference]));
  show(byId('overdue'), table(t('notices.overdue'), [
    [t('people.task'), (row) => word('notice_task', row.kind)],
    [t('notices.reference'), (row) => names.get(row.notice_id) ?? ''],
    [t('people.review.due'), (row) => instant(row.due_at)],
  ], overdue, t('notices.overdue.none')));
}

async function enter(id) {
  byId('list').hidden = true;
  byId('desk').hidden = false;
  await openDesk(byId('desk'), id, () => step(load));
}

async function takeIn() {
  const fields = [
    { name: 'firm', label: t('notices.firm') },
    { name: 'reference', label: t('notices.reference'), most: 100 },
    { name: 'class', label: t('notices.class'), choices: orNone(['I', 'II', 'III'].map((one) => [one, one]), t('notices.class.none')), required: false },
    { name: 'source', label: t('notices.source'), choices: choices('notice_source', ['letter', 'mail', 'telephone', 'distributor', 'feed']) },
    { name: 'product', label: t('notices.product'), required: false },
    { name: 'reason', label: t('notices.reason'), required: false },
    { name: 'text', label: t('notices.text'), hint: t('notices.text.hint'), kind: 'long', most: 1000000, file: t('notices.file') },
  ];
  const run = (values) => post('/v1/notices', { ...values, product: values.product ?? '', reason: values.reason ?? '' });
  const added = await form(t('notices.take_in'), fields, run);
  if (added) await step(() => enter(added.id));
}

start(async () => {
  byId('take-in').hidden = !can('add_notice');
  byId('take-in').addEventListener('click', takeIn);
  byId('settings-section').hidden = !can('show_notice_policy');
  for (const id of ['state', 'in-catalogue']) byId(id).addEventListener('change', () => step(load));
  await load();
  if (can('show_notice_policy')) await deskSettings(byId('settings'));
});
