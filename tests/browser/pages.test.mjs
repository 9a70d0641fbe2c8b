// Every page: nothing for axe-core to find in both themes, no sideways scrolling from 320 px to 4K,
// the keyboard alone, both languages, and what each page is for.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { base, close, label, newLot, openCase, openSheet, person, ready, receive, scan, shot, signedIn, verdict, violations, api } from './harness.mjs';

const PAGES = ['/station', '/shelf', '/next-day', '/room', '/where-is', '/notices', '/ledger', '/people', '/command-sheet'];
const lot = newLot('CA');
const procedure = `Pages ${process.pid}`;
let page;

before(async () => {
  const opened = await openCase(procedure);
  await receive(label.cannula(lot), 5);
  await api(person('circulator'), 'POST', `/v1/cases/${opened.id}/scans`, { text: label.cannula(lot) });
  page = await signedIn(person('compliance'), '/station', { bypassCSP: true });
});
after(close);

for (const address of PAGES) {
  for (const theme of ['light', 'dark']) {
    test(`axe-core finds nothing on ${address} in ${theme} colours`, async () => {
      await page.emulateMedia({ colorScheme: theme });
      await page.goto(base + address);
      await ready(page);
      if (address === '/station') await openSheet(page, procedure);
      assert.deepEqual(await violations(page), []);
      await shot(page, `page${address.replace('/', '-')}-${theme}`);
    });
  }

  test(`${address} does not scroll sideways from 320 px to 4K`, async () => {
    await page.goto(base + address);
    await ready(page);
    for (const [width, height] of [[320, 640], [768, 1024], [3840, 2160]]) {
      await page.setViewportSize({ width, height });
      const wide = await page.evaluate(() => document.documentElement.scrollWidth);
      assert.ok(wide <= width, `${wide} px of content at ${width} px`);
      await page.evaluate(() => document.querySelectorAll('details').forEach((one) => { one.open = true; }));
      // No column of a table has to be looked for at the side.
      await page.waitForFunction(() => [...document.querySelectorAll('.table')].every((one) => one.scrollWidth <= one.clientWidth));
      if (width === 320) await shot(page, `page${address.replace('/', '-')}-320`);
    }
    await page.setViewportSize({ width: 1280, height: 900 });
  });
}

test('a verdict has a contrast of 7:1 and targets of 64 px on the station', async () => {
  const circulator = await signedIn(person('circulator'), '/station', { bypassCSP: true });
  await openSheet(circulator, procedure);
  for (const theme of ['light', 'dark']) {
    await circulator.emulateMedia({ colorScheme: theme });
    await scan(circulator, 'nonsense');
    await verdict(circulator, 'unread');
    const small = await circulator.evaluate(() => [...document.querySelectorAll('#sheet button, #sheet select, #sheet input')]
      .filter((one) => one.checkVisibility())
      .map((one) => ({ box: one.getBoundingClientRect(), text: one.textContent }))
      .filter(({ box }) => box.height < 64 || box.width < 64)
      .map(({ text }) => text));
    assert.deepEqual(small, []);
    // WCAG 2.2, 1.4.6 (contrast, enhanced): relative luminance as the standard defines it.
    const low = await circulator.evaluate(() => {
      const channel = (value) => (value / 255 <= 0.04045 ? value / 255 / 12.92 : ((value / 255 + 0.055) / 1.055) ** 2.4);
      const luminance = (rgb) => 0.2126 * channel(rgb[0]) + 0.7152 * channel(rgb[1]) + 0.0722 * channel(rgb[2]);
      const parse = (color) => color.match(/[\d.]+/g).map(Number);
      const ground = (node) => {
        for (let at = node; at; at = at.parentElement) {
          const color = parse(getComputedStyle(at).backgroundColor);
          if (color.length < 4 || color[3] > 0) return color;
        }
        return [255, 255, 255];
      };
      const texts = [...document.querySelectorAll('main *')].filter((one) => one.checkVisibility()
        && [...one.childNodes].some((child) => child.nodeType === Node.TEXT_NODE && child.textContent.trim()));
      return texts.map((one) => {
        const [a, b] = [luminance(parse(getComputedStyle(one).color)), luminance(ground(one))].sort((x, y) => y - x);
        return { text: one.textContent.slice(0, 40), ratio: (a + 0.05) / (b + 0.05) };
      }).filter(({ ratio }) => ratio < 7);
    });
    assert.deepEqual(low, []);
  }
  // A word to be read at 1.5 m: 72 px (ISO 9241-303's 20 arc minutes at 0.19 mm a pixel; from memory).
  const size = await circulator.evaluate(() => parseFloat(getComputedStyle(document.querySelector('.verdict-word')).fontSize));
  assert.ok(size >= 72, `${size} px`);
});

