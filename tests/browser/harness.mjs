// A browser against a running service with the demonstration facility.
//
// LOTWARDEN_BROWSER_SERVICE   the service's address
// LOTWARDEN_BROWSER_PEOPLE    demo-people.json of its data directory
// LOTWARDEN_BROWSER_SHOTS     folder for screenshots
// LOTWARDEN_BROWSER_NODE      folder with the packages of package-lock.json

import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { randomUUID } from 'node:crypto';

export const base = process.env.LOTWARDEN_BROWSER_SERVICE;
const shots = process.env.LOTWARDEN_BROWSER_SHOTS;
const require = createRequire(path.join(process.env.LOTWARDEN_BROWSER_NODE, 'package.json'));
const { chromium } = require('playwright-core');
const axe = fs.readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
const { people } = JSON.parse(fs.readFileSync(process.env.LOTWARDEN_BROWSER_PEOPLE, 'utf8'));

export const GS = '\u001d';

export const person = (role, at = 0) => people.filter((one) => one.roles.includes(role))[at];

let browser;

/** A page in a browser of its own (cookies, storage), signed in as somebody. */
export async function signedIn(who, address, options = {}) {
  browser ??= await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] });
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, locale: 'en', ...options });
  const page = await context.newPage();
  page.faults = [];
  page.on('pageerror', (error) => page.faults.push(error.message));
  await page.goto(base + address);
  await signIn(page, who);
  await ready(page);
  return page;
}

/** Fills the dialog that asks for a login. */
export async function signIn(page, who) {
  await page.waitForSelector('#sign-in[open]');
  await page.fill('#login', who.login);
  await page.fill('#password', who.password);
  await page.click('#sign-in-form button');
  await page.waitForSelector('#sign-in:not([open])', { state: 'attached' });
}

/** Waits until the page has filled itself. */
export async function ready(page) {
  await page.waitForSelector('#page:not([hidden]):not([aria-busy])');
}

export async function close() {
  await browser?.close();
}

/** Types as a scanner does: at once, GS as the key that stands for it, Enter at the end. */
export async function scan(page, text, separator = 'Control+]') {
  const parts = text.split(GS);
  for (const [at, part] of parts.entries()) {
    if (at > 0) {
      if (separator === 'raw') await page.keyboard.insertText(GS);
      else if (separator === 'Alt+0029') await altNumber(page, '0029');
      else await page.keyboard.press(separator);
    }
    await page.keyboard.type(part, { delay: 0 });
  }
  await page.keyboard.press('Enter');
}

// A character by its number on the number pad, as Windows takes it.
async function altNumber(page, digits) {
  await page.keyboard.down('Alt');
  for (const digit of digits) await page.keyboard.press(`Numpad${digit}`);
  await page.keyboard.up('Alt');
}

/** The verdict on the screen, once it is one of the words wanted. */
export async function verdict(page, ...words) {
  const selector = words.map((word) => `#verdict.${word}`).join(', ');
  await page.waitForSelector(selector);
  return page.getAttribute('#verdict', 'data-verdict');
}

/** Keeps a picture of the page for people to look at. */
export async function shot(page, name) {
  await page.screenshot({ path: path.join(shots, `${name}.png`), fullPage: true });
}

/** What axe-core finds on the page, in words. */
export async function violations(page) {
  await page.evaluate(axe);
  const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
  const result = await page.evaluate((only) => window.axe.run(document, { runOnly: only }), tags);
  return result.violations.flatMap((one) => one.nodes.map((node) => `${one.id}: ${node.target.join(' ')}`));
}

const tokens = new Map();

/** A request to the service as somebody, beside the browser. */
export async function api(who, method, address, body, version) {
  if (!tokens.has(who.login)) {
    const session = await fetch(`${base}/v1/sessions`, {
      method: 'POST', headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ login: who.login, password: who.password }),
    });
    tokens.set(who.login, (await session.json()).access_token);
  }
  const headers = { authorization: `Bearer ${tokens.get(who.login)}`, 'content-type': 'application/json', 'idempotency-key': randomUUID() };
  if (version !== undefined) headers['if-match'] = `"${version}"`;
  const response = await fetch(base + address, { method, headers, body: body && JSON.stringify(body) });
  const answer = await response.json();
  if (!response.ok) throw new Error(`${method} ${address}: ${JSON.stringify(answer)}`);
  return answer;
}

const day = (days) => new Date(Date.now() + days * 86400000).toISOString().slice(0, 10);

/** Labels of the demonstration's products (GS1 General Specifications 3: AI 01, 17, 10, 21). */
export const label = {
  handpiece: (lot, serial, outdate = day(400)) => `]d20109521400010105${expiry(outdate)}10${lot}${GS}21${serial}`,
  cannula: (lot, outdate = day(400)) => `]d20109521400010204${expiry(outdate)}10${lot}`,
};

function expiry(date) {
  return `17${date.slice(2).replaceAll('-', '')}`;
}

let count = 0;

/**
 * A lot number that no other test uses. It has letters for digits but the last, so that no part of it
 * looks like an application identifier after a separator that was lost.
 */
export function newLot(prefix) {
  count += 1;
  const digits = String(process.pid * 1000 + count);
  const letters = [...digits.slice(0, -1)].map((digit) => 'ABCDEFGHIJ'[digit]);
  return `${prefix}${letters.join('')}${digits.slice(-1)}`;
}

/** Receives what a label says, as the materials manager. */
export async function receive(text, quantity = 1) {
  const materials = person('materials');
  const places = (await api(materials, 'GET', '/v1/locations?limit=200')).items;
  const place = places.find((one) => one.kind === 'shelf');
  return api(materials, 'POST', '/v1/receipts', { lines: [{ text, quantity, location_id: place.id }] });
}

/** Opens a case for today, as a circulator. */
export async function openCase(procedure) {
  const circulator = person('circulator');
  const places = (await api(circulator, 'GET', '/v1/locations?limit=200')).items;
  const [practitioner] = (await api(circulator, 'GET', '/v1/practitioners')).items;
  return api(circulator, 'POST', '/v1/cases', {
    procedure, practitioner_id: practitioner.id, location_id: places.find((one) => one.kind === 'room').id,
    scheduled_for: new Date().toISOString(),
    patient: { name: 'Test Person Verbena', record_number: `BR-${randomUUID().slice(0, 8)}` },
  });
}

/** Opens a case's setup sheet. */
export async function openSheet(page, procedure) {
  await page.click(`.card:has-text("${procedure}")`);
  await page.waitForSelector('#sheet:not([hidden]) #sheet-case h2');
}
