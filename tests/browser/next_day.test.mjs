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

test('the reasons are said in the language of the page', async () => {
  const german = await signedIn(materials, '/next-day', { bypassCSP: true, locale: 'de' });
  const other = `${procedure}, nichts da`;
  await openCase(other);
  await german.fill('#day', await german.evaluate(async () => (await import('/assets/format.js')).today()));
  await german.dispatchEvent('#day', 'change');
  await german.waitForSelector(`#cases tr:has-text("${other}"):has-text("Keine Liste: Für ${other} gibt es keine Liste")`);
  const [known] = (await api(materials, 'GET', `/v1/products?q=${encodeURIComponent(product)}`)).items;
  await api(materials, 'POST', '/v1/lists', { procedure: other, items: [{ product_id: known.id, open: 900, hold: 0 }], kinds: [{ kind: 'garment', open: 900, hold: 0 }], equipment: ['generator'] });
  await german.dispatchEvent('#day', 'change');
  await german.waitForSelector(`#cases tr:has-text("${other}"):has-text("Kleidung: 900 gebraucht")`);
  assert.match(await german.textContent(`#cases tr:has-text("${other}")`), new RegExp(`${product}: 900 gebraucht`));
  assert.doesNotMatch(await german.textContent(`#cases tr:has-text("${other}")`), /needed|is in order|on record/);
  assert.deepEqual(await violations(german), []);
  await shot(german, 'next-day-de');
});

test('the picking list names place and lot, and what was taken out is recorded', async () => {
  await page.click(`${row} button`);
  await page.waitForSelector(`#picking tr:has-text("${product}")`);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'next-day-picking');
  // Somebody else has the same list before them.
  const colleague = await signedIn(materials, '/next-day');
  await colleague.fill('#day', await page.inputValue('#day'));
  await colleague.click(`${row} button`);
  await colleague.waitForSelector(`#picking tr:has-text("${product}")`);
  await page.click('#picking button.primary');
  await page.waitForSelector('#picking:has-text("Nothing is to be taken")');
  // Pressed a second time it is not recorded a second time, and that is said.
  await colleague.click('#picking button.primary');
  await colleague.waitForSelector('#trouble:has-text("Somebody recorded something on this case meanwhile")');
  await colleague.waitForSelector('#picking:has-text("Nothing is to be taken")');
  const [{ id }] = (await api(materials, 'GET', '/v1/cases?limit=200')).items.filter((one) => one.procedure === procedure);
  const { lots } = await api(person('circulator'), 'GET', `/v1/cases/${id}/reconciliation`);
  assert.equal(lots.reduce((sum, one) => sum + one.picked, 0), 3);
  assert.deepEqual(page.faults, []);
});
