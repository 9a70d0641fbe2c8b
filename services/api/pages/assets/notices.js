// The recall desk: which notices there are, taking one in, and what is overdue.

import { button } from './controls.js';
import { byId, el, show, table } from './dom.js';
import { all } from './api.js';
import { columns } from './charts.js';
import { count, day, instant } from './format.js';
import { openDesk } from './notice_desk.js';
import { takeIn } from './notice_in.js';
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

start(async () => {
  byId('take-in').hidden = !can('add_notice');
  byId('take-in').addEventListener('click', async () => {
    const added = await takeIn();
    if (added) await step(() => enter(added.id));
  });
  byId('settings-section').hidden = !can('show_notice_policy');
  for (const id of ['state', 'in-catalogue']) byId(id).addEventListener('change', () => step(load));
  await load();
  if (can('show_notice_policy')) await deskSettings(byId('settings'));
});
