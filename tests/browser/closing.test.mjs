// What closes a case: signatures, amendments beside the signed record, documents, follow-ups due.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, close, label, newLot, openCase, openSheet, person, receive, shot, signedIn, violations } from './harness.mjs';

const procedure = `Closing ${process.pid}`;
const practitioner = person('practitioner');
let page;
let path;

before(async () => {
  const opened = await openCase(procedure);
  path = `/v1/cases/${opened.id}`;
  const circulator = person('circulator');
  const lot = newLot('CA');
  await receive(label.cannula(lot));
  await api(circulator, 'POST', `${path}/scans`, { text: label.cannula(lot) });
  for (const verb of ['start', 'complete']) {
    const { version } = await api(circulator, 'GET', path);
    await api(circulator, 'POST', `${path}/${verb}`, {}, version);
  }
  const { version } = await api(practitioner, 'GET', path);
  await api(practitioner, 'POST', `${path}/sign`, { meaning: 'Record reviewed', password: practitioner.password }, version);
  page = await signedIn(practitioner, '/station', { bypassCSP: true });
});
after(close);

const entry = (name) => page.locator('#dialog').getByLabel(name);

test('a signed record is amended beside it, with old and new value', async () => {
  await openSheet(page, procedure);
  await page.waitForSelector('#record details');
  await page.click('#record details[data-part^="Signatures"] summary');
  assert.match(await page.textContent('#record'), /as signed/);
  await page.click('#record button:has-text("Amend the record")');
  await entry('What').selectOption({ label: `Record as a whole ${procedure}: Procedure` });
  assert.equal(await page.textContent('#dialog output'), procedure);
  await entry('New value').fill('Another procedure');
  await entry('Reason').fill('Wrong line chosen');
  await entry('Password').fill(practitioner.password);
  await shot(page, 'station-amend');
  await page.click('#dialog .actions button.primary');
  await page.waitForSelector('#record tr:has-text("Another procedure"):has-text("Wrong line chosen")');
  const shown = await api(practitioner, 'GET', path);
  assert.equal(shown.signatures[0].unchanged, true);
  assert.equal(shown.amendments[0].old_value, procedure);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'station-closing');
});

test('the documents open from the case, are never kept, and name nobody in their address', async () => {
  await page.click('#record details[data-part^="Documents"] summary');
  const links = await page.$$eval('#record a[href^="/v1/cases/"]', (all) => all.map((one) => one.getAttribute('href')));
  assert.equal(links.length, 5);
  for (const link of links) {
    assert.match(link, /^\/v1\/cases\/[0-9a-f-]{36}\/[a-z-]+(\?format=[a-z]+)?$/);
    const answer = await page.evaluate(async (address) => {
      const response = await fetch(address);
      return { status: response.status, kept: response.headers.get('cache-control'), size: (await response.blob()).size };
    }, link);
    assert.equal(answer.status, 200, link);
    assert.equal(answer.kept, 'no-store');
    assert.ok(answer.size > 200, link);
  }
});

test('follow-ups are due on the station, and the site sees its own list', async () => {
  const compliance = person('compliance');
  const name = `Call ${process.pid}`;
  await api(compliance, 'POST', '/v1/follow-up-rules', { name, days: 0, source: 'Site policy 31' });
  await page.reload();
  await page.waitForSelector(`#follow-ups tr:has-text("${name}"):has-text("${procedure}")`);
  assert.match(await page.textContent('#follow-ups'), /Site policy 31/);
  await page.click(`#follow-ups button[aria-label="Record as done: ${name}, ${procedure}"]`);
  await entry('What came of it').fill('Reached; no complaints');
  await page.click('#dialog .actions button.primary');
  await page.waitForSelector(`#follow-ups tr:has-text("${name}"):has-text("${procedure}")`, { state: 'detached' });
  assert.deepEqual(await violations(page), []);
  await shot(page, 'station-follow-ups');
  assert.deepEqual(page.faults, []);
});
