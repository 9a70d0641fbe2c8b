// What is recorded of a case beside its readings: a mix, checks by two people, the reconciliation.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, close, label, newLot, openCase, openSheet, person, receive, shot, signedIn, violations } from './harness.mjs';

const procedure = `Record ${process.pid}`;
const practitioner = person('practitioner');
let page;
let opened;

before(async () => {
  opened = await openCase(procedure);
  const lot = newLot('CA');
  await receive(label.cannula(lot));
  await api(person('circulator'), 'POST', `/v1/cases/${opened.id}/scans`, { text: label.cannula(lot) });
  page = await signedIn(practitioner, '/station', { bypassCSP: true });
  await openSheet(page, procedure);
  await page.waitForSelector('#record details');
});
after(close);

const unfold = (part) => page.click(`#record details[data-part^="${part}"] summary`);

/** The dialog's field with this label. */
const entry = (name) => page.locator('#dialog .field', { hasText: name }).locator('input, textarea, select').first();

test('a practitioner orders a mix under signature', async () => {
  await unfold('Mixes');
  await page.click('#record button:has-text("Order a mix")');
  await entry('Written order').fill('250 mL sodium chloride 0.9 %, 25 mL lidocaine 1 %');
  await entry('weight').fill('70');
  await entry('Source of that time').fill('Site policy 12');
  await entry('Password').fill(practitioner.password);
  await page.click('#dialog .actions button.primary');
  await page.waitForSelector('#record .receipt:has-text("Ordered")');
  const [mix] = (await api(practitioner, 'GET', `/v1/mixes?case_id=${opened.id}`)).items;
  assert.equal(mix.status, 'ordered');
  // The weight is the patient's: it is sealed, and no answer to this list has it.
  assert.doesNotMatch(JSON.stringify(mix), /"70/);
});

test('a check is recorded line by line, and waits for its second person', async () => {
  await unfold('Checks');
  await page.click('#record button:has-text("Record a check")');
  await entry('Check').selectOption('time_out');
  await entry('Lines').fill('Procedure and site confirmed: yes\nConsent signed: yes');
  await page.click('#dialog .actions button.primary');
  await page.waitForSelector('#record tr:has-text("Time-out"):has-text("Consent signed: yes")');
  const second = await signedIn(person('circulator'), '/station');
  await openSheet(second, procedure);
  await second.click('#record details[data-part^="Checks"] summary');
  await second.click('#record button[aria-label="Confirm: Time-out"]');
  await second.waitForSelector('#record details[data-part^="Checks"] td:not(:has(button)):has-text("202")');
  assert.deepEqual(second.faults, []);
});

test('the reconciliation names what was used and never picked', async () => {
  await unfold('Reconciliation');
  assert.match(await page.textContent('#record'), /Not every lot agrees/);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'station-record');
  assert.deepEqual(page.faults, []);
});
