// The setup sheet, typed into as a wedge scanner types.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, close, label, newLot, openCase, openSheet, person, receive, scan, shot, signedIn, signIn, verdict, violations } from './harness.mjs';

let page;
let opened;
const procedure = `Setup ${process.pid}`;

before(async () => {
  opened = await openCase(procedure);
  page = await signedIn(person('circulator'), '/station');
  await openSheet(page, procedure);
});
after(close);

const last = () => page.textContent('#verdict');

for (const separator of ['Control+]', 'F8', 'Alt+0029', 'raw']) {
  test(`a scan is whole with the separator sent as ${separator}`, async () => {
    const [lot, serial] = [newLot('HP'), newLot('S')];
    await receive(label.handpiece(lot, serial));
    if (separator === 'raw') await page.focus('#capture');
    await scan(page, label.handpiece(lot, serial), separator);
    assert.equal(await verdict(page, 'taken', 'look', 'stop', 'unread'), 'taken');
    assert.match(await last(), new RegExp(`${lot}.*${serial}`));
  });
}

test('a scan while a button has the focus goes into the field and presses nothing', async () => {
  const lot = newLot('CA');
  await receive(label.cannula(lot));
  // The label's last keys are the ones that press a button: a space would, and Enter does.
  await page.focus('#sheet-actions button:last-child');
  await scan(page, label.cannula(lot));
  assert.equal(await verdict(page, 'taken', 'look', 'stop', 'unread'), 'taken');
  assert.match(await last(), new RegExp(lot));
  assert.equal(await page.isVisible('#sheet'), true);
});

test('a hand on the keyboard still presses the button that it is on', async () => {
  await page.waitForTimeout(200);
  await page.focus('#sheet-actions button:has-text("Tones off")');
  await page.keyboard.press('Enter');
  await page.waitForSelector('#sheet-actions button:has-text("Tones on")');
  await page.click('#sheet-actions button:has-text("Tones on")');
});

test('the second use of a single-use piece is stopped, with its reason and source', async () => {
  const [lot, serial] = [newLot('HP'), newLot('S')];
  await receive(label.handpiece(lot, serial));
  const other = `Other ${process.pid}`;
  const another = await openCase(other);
  await api(person('circulator'), 'POST', `/v1/cases/${another.id}/scans`, { text: label.handpiece(lot, serial) });
  await scan(page, label.handpiece(lot, serial));
  assert.equal(await verdict(page, 'stop'), 'stop');
  assert.match(await last(), /must not be used again/);
  assert.match(await last(), /Source: /);
  assert.match(await page.textContent('#stop-said'), /^Stop\./);
  await shot(page, 'station-stop');
});

test('an expired item is stopped', async () => {
  const lot = newLot('CA');
  await receive(label.cannula(lot, '2026-01-31'));
  await scan(page, label.cannula(lot, '2026-01-31'));
  assert.equal(await verdict(page, 'stop'), 'stop');
});

test('characters of no known form are unread, and a second piece of a lot is confirmed', async () => {
  await scan(page, 'nonsense here');
  assert.equal(await verdict(page, 'unread'), 'unread');
  const lot = newLot('CA');
  await receive(label.cannula(lot), 3);
  await scan(page, label.cannula(lot));
  assert.equal(await verdict(page, 'taken'), 'taken');
  await page.waitForSelector(`#on-case li:has-text("${lot}")`);
  await scan(page, label.cannula(lot));
  assert.equal(await verdict(page, 'look'), 'look');
  await page.click('#verdict-actions button');
  assert.equal(await verdict(page, 'taken'), 'taken');
  await page.waitForFunction((number) => [...document.querySelectorAll('#on-case li.taken')].filter((row) => row.textContent.includes(number)).length === 2, lot);
});

test('scans one behind the other are recorded in their order', async () => {
  const lots = [newLot('CA'), newLot('CA'), newLot('CA'), newLot('CA')];
  for (const lot of lots) await receive(label.cannula(lot));
  for (const lot of lots) await scan(page, label.cannula(lot));
  await page.waitForSelector(`#on-case li.taken:has-text("${lots.at(-1)}")`);
  const { items } = await api(person('circulator'), 'GET', `/v1/cases/${opened.id}/scans?limit=200`);
  const recorded = items.toSorted((a, b) => a.position - b.position).map((one) => one.lot?.number);
  assert.deepEqual(recorded.filter((lot) => lots.includes(lot)), lots);
});

test('a reading is struck with a reason and stays visible', async () => {
  const lot = newLot('CA');
  await receive(label.cannula(lot));
  await scan(page, label.cannula(lot));
  await verdict(page, 'taken');
  await page.click(`#on-case li:has-text("${lot}") button:has-text("Strike")`);
  await page.fill('#dialog input', 'Opened for another case');
  await page.click('#dialog button.primary');
  await page.waitForSelector(`#on-case li.struck:has-text("${lot}")`);
  assert.match(await page.textContent(`#on-case li.struck:has-text("${lot}")`), /Opened for another case/);
});

test('what became of an item is noted with a reason', async () => {
  const lot = newLot('CA');
  await receive(label.cannula(lot));
  await scan(page, label.cannula(lot));
  await page.click(`#on-case li:has-text("${lot}") button:has-text("Used")`);
  await page.selectOption('#dialog select', 'wasted');
  await page.click('#dialog button.primary');
  await page.waitForSelector('#dialog .dialog-trouble:has-text("Give a reason.")');
  await page.fill('#dialog input', 'Dropped');
  await page.click('#dialog button.primary');
  await page.waitForSelector('#dialog:not([open])', { state: 'attached' });
  await page.waitForSelector(`#on-case li:has-text("${lot}") button:has-text("Wasted")`);
});