test('findings and their sources speak the language of the page', async () => {
  const circulator = await signedIn(person('circulator'), '/station', { bypassCSP: true, locale: 'de' });
  assert.equal(await circulator.getAttribute('html', 'lang'), 'de');
  await openSheet(circulator, procedure);
  const past = newLot('CA');
  await receive(label.cannula(past, '2026-01-31'));
  await scan(circulator, label.cannula(past, '2026-01-31'));
  await verdict(circulator, 'stop');
  assert.match(await circulator.textContent('#verdict .findings'), /Verfallen: der letzte Verwendungstag war der 31\.01\.2026\..*Quelle: Verfallsdatum des Etiketts, ISO 15223-1/);
  await scan(circulator, 'nonsense');
  await verdict(circulator, 'unread');
  assert.match(await circulator.textContent('#verdict .findings'), /Diese Zeichen passen zu keiner bekannten Etikettform/);
  assert.deepEqual(await violations(circulator), []);
  await shot(circulator, 'station-stop-de');
});

test('the keyboard alone reaches the content and every control of the page', async () => {
  await page.goto(`${base}/where-is`);
  await ready(page);
  await page.evaluate(() => document.activeElement.blur());
  const reached = new Set();
  for (let press = 0; press < 40; press += 1) {
    await page.keyboard.press('Tab');
    reached.add(await page.evaluate(() => document.activeElement.id || document.activeElement.textContent.trim()));
  }
  for (const one of ['To the content', 'Station', 'sign-out', 'identifier', 'lot', 'serial', 'Where is it?', 'language', 'theme']) {
    assert.ok(reached.has(one), `${one} not reached: ${[...reached]}`);
  }
});

test('where a lot went is told as a picture and as lists', async () => {
  await page.goto(`${base}/where-is`);
  await ready(page);
  await page.fill('#identifier', '09521400010204');
  await page.fill('#lot', lot);
  await page.keyboard.press('Enter');
  await page.waitForSelector('.genealogy');
  assert.match(await page.textContent('#answer'), /Test Person Verbena/);
  assert.ok((await page.locator('.genealogy .node').count()) >= 4);
  assert.deepEqual(await violations(page), []);
  await shot(page, 'where-is-answer');
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('button:has-text("Save as CSV")')]);
  assert.equal(download.suggestedFilename(), 'where-is.csv');
  // Nothing of the question or the answer is in the address.
  assert.equal(page.url(), `${base}/where-is`);
});

test('the ledger is verified in the browser, and its entries show who did what', async () => {
  await page.goto(`${base}/ledger`);
  await ready(page);
  await page.click('#verify');
  await page.waitForSelector('.verification.good', { timeout: 60000 });
  await page.selectOption('#action', 'record_receipt');
  await page.click('button:has-text("Show entries")');
  await page.waitForFunction(() => [...document.querySelectorAll('#entries summary strong')].every((one) => one.textContent === 'record_receipt'));
  await page.click('#entries summary');
  await shot(page, 'ledger-entries');
  await page.fill('#reason', 'Browser test');
  await page.click('button:has-text("Make a parcel")');
  await page.waitForSelector('#made button');
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('#made button')]);
  assert.match(download.suggestedFilename(), /^parcel-/);
});

test('a changed entry is found by the browser that verifies', async () => {
  const deceived = await signedIn(person('compliance'), '/ledger');
  await deceived.addInitScript(() => {
    const real = window.fetch;
    window.fetch = async (address, options) => {
      const response = await real(address, options);
      if (!String(address).startsWith('/v1/ledger/entries')) return response;
      const list = await response.json();
      for (const one of list.items) if (one.position === 7) one.body.at = '2026-01-01T00:00:00.000000Z';
      return new Response(JSON.stringify(list), { status: response.status });
    };
  });
  await deceived.reload();
  await ready(deceived);
  await deceived.click('#verify');
  await deceived.waitForSelector('.verification.bad');
  assert.match(await deceived.textContent('.verification'), /Entry 7 does not fit/);
});

test('the shelf receives by scanning, holds a lot and lifts the hold', async () => {
  const materials = await signedIn(person('materials'), '/shelf', { bypassCSP: true });
  const received = newLot('CA');
  await scan(materials, label.cannula(received));
  await materials.waitForSelector(`#received:has-text("${received}")`);
  await materials.waitForSelector(`#stock tr:has-text("${received}") button`);
  await materials.click(`#stock tr:has-text("${received}") button`);
  await materials.fill('#dialog input', 'Pouch seals open');
  await materials.click('#dialog button.primary');
  await materials.waitForSelector('#holds tr:has-text("Pouch seals open")');
  await shot(materials, 'shelf');
  await materials.click('#holds tr:has-text("Pouch seals open") button');
  await materials.fill('#dialog input', 'Checked');
  await materials.click('#dialog button.primary');
  await materials.waitForSelector('#holds tr:has-text("Pouch seals open")', { state: 'detached' });
  assert.deepEqual(materials.faults, []);
});

