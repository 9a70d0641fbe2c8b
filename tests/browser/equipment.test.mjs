// Equipment: registered in the room, set up by scanning its asset number, and the energy it gave.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, close, label, newLot, openCase, openSheet, person, ready, receive, scan, shot, signedIn, verdict, violations } from './harness.mjs';

const procedure = `Equipment ${process.pid}`;
const asset = (kind) => `EQ-${kind}-${process.pid}`;
let materials;
let page;

before(async () => {
  const opened = await openCase(procedure);
  const lot = newLot('CA');
  await receive(label.cannula(lot));
  await api(person('circulator'), 'POST', `/v1/cases/${opened.id}/scans`, { text: label.cannula(lot) });
  materials = await signedIn(person('materials'), '/room', { bypassCSP: true });
});
after(close);

const entry = (where, name) => where.locator('#dialog .field', { hasText: name }).locator('input, textarea, select').first();
const done = (where) => where.click('#dialog .actions button.primary');
const row = (number) => `#equipment tr:has-text("${number}")`;

test('equipment is registered, serviced, and taken out of service and back', async () => {
  for (const [kind, name, type] of [['generator', 'Generator 2'], ['thermometer', 'Skin camera', 'infrared_camera']]) {
    await materials.click('#equipment-actions button');
    await entry(materials, 'Asset number').fill(asset(kind));
    await entry(materials, 'Kind').selectOption(kind);
    if (type) await entry(materials, 'Type of thermometer').selectOption(type);
    await entry(materials, 'Name').fill(name);
    await done(materials);
    await materials.waitForSelector(row(asset(kind)));
  }
  // A thermometer without a calibration on record is named at once.
  await materials.waitForSelector(`${row(asset('thermometer'))}:has-text("No calibration")`);
  await materials.click(`${row(asset('thermometer'))} button:has-text("Record a service")`);
  await entry(materials, 'What was done').selectOption('calibration');
  const year = new Date().getFullYear() + 1;
  await entry(materials, 'Good through').fill(`${year}-12-31`);
  await entry(materials, 'Done by').fill('Brindlemoor service');
  await entry(materials, 'As found').selectOption('in_tolerance');
  await done(materials);
  await materials.waitForSelector(`${row(asset('thermometer'))}:has-text("Calibration through")`);
  await materials.click(`${row(asset('generator'))} button:has-text("Out of service")`);
  await entry(materials, 'Reason').fill('Arcs at the cable');
  await done(materials);
  await materials.waitForSelector(`${row(asset('generator'))}:has-text("Arcs at the cable")`);
  await materials.click(`${row(asset('generator'))} button:has-text("Return to service")`);
  await entry(materials, 'Reason').fill('Cable replaced');
  await done(materials);
  await materials.waitForSelector(`${row(asset('generator'))} button:has-text("Out of service")`);
  assert.deepEqual(await violations(materials), []);
  await shot(materials, 'room-equipment');
  assert.deepEqual(materials.faults, []);
});

test('an end point of the skin is written down with its source', async () => {
  const practitioner = await signedIn(person('practitioner'), '/room', { bypassCSP: true });
  await practitioner.click('#energy-limit-actions button');
  await entry(practitioner, 'Value').selectOption('max_skin_celsius');
  await entry(practitioner, 'Source').fill(`Site policy ${process.pid}`);
  await done(practitioner);
  // Bounds nothing yet: the dialog stays and says which field.
  await practitioner.waitForSelector('#dialog .dialog-trouble:has-text("Most: must be given where there is no least")');
  await entry(practitioner, 'Most').fill('36');
  await done(practitioner);
  await practitioner.waitForSelector(`#energy-limits tr:has-text("Site policy ${process.pid}") button`);
  assert.deepEqual(await violations(practitioner), []);
  await shot(practitioner, 'room-energy');
  assert.deepEqual(practitioner.faults, []);
});

test('an end point that ended says on which day and why, and the sections below it stand', async () => {
  const [practitioner, source] = [person('practitioner'), `Site policy E${process.pid}`];
  const { id } = await api(practitioner, 'POST', '/v1/energy-limits', { value: 'passes', most: '2', source });
  await api(practitioner, 'POST', `/v1/energy-limits/${id}/end`, { reason: 'The maker changed it' });
  const room = await signedIn(practitioner, '/room');
  await room.waitForSelector(`#energy-limits tr:has-text("${source}"):has-text("The maker changed it")`);
  assert.match(await room.textContent(`#energy-limits tr:has-text("${source}")`), /Ended on \w+ \d+, \d{4}: The maker changed it/);
  assert.equal(await room.isVisible('#trouble'), false);
  await room.waitForSelector('#cylinders > *');
});

test('an asset number that is scanned sets the equipment up, and the energy log names it', async () => {
  page = await signedIn(person('circulator'), '/station', { bypassCSP: true });
  await ready(page);
  await page.waitForFunction((code) => (localStorage.getItem('lotwarden-equipment') ?? '').includes(code), asset('generator'));
  await openSheet(page, procedure);
  await scan(page, `]C0${asset('generator')}`);
  assert.equal(await verdict(page, 'taken', 'look', 'stop'), 'taken');
  await scan(page, asset('generator'));
  await verdict(page, 'unread');
  await scan(page, asset('thermometer'));
  await verdict(page, 'taken');
  await page.waitForSelector('#record details[data-part^="Equipment"] h3:has-text("(2)")');
  await page.click('#record details[data-part^="Energy"] summary');
  await page.click('#record button:has-text("Record a zone")');
  await entry(page, 'Zone').fill('Calf, left');
  await entry(page, 'Power').fill('40');
  await entry(page, 'Passes').fill('6');
  await entry(page, 'Active seconds').fill('240');
  await entry(page, 'skin temperature').fill('36.5');
  await entry(page, 'Measured').selectOption({ index: 1 });
  await done(page);
  await page.waitForSelector(`#record tr:has-text("Calf, left"):has-text("${asset('thermometer')}"):has-text("Site policy ${process.pid}")`);
  await page.click('#record details[data-part^="Equipment"] summary');
  assert.deepEqual(await violations(page), []);
  await shot(page, 'station-equipment');
  assert.deepEqual(page.faults, []);
});

test('which cases had it is asked from the register', async () => {
  await materials.click(`${row(asset('thermometer'))} button:has-text("Which cases had it")`);
  await done(materials);
  await materials.waitForSelector(`#dialog tr:has-text("${procedure}"):has-text("Test Person Verbena")`);
  assert.deepEqual(materials.faults, []);
});
