// The room: routine checks, gas cylinders from their label, sterilizers and loads.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { GS, api, close, newLot, person, receive, shot, signedIn, violations } from './harness.mjs';

const materials = person('materials');
const run = process.pid;
let page;

/** A GTIN of GS1's example range 952 (General Specifications 7.9.1: weights 3 and 1 to the next ten). */
function gtin(item) {
  const body = `0952${String(item).padStart(9, '0')}`;
  const sum = [...body].reverse().reduce((all, digit, at) => all + Number(digit) * (at % 2 === 0 ? 3 : 1), 0);
  return body + ((10 - (sum % 10)) % 10);
}

/** A reusable product with one received piece; gives the piece's label. */
async function piece(name, kind, item) {
  const code = gtin(item);
  await api(materials, 'POST', '/v1/products', {
    name, maker: 'Brindlemoor (invented)', model: 'X', kind, use_class: 'reusable', carries: { lot: true, serial: true, expiry: false },
    identifiers: [{ agency: 'gs1', code, level: 'unit', quantity: 1 }],
  });
  const label = `]d201${code}10${newLot('R')}${GS}21S${run}`;
  await receive(label);
  return label;
}

const entry = (name) => page.locator('#dialog .field', { hasText: name }).locator('input, textarea, select').first();
const done = () => page.click('#dialog .actions button.primary');

/** Scans into a field of the dialog: the separator as the key that stands for it. */
async function into(name, text) {
  await entry(name).focus();
  for (const [at, part] of text.split(GS).entries()) {
    if (at > 0) await page.keyboard.press('Control+]');
    await page.keyboard.type(part, { delay: 0 });
  }
}

before(async () => { page = await signedIn(materials, '/room', { bypassCSP: true }); });
after(close);

test('a check is put on the list, recorded with its action, and stays visible', async () => {
  const name = `Refrigerator ${run}`;
  await page.click('#routine-actions button');
  await entry('What').fill(name);
  await entry('How often').selectOption('day');
  await entry('Values').fill('Temperature: 2..8 °C\nDoor shut: yes');
  await entry('Source').fill('Site policy 18');
  await done();
  const row = `#routines tr:has-text("${name}")`;
  await page.waitForSelector(`${row}:has-text("Due")`);
  await page.click(`${row} button:has-text("Record the check")`);
  await entry('Temperature').fill('9.5');
  await done();
  await page.waitForSelector('#dialog [role=alert]:has-text("out of its limits")');
  await entry('What was done').fill('Door was ajar; drugs moved');
  await done();
  await page.waitForSelector(`${row}:has-text("out of limits")`);
  await page.click(`${row} button:has-text("Records")`);
  await page.waitForSelector('#dialog tr:has-text("Temperature: 9.5"):has-text("Door was ajar")');
  await page.click('#dialog .actions button');
  assert.deepEqual(page.faults, []);
});

test('a fill of a cylinder is registered from its scanned label', async () => {
  const label = await piece(`Helium ${run}`, 'gas', 700000000 + run);
  await page.click('#cylinder-actions button');
  await into('Label of the cylinder', label);
  await entry('Name read back').fill('Helium');
  await entry('Water volume').fill('4.7');
  await entry('Service pressure').fill('2015');
  await entry('Test date as stamped').fill('2024-05-14');
  await done();
  const row = `#cylinders tr:has-text("Helium ${run}")`;
  await page.waitForSelector(row);
  await page.click(`${row} button:has-text("Read the gauge")`);
  await entry('psi').fill('1600');
  await entry('°C').fill('21.1');
  await done();
  await page.waitForSelector(`${row}:has-text(" L (")`);
  assert.deepEqual(page.faults, []);
});

test('a load with a reusable piece is recorded, read and released', async () => {
  const label = await piece(`Cannula set ${run}`, 'cannula', 710000000 + run);
  await page.click('#load-actions button:has-text("Add a sterilizer")');
  await entry('Name').fill(`Autoclave ${run}`);
  await done();
  await page.waitForSelector(`#loads tr:has-text("Autoclave ${run}")`);
  await page.click('#load-actions button:has-text("Cycles of a product")');
  await into('Label of the piece', label);
  await entry("Maker's limit").fill('20');
  await entry('Source').fill("Maker's instructions");
  await done();
  await page.waitForSelector('#dialog:not([open])', { state: 'attached' });
  await page.click('#load-actions button:has-text("Record a load")');
  await entry('Sterilizer').selectOption({ label: `Autoclave ${run}` });
  await entry('Cycle').fill(`L${run}`);
  await entry('Exposure, minutes').fill('4');
  await entry('Exposure, °C').fill('132');
  await entry('Lot-control label').fill(`L${run}-01`);
  await entry('Contents').fill('Cannula set');
  await into('Reusable pieces', label);
  await done();
  const row = `#loads tr:has-text("L${run}-01")`;
  await page.waitForSelector(`${row}:has-text("Not released")`);
  for (const kind of ['mechanical', 'chemical']) {
    await page.click(`${row} button:has-text("Read an indicator")`);
    await entry('Kind').selectOption(kind);
    await done();
    await page.waitForSelector(`${row}:has-text("${kind[0].toUpperCase()}${kind.slice(1)}: good")`);
  }
  await page.click(`${row} button:has-text("Release")`);
  await page.waitForSelector(`${row}:has-text("Released")`);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'room');
  assert.deepEqual(page.faults, []);
});
