// The shelf: moving by scanning, counting against the sheet, and taking off what has expired.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, close, label, newLot, person, receive, scan, shot, signedIn, violations } from './harness.mjs';

const materials = person('materials');
let page;
let places;

before(async () => {
  ({ items: places } = await api(materials, 'GET', '/v1/locations?limit=200'));
  page = await signedIn(materials, '/shelf', { bypassCSP: true });
});
after(close);

const mode = (name) => page.click(`#modes button:has-text("${name}")`);

/** A place's own label: its id as 39 decimal digits in AI 91 (GS1 General Specifications 3.9.11). */
const placeLabel = ({ id }) => `]d291${BigInt(`0x${id.replaceAll('-', '')}`).toString().padStart(39, '0')}`;

const stockOf = async (lot) => (await api(materials, 'GET', `/v1/stock?lot_id=${lot}&limit=200`)).items;

test('an item is moved by scanning it and then the label of the place', async () => {
  const lot = newLot('MV');
  const receipt = await receive(label.cannula(lot), 3);
  const room = places.find((one) => one.kind === 'room');
  await mode('Move');
  await scan(page, placeLabel(room));
  await page.waitForSelector('#trouble:has-text("Scan an item first")');
  await scan(page, label.cannula(lot));
  await page.waitForSelector(`#moving li:has-text("${lot}")`);
  await scan(page, label.cannula(lot));
  await page.waitForSelector('#moving li:has-text("2 to move")');
  await scan(page, placeLabel(room));
  await page.waitForSelector(`#moving .receipt:has-text("${room.name}")`);
  const rows = await stockOf(receipt.lines[0].lot_id);
  assert.equal(rows.find((one) => one.location_id === room.id).quantity, 2);
  assert.equal(rows.find((one) => one.location_id !== room.id).quantity, 1);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'shelf-move');
});

test('a count names its differences and takes them over with a reason', async () => {
  const lot = newLot('CT');
  const { id } = await api(materials, 'POST', '/v1/locations', { name: `Shelf of ${lot}`, kind: 'shelf' });
  const receipt = await api(materials, 'POST', '/v1/receipts', { lines: [{ text: label.cannula(lot), quantity: 5, location_id: id }] });
  await page.reload();
  await page.waitForSelector('#page:not([hidden]):not([aria-busy])');
  await mode('Count');
  await page.selectOption('#count-place', id);
  await page.waitForSelector(`#sheet tr:has-text("${lot}") input`);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'shelf-count-sheet');
  await page.fill(`#sheet tr:has-text("${lot}") input`, '3');
  await page.press(`#sheet tr:has-text("${lot}") input`, 'Enter');
  await scan(page, label.cannula(lot));
  await page.waitForSelector(`#scanned li:has-text("${lot}")`);
  await page.click('#sheet button:has-text("Record the count")');
  await page.waitForSelector(`#sheet tr:has-text("${lot}"):has-text("-1")`);
  await shot(page, 'shelf-count');
  await page.click('#sheet button:has-text("Take the differences")');
  await page.fill('#dialog input', 'Not found after a search');
  await page.click('#dialog button.primary');
  await page.waitForSelector('#sheet tr:has-text("taken over: Not found after a search")');
  assert.equal((await stockOf(receipt.lines[0].lot_id))[0].quantity, 4);
});

test('what is past its outdate is taken off the shelf and listed', async () => {
  const lot = newLot('SW');
  const receipt = await receive(label.cannula(lot, '2026-01-31'), 2);
  await page.reload();
  await page.waitForSelector('#page:not([hidden]):not([aria-busy])');
  await mode('Expiry sweep');
  await page.waitForSelector(`#due tr:has-text("${lot}")`);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'shelf-sweep');
  await page.click('#due button:has-text("Take off the shelf")');
  await page.selectOption('#dialog select', 'sent_back');
  await page.fill('#dialog .field:last-child input', '1Z999AA10123456784');
  await page.click('#dialog button.primary');
  await page.waitForSelector(`#due:has-text("Stood at") tr:has-text("${lot}")`);
  await shot(page, 'shelf-swept');
  assert.deepEqual(await stockOf(receipt.lines[0].lot_id), []);
  assert.deepEqual(page.faults, []);
});

test('the first lot to expire is the first to take, and a held one is not to be taken', async () => {
  const [first, second] = [newLot('FE'), newLot('FF')];
  const [soon, later] = [label.cannula(first, '2027-03-31'), label.cannula(second, '2027-05-31')];
  const receipt = await receive(later);
  await receive(soon);
  await api(materials, 'POST', '/v1/holds', { scope: 'lot', target_id: receipt.lines[0].lot_id, reason: 'The bin was wet' });
  await page.reload();
  await page.waitForSelector(`#stock tr:has-text("${second}")`);
  assert.match(await page.textContent(`#stock tr:has-text("${first}")`), /\d+\./);
  assert.match(await page.textContent(`#stock tr:has-text("${second}")`), /not to be taken/);
});