test('people are added and their roles changed by an administrator', async () => {
  const administrator = await signedIn(person('administrator'), '/people', { bypassCSP: true });
  const login = `browser.${process.pid}`;
  await administrator.click('#add-person');
  await shot(administrator, 'people-add');
  assert.deepEqual(await violations(administrator), []);
  const fields = administrator.locator('#dialog .fields input');
  await fields.nth(0).fill(login);
  await fields.nth(1).fill('Rowan Fennick');
  await fields.nth(2).fill('seven slow herons wading');
  await administrator.click('#dialog label:has-text("Circulator")');
  await administrator.click('#dialog button.primary');
  await administrator.waitForSelector(`#people tr:has-text("${login}")`);
  await shot(administrator, 'people');
});

test('a refusal names the field by its label, also in a dialog that is made by hand', async () => {
  const administrator = await signedIn(person('administrator'), '/people');
  await administrator.click('#add-person');
  const entry = (name) => administrator.locator('#dialog').getByLabel(name, { exact: true });
  await entry('Login').fill('No Login');
  await entry('Name').fill('Browser Test');
  await entry('Password').fill('three words for this');
  await administrator.click('#dialog .actions button.primary');
  await administrator.waitForSelector('#dialog .dialog-trouble:has-text("Login: must be 2 to 64")');
  const said = await administrator.textContent('#dialog .dialog-trouble');
  assert.match(said, /Roles: must name at least one role/);
});

test('a refusal names the block of fields and the line in it', async () => {
  const materials = await signedIn(person('materials'), '/notices');
  const { id } = await api(person('materials'), 'POST', '/v1/notices', { firm: 'Nettlewick Devices (invented)', reference: `REF-${process.pid}`, source: 'mail', text: 'REF;Lot\nIC-2290;L1\nIC-2291;L2\n' });
  await materials.reload();
  await ready(materials);
  await materials.click(`#notices tr:has-text("REF-${process.pid}") button`);
  await materials.click('#desk button.primary');
  await materials.waitForSelector('#dialog[open]');
  const blocks = materials.locator('#dialog fieldset');
  assert.equal(await blocks.count(), 2);
  // The first one does not count, so that the second is the first of what is sent.
  await blocks.nth(0).getByLabel('This one counts').uncheck();
  await blocks.nth(1).getByLabel('Lots', { exact: true }).fill(`L2\n${'X'.repeat(60)}`);
  await materials.click('#dialog .actions button.primary');
  await materials.waitForSelector('#dialog .dialog-trouble:has-text("Criterion 2, Lots 2: must be")');
  assert.equal((await api(person('materials'), 'GET', `/v1/notices/${id}`)).state, 'unconfirmed');
});

test('what one row is about stands in its dialog', async () => {
  const administrator = await signedIn(person('administrator'), '/people');
  const name = await administrator.textContent('#people tbody tr th');
  await administrator.click('#people tbody tr button:has-text("Change")');
  await administrator.waitForSelector('#dialog[open]');
  assert.equal(await administrator.textContent('#dialog .about'), name);
});

test('the pages speak German too, and remember it', async () => {
  await page.goto(`${base}/shelf`);
  await ready(page);
  await page.selectOption('#language', 'de');
  await page.waitForSelector('h1:has-text("Lager")');
  await ready(page);
  assert.equal(await page.getAttribute('html', 'lang'), 'de');
  assert.deepEqual(await violations(page), []);
  await shot(page, 'shelf-de');
  await page.selectOption('#language', 'en');
  await page.waitForSelector('h1:has-text("Shelf")');
});

test('a page loads nothing from anywhere else and breaks none of its own policy', async () => {
  const strict = await signedIn(person('compliance'), '/ledger');
  const outside = [];
  const broken = [];
  strict.on('request', (request) => { if (!request.url().startsWith(base) && !request.url().startsWith('blob:')) outside.push(request.url()); });
  strict.on('console', (message) => { if (/Content Security Policy|Trusted/.test(message.text())) broken.push(message.text()); });
  for (const address of PAGES) {
    await strict.goto(base + address);
    await ready(strict);
  }
  assert.deepEqual(outside, []);
  assert.deepEqual(broken, []);
  assert.deepEqual(strict.faults, []);
});
