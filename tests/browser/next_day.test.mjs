// The day before: what stands against a case, its picking list, and taking the items out.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, close, label, newLot, openCase, person, receive, shot, signedIn, violations } from './harness.mjs';

const procedure = `Next day ${process.pid}`;
const materials = person('materials');
let page;
let product;

before(async () => {
  await openCase(procedure);
  const received = await receive(label.cannula(newLot('CA')), 3);
  product = received.lines[0].product_name;
  page = await signedIn(materials, '/next-day', { bypassCSP: true });
});
after(close);

const entry = (name) => page.locator('#dialog .field', { hasText: name }).locator('input, textarea, select').first();
const row = `#cases tr:has-text("${procedure}")`;

test('a case without a list says so, and with one every reason is named', async () => {
  // The facility's day may be another than this machine's; the case is planned for now.
  const cases = (await api(materials, 'GET', '/v1/cases?limit=200')).items;
  assert.ok(cases.some((one) => one.procedure === procedure));
  await page.fill('#day', await page.evaluate(async () => (await import('/assets/format.js')).today()));
  await page.dispatchEvent('#day', 'change');
  await page.waitForSelector(`${row}:has-text("There is no preference list")`);
  await page.click('#list-actions button');
  await entry('Procedure').fill(procedure);
  await entry('Items').fill(`2 + 1 ${product}`);
  await page.click('#dialog .actions button.primary');
  await page.waitForSelector(`#lists tr:has-text("${procedure}"):has-text("2 + 1 ${product}")`);
  await page.waitForFunction((text) => !document.querySelector('#cases')?.textContent.includes(`There is no preference list for ${text}`), procedure);
  assert.deepEqual(page.faults, []);
});

test('the picking list names place and lot, and what was taken out is recorded', async () => {
  await page.click(`${row} button`);
  await page.waitForSelector(`#picking tr:has-text("${product}")`);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'next-day-picking');
  await page.click('#picking button.primary');
  await page.waitForSelector('#picking:has-text("Nothing is to be taken")');
  assert.deepEqual(page.faults, []);
});
