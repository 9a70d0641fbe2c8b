// Multi-dose vials: what a label prints, the first puncture, what is left, and the strength that a
// mix takes from the catalogue.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, close, newLot, openCase, openSheet, person, receive, shot, signedIn, violations } from './harness.mjs';

const practitioner = person('practitioner');
const materials = person('materials');
const procedure = `Vials ${process.pid}`;
const name = `Lidocaine ${process.pid}`;
// GS1's example range 952; the last digit by General Specifications 7.9.1.
const body = `0952${String(720000000 + process.pid)}`;
const check = (10 - ([...body].reverse().reduce((all, digit, at) => all + Number(digit) * (at % 2 === 0 ? 3 : 1), 0) % 10)) % 10;
const label = `]d201${body}${check}10${newLot('LV')}`;
let opened;
let page;

before(async () => {
  await api(materials, 'POST', '/v1/products', {
    name, maker: 'Brindlemoor (invented)', model: 'LV', kind: 'drug', use_class: 'reusable', carries: { lot: true, serial: false, expiry: false },
    identifiers: [{ agency: 'gs1', code: `${body}${check}`, level: 'unit', quantity: 1 }],
  });
  await receive(label);
  opened = await openCase(procedure);
  await api(person('circulator'), 'POST', `/v1/cases/${opened.id}/scans`, { text: label });
  page = await signedIn(practitioner, '/room', { bypassCSP: true });
});
after(close);

const entry = (text) => page.locator('#dialog .field', { hasText: text }).locator('input, textarea, select').first();
const done = () => page.click('#dialog .actions button.primary');

test('what a label prints and the first puncture are put on record from scanned labels', async () => {
  await page.click('#vial-actions button:has-text("What a label prints")');
  await entry('Label of the container').fill(label);
  await entry('Volume').fill('50');
  await entry('Strength').fill('lidocaine 1 percent');
  await entry('Source').fill('Label, invented');
  await done();
  await page.waitForSelector(`#vials tr:has-text("${name}"):has-text("10 mg/mL")`);
  await page.click('#vial-actions button:has-text("First puncture")');
  await entry('Label of the container').fill(label);
  await entry('Written on it').fill('A');
  await done();
  await page.waitForSelector(`#vials tr:has-text("${name}"):has-text("50 / 50")`);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'room-vials');
});

test('a mix is made with the strength of the catalogue, confirmed, and draws from the vial', async () => {
  const order = { name: 'Bag A', written_order: '10 mL lidocaine 1 %', weight_kg: '60', use_within_minutes: 240, use_by_source: 'Site policy 12', password: practitioner.password };
  await api(practitioner, 'POST', `/v1/cases/${opened.id}/mixes`, order);
  await page.goto(new URL('/station', page.url()).href);
  await openSheet(page, procedure);
  await page.waitForSelector('#record details');
  await page.click('#record details[data-part^="Mixes"] summary');
  await page.click('#record button:has-text("Make the mix")');
  assert.equal(await entry('Substance').inputValue(), 'lidocaine');
  assert.equal(await entry('Value').inputValue(), '10');
  await entry('Volume').fill('10');
  await entry('Multi-dose vials').selectOption({ index: 1 });
  await done();
  await page.waitForSelector('#dialog', { state: 'hidden' });
  const vials = (await api(practitioner, 'GET', '/v1/vials?open=true&limit=200')).items;
  assert.equal(vials.find((one) => one.product_name === name).left_ml, '40');
  assert.deepEqual(page.faults, []);
});
