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

/** Lets the service's answers to readings come late, the first latest. */
async function slowReadings() {
  let late = 800;
  await page.route('**/v1/readings', async (route) => {
    const wait = late;
    late = 0;
    await new Promise((resolve) => { setTimeout(resolve, wait); });
    await route.continue();
  });
}

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

test('scans typed quickly are handled one after another, in their order', async () => {
  const lot = newLot('MQ');
  const receipt = await receive(label.cannula(lot), 3);
  const room = places.find((one) => one.kind === 'room');
  await mode('Move');
  await slowReadings();
  await scan(page, label.cannula(lot));
  await scan(page, label.cannula(lot));
  await scan(page, placeLabel(room));
  await page.waitForSelector(`#moving .receipt:has-text("${lot}")`);
  await page.unroute('**/v1/readings');
  assert.equal(await page.isVisible('#trouble'), false);
  const rows = await stockOf(receipt.lines[0].lot_id);
  assert.equal(rows.find((one) => one.location_id === room.id).quantity, 2);
});

test('a move and a delivery whose answers did not come are done again and count once', async () => {
  const lot = newLot('ML');
  const receipt = await receive(label.cannula(lot), 5);
  const room = places.find((one) => one.kind === 'room');
  // The service has it, and the answer is lost on its way.
  const cutOff = (address) => page.evaluate((path) => {
    const real = window.fetch;
    window.fetch = async (...asked) => {
      const answer = await real(...asked);
      if (asked[0] !== path) return answer;
      window.fetch = real;
      throw new TypeError('cut off');
    };
  }, address);
  const quantityIn = async (place) => (await stockOf(receipt.lines[0].lot_id)).find((one) => one.location_id === place.id)?.quantity;
  await mode('Move');
  await cutOff('/v1/stock/moves');
  await scan(page, label.cannula(lot));
  await page.waitForSelector(`#moving li:has-text("${lot}")`);
  await scan(page, placeLabel(room));
  await page.waitForSelector('#trouble:has-text("it counts once")');
  assert.equal(await quantityIn(room), 1);
  // Another of the lot is scanned meanwhile: a line of its own.
  await scan(page, label.cannula(lot));
  await page.waitForFunction(() => document.querySelectorAll('#moving li').length === 2);
  await scan(page, placeLabel(room));
  await page.waitForFunction(() => document.querySelectorAll('#moving .receipt').length === 2);
  assert.equal(await quantityIn(room), 2);
  await mode('Receive');
  await page.selectOption('#to-place', room.id);
  await cutOff('/v1/receipts');
  await scan(page, label.cannula(lot));
  await page.waitForSelector('#trouble:has-text("it counts once")');
  await scan(page, label.cannula(lot));
  await page.waitForSelector(`#received:has-text("${lot}")`);
  assert.equal(await quantityIn(room), 3);
  // Answered, the next one is another delivery.
  await scan(page, label.cannula(lot));
  await page.waitForFunction((text) => [...document.querySelectorAll('#received .receipt')].filter((one) => one.textContent.includes(text)).length === 2, lot);
  assert.equal(await quantityIn(room), 4);
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
  const counted = `#sheet tr:has-text("${lot}") input`;
  await page.focus(counted);
  await page.keyboard.type('3', { delay: 0 });
  // A hand rests before a scanner begins; the focus stays in the number.
  await page.waitForTimeout(200);
  await scan(page, label.cannula(lot));
  await page.waitForSelector(`#scanned li:has-text("${lot}")`);
  assert.equal(await page.inputValue(counted), '3');
  await page.click('#sheet button:has-text("Record the count")');
  await page.waitForSelector(`#sheet tr:has-text("${lot}"):has-text("-1")`);
  await shot(page, 'shelf-count');
  await page.click('#sheet button:has-text("Take the differences")');
  await page.fill('#dialog input', 'Not found after a search');
  await page.click('#dialog button.primary');
  await page.waitForSelector('#sheet tr:has-text("taken over: Not found after a search")');
  assert.equal((await stockOf(receipt.lines[0].lot_id))[0].quantity, 4);
  await page.click('#sheet button:has-text("Count again")');
  await page.waitForSelector(counted);
  assert.equal(await page.inputValue(counted), '');
  assert.match(await page.textContent(`#sheet tr:has-text("${lot}")`), /4/);
  assert.deepEqual(page.faults, []);
});

test('a scan while a number has the focus is a scan, and a hand types on', async () => {
  await mode('Receive');
  const lot = newLot('NF');
  await page.fill('#quantity', '2');
  await page.focus('#quantity');
  await page.waitForTimeout(200);
  await scan(page, label.cannula(lot));
  await page.waitForSelector(`#received:has-text("${lot}")`);
  const [row] = (await api(materials, 'GET', '/v1/stock?limit=200')).items.filter((one) => one.lot === lot);
  assert.equal(row.quantity, 2);
  await page.fill('#quantity', '');
  await page.keyboard.type('125', { delay: 90 });
  await page.keyboard.press('Enter');
  assert.equal(await page.inputValue('#quantity'), '125');
  await page.fill('#quantity', '1');
  // In a dialog too: the reason stays, the scan is received, and both are told.
  const other = newLot('NG');
  await page.click(`#stock tr:has-text("${lot}") button`);
  await page.waitForSelector('#dialog[open]');
  await page.focus('#dialog input');
  await page.keyboard.type('Torn', { delay: 90 });
  await page.waitForTimeout(200);
  await scan(page, label.cannula(other));
  await page.waitForSelector('#dialog .meanwhile:has-text("A scan was handled")');
  assert.equal(await page.inputValue('#dialog input'), 'Torn');
  assert.deepEqual(await violations(page), []);
  await shot(page, 'shelf-scan-in-dialog');
  await page.click('#dialog button:has-text("Cancel")');
  await page.waitForSelector(`#received:has-text("${other}")`);
  // A list keeps what is chosen: the letters of a label choose nothing.
  const chosen = await page.inputValue('#to-place');
  await page.focus('#to-place');
  await scan(page, label.cannula(newLot('NH')));
  await page.waitForFunction(() => document.querySelectorAll('#received .receipt').length > 2);
  assert.equal(await page.inputValue('#to-place'), chosen);
  assert.deepEqual(page.faults, []);
});

test('what is past its outdate is destroyed before a witness, who is chosen by name, and listed', async () => {
  const lot = newLot('SW');
  const receipt = await receive(label.cannula(lot, '2026-01-31'), 2);
  await page.reload();
  await page.waitForSelector('#page:not([hidden]):not([aria-busy])');
  await mode('Expiry sweep');
  await page.waitForSelector(`#due tr:has-text("${lot}")`);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'shelf-sweep');
  await page.click('#due button:has-text("Take off the shelf")');
  await page.selectOption('#dialog select[name="disposition"]', 'destroyed');
  await page.fill('#dialog .field:last-child input', 'Sharps container 4');
  await page.click('#dialog button.primary');
  await page.waitForSelector('#dialog .dialog-trouble:has-text("Witness")');
  const { items: [witness] } = await api(materials, 'GET', '/v1/witnesses');
  await page.selectOption('#dialog select[name="witness_id"]', { label: witness.name });
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
