// What a field's local time is in UTC, across changes of a zone's clock. The rules are those of the IANA
// time zone database (tzdata, files europe, northamerica, southamerica and australasia), the readings
// of times that come twice or never those of RFC 5545, 3.3.5.

import assert from 'node:assert/strict';
import fs from 'node:fs';
import { test } from 'node:test';

const source = fs.readFileSync(new URL('../../services/api/pages/assets/zone.js', import.meta.url), 'utf8');
const { instantOf, localOf } = await import(`data:text/javascript,${encodeURIComponent(source)}`);

const TIMES = [
  // Rule EU: last Sunday of March and October at 1:00 UTC; Zone Europe/Berlin 1:00.
  ['Europe/Berlin', '2026-03-29T01:59', '2026-03-29T00:59:00.000Z'],
  ['Europe/Berlin', '2026-03-29T03:00', '2026-03-29T01:00:00.000Z'],
  ['Europe/Berlin', '2026-10-25T01:59', '2026-10-24T23:59:00.000Z'],
  ['Europe/Berlin', '2026-10-25T03:00', '2026-10-25T02:00:00.000Z'],
  // Rule US: second Sunday of March and first of November at 2:00; Zone America/New_York -5:00.
  ['America/New_York', '2026-03-08T01:59:59', '2026-03-08T06:59:59.000Z'],
  ['America/New_York', '2026-03-08T03:00', '2026-03-08T07:00:00.000Z'],
  ['America/New_York', '2026-11-01T00:59', '2026-11-01T04:59:00.000Z'],
  ['America/New_York', '2026-11-01T02:00', '2026-11-01T07:00:00.000Z'],
  // Rule LH: first Sunday of April and October at 2:00, by half an hour; Zone Australia/Lord_Howe 10:30.
  ['Australia/Lord_Howe', '2026-04-05T01:29', '2026-04-04T14:29:00.000Z'],
  ['Australia/Lord_Howe', '2026-04-05T02:00', '2026-04-04T15:30:00.000Z'],
  ['Australia/Lord_Howe', '2026-10-04T02:30', '2026-10-03T15:30:00.000Z'],
  // Zone Pacific/Apia: -11:00 with an hour of summer time until the end of 2011-12-29, then 13:00.
  ['Pacific/Apia', '2011-12-29T23:59', '2011-12-30T09:59:00.000Z'],
  ['Pacific/Apia', '2011-12-31T00:00', '2011-12-30T10:00:00.000Z'],
  ['Asia/Kathmandu', '2026-07-01T12:00', '2026-07-01T06:15:00.000Z'],
  ['UTC', '2026-07-01T12:00', '2026-07-01T12:00:00.000Z'],
];

test('a local time is the instant that the zone database says, and shows as itself', () => {
  for (const [zone, local, instant] of TIMES) {
    assert.equal(instantOf(local, zone), instant, `${local} in ${zone}`);
    assert.equal(localOf(instant, zone), local.length === 16 ? `${local}:00` : local, `${instant} in ${zone}`);
  }
});

test('a time that comes twice is the first one, and one that is left out is read before the change', () => {
  // RFC 5545 gives both examples for America/New_York, with the rules of 2007 that still hold.
  assert.equal(instantOf('2007-11-04T01:30', 'America/New_York'), '2007-11-04T05:30:00.000Z');
  assert.equal(instantOf('2007-03-11T02:30', 'America/New_York'), '2007-03-11T07:30:00.000Z');
  assert.equal(instantOf('2026-10-25T02:30', 'Europe/Berlin'), '2026-10-25T00:30:00.000Z');
  assert.equal(instantOf('2026-03-29T02:30', 'Europe/Berlin'), '2026-03-29T01:30:00.000Z');
  assert.equal(instantOf('2026-04-05T01:45', 'Australia/Lord_Howe'), '2026-04-04T14:45:00.000Z');
  // Rule Brazil 2018: the first Sunday of November at 0:00, so that day had no midnight.
  assert.equal(instantOf('2018-11-04T00:00', 'America/Sao_Paulo'), '2018-11-04T03:00:00.000Z');
});
