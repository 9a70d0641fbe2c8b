// The recall desk, from a pasted letter to what it hits and the work on it.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { crc32 } from 'node:zlib';
import { api, close, label, newLot, openCase, openSheet, person, receive, scan, shot, signedIn, verdict, violations } from './harness.mjs';

const lot = newLot('CA');
const procedure = `Recalled ${process.pid}`;
const reference = `FSN-${process.pid}`;
let page;

/** A ZIP archive of stored files (APPNOTE.TXT, 4.3.7 and 4.3.12). */
function archive(files) {
  const [parts, entries] = [[], []];
  let at = 0;
  for (const [name, text] of Object.entries(files)) {
    const [named, data] = [Buffer.from(name), Buffer.from(text)];
    // Version, flags, method, time, day, CRC, packed and unpacked length, length of the name, extra.
    const common = Buffer.alloc(26);
    common.writeUInt16LE(20, 0);
    common.writeUInt16LE(0x21, 8);
    common.writeUInt32LE(crc32(data), 10);
    common.writeUInt32LE(data.length, 14);
    common.writeUInt32LE(data.length, 18);
    common.writeUInt16LE(named.length, 22);
    const place = Buffer.alloc(14);
    place.writeUInt32LE(at, 10);
    parts.push(Buffer.from('PK\u0003\u0004'), common, named, data);
    entries.push(Buffer.from('PK\u0001\u0002\u0014\u0000'), common, place, named);
    at += 30 + named.length + data.length;
  }
  const directory = Buffer.concat(entries);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(Object.keys(files).length, 4);
  end.writeUInt16LE(Object.keys(files).length, 6);
  end.writeUInt32LE(directory.length, 8);
  end.writeUInt32LE(at, 12);
  return Buffer.concat([...parts, directory, Buffer.from('PK\u0005\u0006'), end]);
}

/** A workbook with one sheet of these rows (ISO/IEC 29500-1, 18). */
function workbook(rows) {
  const main = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';
  const office = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
  const related = (type, target) => `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="${office}/${type}" Target="${target}"/></Relationships>`;
  const cells = (row, at) => row.map((text, column) => `<c r="${'ABC'[column]}${at + 1}" t="inlineStr"><is><t>${text}</t></is></c>`).join('');
  return archive({
    '[Content_Types].xml': '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>',
    '_rels/.rels': related('officeDocument', 'xl/workbook.xml'),
    'xl/workbook.xml': `<workbook xmlns="${main}" xmlns:r="${office}"><sheets><sheet name="Lots" sheetId="1" r:id="r1"/></sheets></workbook>`,
    'xl/_rels/workbook.xml.rels': related('worksheet', 'worksheets/sheet1.xml'),
    'xl/worksheets/sheet1.xml': `<worksheet xmlns="${main}"><sheetData>${rows.map((row, at) => `<row r="${at + 1}">${cells(row, at)}</row>`).join('')}</sheetData></worksheet>`,
  });
}

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

test('a workbook is taken in from its file, and one that is too large is said before it is sent', async () => {
  const desk = await signedIn(person('materials'), '/notices');
  await desk.click('#take-in');
  const entry = (name) => desk.locator('#dialog').getByLabel(name, { exact: true });
  const file = desk.locator('#dialog input[type=file]');
  assert.match(await desk.textContent('#dialog .fields'), /A workbook has at most 3 MB/);
  const [name, type] = ['table.xlsx', 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet'];
  await file.setInputFiles({ name, mimeType: type, buffer: Buffer.concat([Buffer.from('PK\u0003\u0004'), Buffer.alloc(3000000)]) });
  await desk.waitForSelector('#dialog .dialog-trouble:has-text("larger than 3 MB")');
  await entry('Firm').fill('Nettlewick Devices (invented)');
  await entry('Reference').fill(`XLSX-${process.pid}`);
  await file.setInputFiles({ name, mimeType: type, buffer: workbook([['GTIN', 'Lot'], ['09521400010204', `W${process.pid}`]]) });
  await desk.waitForFunction(() => document.querySelector('#dialog textarea').value.includes('table.xlsx'));
  await desk.click('#dialog button.primary');
  await desk.waitForSelector(`#desk:has-text("XLSX-${process.pid}")`);
  assert.match(await desk.textContent('.notice-text mark.lots'), new RegExp(`W${process.pid}`));
  assert.deepEqual(desk.faults, []);
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

test('an update is taken in beside the notice it is of, and each leads to the other', async () => {
  await page.click('#desk button:has-text("Take in an update")');
  const entry = (name) => page.locator('#dialog').getByLabel(name, { exact: true });
  assert.equal(await entry('Reference').inputValue(), reference);
  await entry('Text').fill(`Infiltration cannula, UDI-DI 09521400010204, also Lot U${lot}`);
  await page.click('#dialog button.primary');
  await page.click('#desk .timeline button[aria-label="Open: Notice 1 of the matter"]');
  await page.waitForSelector('#desk .timeline:has-text("Notice 2 of the matter")');
  assert.match(await page.textContent('#desk .timeline'), new RegExp(`${reference} · Unconfirmed`));
  assert.deepEqual(page.faults, []);
});
