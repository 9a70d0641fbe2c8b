// Instants and the wall clock of a zone (IANA time zone database, as the browser has it).

const formats = new Map();

// What a zone's wall clock is ahead of UTC at an instant, in milliseconds.
function offsetAt(instant, zone) {
  if (!formats.has(zone)) {
    formats.set(zone, new Intl.DateTimeFormat('en-US', {
      timeZone: zone, calendar: 'iso8601', numberingSystem: 'latn', hourCycle: 'h23',
      year: 'numeric', month: 'numeric', day: 'numeric', hour: 'numeric', minute: 'numeric', second: 'numeric',
    }));
  }
  const parts = Object.fromEntries(formats.get(zone).formatToParts(instant).map(({ type, value }) => [type, Number(value)]));
  return Date.UTC(parts.year, parts.month - 1, parts.day, parts.hour, parts.minute, parts.second) - Math.floor(instant / 1000) * 1000;
}

const DAY_MS = 86400000;

/**
 * The instant at which a zone's wall clock shows a local time, `YYYY-MM-DD` with `Thh:mm` and
 * perhaps `:ss`, as RFC 3339 UTC. A time that comes twice is the first of the two; one that is left
 * out is read with the offset before the change (RFC 5545, 3.3.5).
 */
export function instantOf(localText, zone) {
  const local = Date.parse(`${localText}Z`);
  // No zone is a day ahead of or behind UTC, so one offset comes before the change and one after.
  const before = local - offsetAt(local - DAY_MS, zone);
  const after = local - offsetAt(local + DAY_MS, zone);
  const shows = (instant) => instant + offsetAt(instant, zone) === local;
  return new Date(shows(before) || !shows(after) ? before : after).toISOString();
}

/** What a zone's wall clock shows at an instant: `YYYY-MM-DDThh:mm:ss`. */
export function localOf(instant, zone) {
  const at = Date.parse(instant);
  return new Date(at + offsetAt(at, zone)).toISOString().slice(0, 19);
}