test('a symbol of the command sheet strikes the last reading', async () => {
  const lot = newLot('CA');
  await receive(label.cannula(lot));
  await scan(page, label.cannula(lot));
  await page.waitForSelector(`#on-case li:first-child:has-text("${lot}")`);
  await scan(page, 'LWCMDUNDO');
  await page.fill('#dialog input', 'By the command sheet');
  await page.click('#dialog button.primary');
  await page.waitForSelector(`#on-case li.struck:has-text("${lot}")`);
});

test('another person takes over and the sheet stays', async () => {
  await page.click('#sheet-actions button:has-text("Hand over")');
  await shot(page, 'station-hand-over');
  const next = person('circulator', 1);
  await signIn(page, next);
  await page.waitForSelector(`#who-name:has-text("${next.name}")`);
  assert.equal(await page.isVisible('#sheet'), true);
  const lot = newLot('CA');
  await receive(label.cannula(lot));
  await scan(page, label.cannula(lot));
  assert.equal(await verdict(page, 'taken'), 'taken');
  await shot(page, 'station-sheet');
});

test('two stations on one case see one another, and exactly one gets a piece', async () => {
  const [lot, serial] = [newLot('HP'), newLot('S')];
  await receive(label.handpiece(lot, serial));
  const second = await signedIn(person('circulator'), '/station');
  const other = `Second room ${process.pid}`;
  await openCase(other);
  await second.reload();
  await openSheet(second, other);
  await Promise.all([scan(page, label.handpiece(lot, serial)), scan(second, label.handpiece(lot, serial))]);
  const verdicts = await Promise.all([verdict(page, 'taken', 'stop'), verdict(second, 'taken', 'stop')]);
  // The first page may still show "taken" of the scan before; its list says what became of this one.
  await Promise.all([page, second].map((one) => one.waitForSelector(`#on-case li:has-text("${serial}"), #on-case li:has-text("must not be used again")`)));
  const taken = await Promise.all([page, second].map((one) => one.locator(`#on-case li.taken:has-text("${serial}")`).count()));
  assert.equal(taken[0] + taken[1], 1, `${verdicts}`);
  assert.deepEqual([...page.faults, ...second.faults], []);
});

test('what is on paper has the readings and no buttons', async () => {
  await page.emulateMedia({ media: 'print' });
  assert.equal(await page.isVisible('#capture'), false);
  assert.equal(await page.isVisible('#on-case li'), true);
  // The words of the verdicts are black, because their grounds are not printed.
  const colours = await page.evaluate(() => [...document.querySelectorAll('#on-case .mark')].map((one) => getComputedStyle(one).color));
  assert.ok(colours.length > 0 && colours.every((one) => one === 'rgb(0, 0, 0)'), `${colours}`);
  await shot(page, 'station-print');
  await page.emulateMedia({ media: 'screen' });
});

test('a scan while a dialog is open is on the case, and the dialog says so and stays', async () => {
  const [first, second] = [newLot('CA'), newLot('CA')];
  await receive(label.cannula(first));
  await receive(label.cannula(second));
  await scan(page, label.cannula(first));
  await page.waitForSelector(`#on-case li:has-text("${first}")`);
  await page.click(`#on-case li:has-text("${first}") button:has-text("Strike")`);
  await page.focus('#dialog input');
  await page.keyboard.type('Fell', { delay: 90 });
  await page.waitForTimeout(200);
  await scan(page, label.cannula(second));
  await page.waitForSelector('#dialog .meanwhile .mark.taken');
  assert.equal(await page.inputValue('#dialog input'), 'Fell');
  await shot(page, 'station-scan-in-dialog');
  await page.click('#dialog button:has-text("Cancel")');
  await page.waitForSelector(`#on-case li.taken:has-text("${second}")`);
  assert.equal(await page.locator(`#on-case li.struck:has-text("${first}")`).count(), 0);
  // A button of the dialog is not pressed by a scan, and a list keeps what is chosen.
  await page.click(`#on-case li:has-text("${first}") button:has-text("Strike")`);
  await page.focus('#dialog button.primary');
  await scan(page, label.cannula(second));
  await page.waitForSelector('#dialog .meanwhile .mark.look');
  assert.equal(await page.isVisible('#dialog'), true);
  await page.click('#dialog button:has-text("Cancel")');
});

test('a time is the facility\'s, wherever the browser stands', async () => {
  const far = await signedIn(person('circulator'), '/station', { bypassCSP: true, timezoneId: 'Pacific/Auckland' });
  const planned = `Far ${process.pid}`;
  await far.click('#open-case');
  const entry = (name) => far.locator('#dialog').getByLabel(name, { exact: true });
  await entry('Procedure').fill(planned);
  await entry('Planned for (today)').fill('08:15');
  await entry('Patient').fill('Test Person Verbena');
  await entry('Record number').fill(`FAR-${process.pid}`);
  assert.deepEqual(await violations(far), []);
  await shot(far, 'station-open-case');
  await far.click('#dialog .actions button.primary');
  await far.waitForSelector('#sheet:not([hidden]) #sheet-case h2');
  const { time_zone: timeZone } = await api(person('circulator'), 'GET', '/v1/sessions/current');
  const [one] = (await api(person('circulator'), 'GET', '/v1/cases?limit=200')).items.filter((row) => row.procedure === planned);
  const shown = new Intl.DateTimeFormat('sv-SE', { dateStyle: 'short', timeStyle: 'short', timeZone });
  const day = new Intl.DateTimeFormat('sv-SE', { dateStyle: 'short', timeZone });
  assert.equal(shown.format(new Date(one.scheduled_for)), `${day.format(new Date())} 08:15`);
});
