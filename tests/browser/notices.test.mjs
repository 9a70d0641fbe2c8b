// The recall desk, from a pasted letter to what it hits and the work on it.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, close, label, newLot, openCase, openSheet, person, receive, scan, shot, signedIn, verdict, violations } from './harness.mjs';

const lot = newLot('CA');
const procedure = `Recalled ${process.pid}`;
const reference = `FSN-${process.pid}`;
let page;

before(async () => {
  const opened = await openCase(procedure);
  await receive(label.cannula(lot), 5);
  await api(person('circulator'), 'POST', `/v1/cases/${opened.id}/scans`, { text: label.cannula(lot) });
  page = await signedIn(person('materials'), '/notices', { bypassCSP: true });
});
after(close);

test('a pasted letter is read, and a person confirms what it names', async () => {
  await page.click('#take-in');
  const fields = page.locator('#dialog .fields');
  await fields.locator('input').nth(0).fill('Nettlewick Devices (invented)');
  await fields.locator('input').nth(1).fill(reference);
  await fields.locator('textarea').fill(`Infiltration cannula, UDI-DI 09521400010204, Lot ${lot}; see the enclosed drawing`);
  await page.click('#dialog button.primary');
  await page.waitForSelector(`#desk:has-text("${reference}")`);
  assert.match(await page.textContent('.notice-text mark.lots'), new RegExp(lot));
  assert.ok((await page.locator('.notice-text mark.unread').count()) > 0);
  assert.deepEqual(await violations(page), []);
  await page.click('#desk button.primary');
  assert.deepEqual(await violations(page), []);
  await shot(page, 'notices-confirm');
  await page.click('#dialog label:has-text("I have read the whole text")');
  await page.click('#dialog .actions button.primary');
  await page.waitForSelector('#desk h3:has-text("What was confirmed")');
});

test('what it hits is told with patients, places and the picture', async () => {
  await page.click('#desk button:has-text("What it hits")');
  await page.waitForSelector('#desk .tiles');
  assert.match(await page.textContent('#desk'), /Test Person Verbena/);
  assert.ok((await page.locator('.genealogy .node.affected').count()) >= 2);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'notices-desk');
});

test('from then on every station stops what it names, with the notice as the source', async () => {
  const station = await signedIn(person('circulator'), '/station');
  await openSheet(station, procedure);
  await scan(station, label.cannula(lot));
  assert.equal(await verdict(station, 'stop'), 'stop');
  assert.match(await station.textContent('#verdict'), new RegExp(reference));
});

test('the work is counted by lot, and its tasks end one by one', async () => {
  await page.click(`#desk button[aria-label="Count: ${lot}"]`);
  await page.fill('#dialog .field:nth-child(1) input', '4');
  await page.fill('#dialog .field:nth-child(2) input', '0');
  await page.click('#dialog .actions button.primary');
  await page.waitForSelector(`#desk tr:has(button[aria-label="Count: ${lot}"]):has-text("yes")`);
  await page.click('#desk button[aria-label="End the task: Find and quarantine"]');
  await page.click('#dialog .actions button.primary');
  await page.waitForSelector('#desk tr:has-text("Find and quarantine"):has-text("Done")');
  await shot(page, 'notices-work');
  assert.deepEqual(page.faults, []);
});
