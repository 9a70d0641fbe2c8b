// Without a network: scans are held, survive a reload, and are delivered in order with their keys.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, close, label, newLot, openCase, openSheet, person, ready, receive, scan, shot, signIn, signedIn, verdict } from './harness.mjs';

let page;
let opened;
const procedure = `Offline ${process.pid}`;

before(async () => {
  opened = await openCase(procedure);
  page = await signedIn(person('circulator'), '/station');
  // The shells are kept once the worker is in charge.
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.reload();
  await ready(page);
  await openSheet(page, procedure);
});
after(close);

test('answers of the service do not wait for the worker that keeps the pages', async () => {
  const sources = await page.evaluate(() => performance.getEntriesByType('resource')
    .filter((one) => new URL(one.name).pathname.startsWith('/v1/')).map((one) => one.workerFinalSourceType));
  assert.deepEqual([...new Set(sources)], ['network']);
});

test('scans without a network are held, never taken, and delivered in order when it returns', async () => {
  const lots = [newLot('CA'), newLot('CA'), newLot('CA')];
  for (const lot of lots) await receive(label.cannula(lot));
  await page.context().setOffline(true);
  for (const lot of lots) {
    await scan(page, label.cannula(lot));
    assert.equal(await verdict(page, 'held', 'taken'), 'held');
  }
  assert.match(await page.textContent('#verdict'), /Not checked by the service yet/);
  await page.waitForSelector('#link-state.holding:has-text("3")');
  await shot(page, 'station-offline');

  await page.reload();
  await ready(page);
  await page.waitForSelector('#link-state.holding:has-text("3")');
  const at = async () => (await api(person('circulator'), 'GET', `/v1/cases/${opened.id}/scans?limit=200`)).items;
  assert.equal((await at()).length, 0);

  await page.context().setOffline(false);
  await page.waitForSelector('#link-state.live');
  const scans = (await at()).sort((a, b) => a.position - b.position);
  assert.deepEqual(scans.map((one) => one.lot.number), lots);
  assert.ok(scans.every((one) => one.occurred_at < one.received_at), 'both clocks are on record');
  await openSheet(page, procedure);
  await page.waitForFunction(() => document.querySelectorAll('#held li').length === 3);
  await shot(page, 'station-delivered');
  for (let left = 3; left > 0; left -= 1) {
    await page.click('#held li button');
    await page.waitForFunction((rest) => document.querySelectorAll('#held li').length === rest, left - 1);
  }
});

test('what the station knows by itself stops early, and the reading is delivered all the same', async () => {
  const lot = newLot('CA');
  const past = label.cannula(lot, '2026-01-31');
  await receive(past);
  await page.context().setOffline(true);
  await scan(page, past);
  assert.equal(await verdict(page, 'stop', 'held'), 'stop');
  assert.match(await page.textContent('#verdict'), /outdate/);
  await page.context().setOffline(false);
  await page.evaluate(() => dispatchEvent(new Event('online')));
  await page.waitForSelector('#held .mark.stop');
});

test('nothing at the station knows a patient, and delivered characters are gone', async () => {
  const stored = await page.evaluate(async () => {
    const open = indexedDB.open('lotwarden');
    const database = await new Promise((resolve) => { open.onsuccess = () => resolve(open.result); });
    const all = database.transaction('scans').objectStore('scans').getAll();
    const scans = await new Promise((resolve) => { all.onsuccess = () => resolve(all.result); });
    return { scans, text: JSON.stringify([{ ...localStorage }, { ...sessionStorage }, scans]) };
  });
  assert.doesNotMatch(stored.text, /Verbena|BR-/);
  assert.ok(stored.scans.every((one) => one.state !== 'delivered' || one.sealed === null));
  assert.deepEqual(page.faults, []);
});

test('a held scan waits for who made it, and never goes out in the name of the next person', async () => {
  const [first, second] = [person('circulator'), person('circulator', 1)];
  const handOver = async (who) => {
    await page.click('#sheet-actions button:has-text("Hand over")');
    await signIn(page, who);
    await page.waitForSelector(`#who-name:has-text("${who.name}")`);
  };
  const lot = newLot('CA');
  await receive(label.cannula(lot));
  const cut = (route) => route.abort();
  await page.route(`**/v1/cases/${opened.id}/scans`, cut);
  await scan(page, label.cannula(lot));
  assert.equal(await verdict(page, 'held', 'taken'), 'held');
  await handOver(second);
  await page.unroute(`**/v1/cases/${opened.id}/scans`, cut);
  await page.evaluate(() => dispatchEvent(new Event('focus')));
  await page.waitForSelector('#held li:has-text("Waits until the person who read it signs in")');
  const recorded = async () => (await api(first, 'GET', `/v1/cases/${opened.id}/scans?limit=200`)).items.find((one) => one.lot?.number === lot);
  assert.equal(await recorded(), undefined);
  await handOver(first);
  await page.waitForSelector('#held li:has-text("Delivered late")');
  const { id } = await api(first, 'GET', '/v1/sessions/current');
  assert.equal((await recorded()).actor, `person:${id}`);
});
