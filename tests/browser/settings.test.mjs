// The recall desk's own settings, and what others are told of: webhooks, messages, mails.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, base, close, person, ready, shot, signedIn, violations } from './harness.mjs';

const compliance = person('compliance');
const address = `https://hooks-${process.pid}.example.invalid/lotwarden`;
const row = `#outbox tr:has-text("${address}")`;
let page;

before(async () => {
  page = await signedIn(compliance, '/notices', { bypassCSP: true });
});
after(close);

const entry = (name) => page.locator('#dialog').getByLabel(name, { exact: true });
const send = () => page.click('#dialog .actions button.primary');

/** Nothing for axe-core in both themes, no sideways scrolling at 320 px, and a picture of each. */
async function looked(name) {
  for (const colorScheme of ['light', 'dark']) {
    // Without the buttons' change of colours, which axe-core would measure halfway.
    await page.emulateMedia({ colorScheme, reducedMotion: 'reduce' });
    assert.deepEqual(await violations(page), []);
    await shot(page, `${name}-${colorScheme}`);
  }
  await page.setViewportSize({ width: 320, height: 640 });
  assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= 320);
  assert.equal(await page.$eval('#dialog', (one) => one.scrollWidth > one.clientWidth), false);
  await shot(page, `${name}-320`);
  await page.setViewportSize({ width: 1280, height: 900 });
}

test('a site sets how long a task may take, with a reason', async () => {
  const before = await api(compliance, 'GET', '/v1/notice-policy');
  const wanted = before.targets.find((one) => one.kind === 'answer' && one.class === 'II').after + 1;
  await page.click('#settings button:has-text("Change the targets")');
  await page.waitForSelector('#dialog[open]');
  await looked('notices-targets');
  await entry('Number: Answer to the firm, Class II').fill(String(wanted));
  await entry('Reason').fill('The firm asks for more');
  await send();
  await page.waitForSelector('#dialog:not([open])', { state: 'attached' });
  const now = await api(compliance, 'GET', '/v1/notice-policy');
  assert.equal(now.targets.find((one) => one.kind === 'answer' && one.class === 'II').after, wanted);
  assert.deepEqual(now.letters, before.letters);
  await page.waitForSelector(`#settings tr:has-text("Answer to the firm"):has-text("${wanted} ")`);
});

test('a letter names only what it knows, and says what is wrong beside its field', async () => {
  const { letters } = await api(compliance, 'GET', '/v1/notice-policy');
  await page.click('#settings button:has-text("Change the letters")');
  await entry('Letter (English)').fill(`${letters.en}\nOur room: {room}`);
  await entry('Reason').fill('The room stands in it');
  await send();
  await page.waitForSelector('#dialog .dialog-trouble:has-text("names the unknown field room")');
  await entry('Letter (English)').fill(`${letters.en}\nAsk for us at the door.`);
  await send();
  await page.waitForSelector('#settings details:has-text("Ask for us at the door.")', { state: 'attached' });
  await page.click('#settings button:has-text("Change reminder and mail")');
  await entry('Mail comes from').fill('recall-desk@quillback.example');
  await entry('Mail goes to').fill('materials@quillback.example');
  await entry('Reason').fill('Mail is used from now on');
  await send();
  await page.waitForSelector('#settings:has-text("materials@quillback.example")');
  await looked('notices-settings');
});

test('one is said as one and more as more, in both languages', async () => {
  const { targets } = await api(compliance, 'GET', '/v1/notice-policy');
  const one = targets.find(({ after, unit }) => after === 1 && unit === 'work_days');
  assert.ok(one, 'the demonstration has a target of one working day');
  for (const [locale, single, many] of [['en', '1 working day', '15 working days'], ['de', '1 Arbeitstag', '15 Arbeitstage']]) {
    const desk = await signedIn(compliance, '/notices', { locale });
    await desk.waitForSelector('#settings td');
    const cells = await desk.locator('#settings td').allTextContents();
    assert.ok(cells.includes(single), `${cells}`);
    assert.ok(cells.includes(many), `${cells}`);
  }
});

test('who may not change the settings sees them without buttons', async () => {
  const materials = await signedIn(person('materials'), '/notices');
  await materials.waitForSelector('#settings tr:has-text("Answer to the firm")');
  assert.equal(await materials.locator('#settings button').count(), 0);
});

test('a webhook is added, and its messages and the mails are listed', async () => {
  await page.goto(`${base}/people`);
  await ready(page);
  await page.click('#outbox button:has-text("Add a webhook")');
  await entry('Address').fill(address);
  await entry('Key of the signatures').fill('short');
  await send();
  await page.waitForSelector('#dialog .dialog-trouble:has-text("Key of the signatures: must be whsec_")');
  // The key of the example in Standard Webhooks' own text.
  await entry('Key of the signatures').fill('whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw');
  await send();
  await page.waitForSelector(`${row}:has-text("${compliance.name}, ")`);
  await api(compliance, 'POST', '/v1/notices', { firm: 'Nettlewick Devices (invented)', reference: `WH-${process.pid}`, source: 'mail', product: 'Infiltration cannula', reason: '', text: 'Lot NC000001' });
  await page.reload();
  await ready(page);
  await page.selectOption('#outbox select', '');
  await page.waitForSelector(`${row}:has-text("Notice taken in")`);
  // The mail of the same event stands in the outbox too.
  await page.locator('#outbox tr', { hasText: 'materials@quillback.example' }).first().locator('summary').click();
  await looked('people-outbox');
  assert.deepEqual(page.faults, []);
});

/** Shows the messages that wait as given up ones, so that a page offers to send them again. */
const givenUp = (of) => of.route('**/v1/webhook-messages?*', async (route) => {
  const list = await api(compliance, 'GET', '/v1/webhook-messages?state=waiting&limit=200');
  await route.fulfill({ json: { ...list, items: list.items.map((one) => ({ ...one, state: 'dead' })) } });
});

test('a refusal is said in the language of the page', async () => {
  const german = await signedIn(compliance, '/people', { bypassCSP: true, locale: 'de' });
  await givenUp(german);
  await german.reload();
  await german.click('#outbox tr:has-text("aufgegeben") button');
  await german.waitForSelector('#trouble:has-text("Die Nachricht wartet schon auf ihren Versand.")');
  await german.click('#outbox button:has-text("Webhook hinzufügen")');
  const field = (name) => german.locator('#dialog').getByLabel(name, { exact: true });
  await field('Adresse').fill('http://hooks.example.invalid/');
  await field('Schlüssel der Signaturen').fill('kurz');
  await german.click('#dialog .actions button.primary');
  await german.waitForSelector('#dialog .dialog-trouble:has-text("Adresse: muss mit https:// beginnen")');
  assert.match(await german.textContent('#dialog .dialog-trouble'), /Die Angaben passen so nicht\. .*Schlüssel der Signaturen: muss whsec_ und 24 bis 64 Bytes/);
  await german.waitForSelector('#rules tr:has-text("Sperre des Hauses")');
  await shot(german, 'people-refused-de');
});

test('a webhook that ended is told of nothing, and what waited for it is given up', async () => {
  await givenUp(page);
  await page.selectOption('#outbox select', 'dead');
  await page.click(`${row}:has-text("given up") button:has-text("Send again")`);
  await page.waitForSelector('#trouble:has-text("The message is waiting to be sent.")');
  await page.unroute('**/v1/webhook-messages?*');
  await page.click(`${row} button:has-text("End")`);
  await send();
  await page.waitForSelector('#dialog:not([open])', { state: 'attached' });
  await page.waitForSelector(`${row} button`, { state: 'detached' });
  await page.waitForSelector(`${row}:has-text("given up")`);
  assert.deepEqual(page.faults, []);
});
