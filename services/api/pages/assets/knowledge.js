// What the station knows by itself when the network is gone: lots on hold and outdates of the
// stock, from the last time it asked. It may stop an item early. It never clears one.

import { all } from './api.js';
import { day, instant, today } from './format.js';
import { t } from './texts.js';

const SNAPSHOT = 'lotwarden-knowledge';
const EQUIPMENT = 'lotwarden-equipment';
const GS = '\u001d';

/** Fetches the lots of the stock: number, outdate, and whether they are on hold. */
export async function refresh() {
  const lots = new Map();
  for (const row of await all('/v1/stock', {}, 20000)) {
    if (row.lot) lots.set(row.lot_id, { lot: row.lot, expires_on: row.expires_on, held: row.held });
  }
  knowEquipment(await all('/v1/equipment'));
  localStorage.setItem(SNAPSHOT, JSON.stringify({ at: new Date().toISOString(), lots: [...lots.values()] }));
}

/** Keeps what scanners read from the site's equipment: asset numbers and makers' labels. */
export function knowEquipment(register) {
  localStorage.setItem(EQUIPMENT, JSON.stringify(register.flatMap((one) => [one.asset_number, one.label].filter(Boolean))));
}

/** The code of equipment that was read; nothing when it is none that this station knows. */
export function equipmentCode(text) {
  const codes = JSON.parse(localStorage.getItem(EQUIPMENT) ?? '[]');
  return [text, text.replace(/^\][A-Za-z]\d/, '')].find((one) => codes.includes(one)) ?? null;
}

function labelHasLot(text, lot) {
  // A GS1 lot (AI 10) ends with the separator or the label; a HIBC lot ends with "/" or before the
  // link and check characters (identification standards' own element order).
  const at = text.indexOf(lot);
  if (at < 0) return false;
  const rest = text.slice(at + lot.length);
  return text.slice(0, at).endsWith('10') ? rest === '' || rest.startsWith(GS) : rest.length <= 2 || rest.startsWith('/');
}

// The outdate of a GS1 label that has it right after the identifier (AI 01, 11, 17); day 00 is the
// month's last day (GS1 General Specifications 3.4.7).
function outdateOnLabel(text) {
  const found = /^(?:\][A-Za-z]\d)?01\d{14}(?:11\d{6})?17(\d\d)(\d\d)(\d\d)/.exec(text);
  if (!found) return null;
  const [, year, month, date] = found;
  if (date !== '00') return `20${year}-${month}-${date}`;
  return new Date(Date.UTC(2000 + Number(year), Number(month), 0)).toISOString().slice(0, 10);
}

/** Why an item must stop, as far as this station knows; nothing when it knows of no reason. */
export function earlyStop(text) {
  const { at, lots } = JSON.parse(localStorage.getItem(SNAPSHOT) ?? '{"at":null,"lots":[]}');
  const outdate = outdateOnLabel(text);
  if (outdate && outdate < today()) return t('knowledge.expired', { day: day(outdate) });
  const known = lots.filter((one) => labelHasLot(text, one.lot));
  const age = { at: instant(at) };
  if (known.some((one) => one.held)) return t('knowledge.held', age);
  const past = known.find((one) => one.expires_on && one.expires_on < today());
  return past ? t('knowledge.expired_on_record', { day: day(past.expires_on), ...age }) : null;
}

/** How old this station's own knowledge is, in words. */
export function age() {
  const { at } = JSON.parse(localStorage.getItem(SNAPSHOT) ?? '{"at":null}');
  return at ? t('knowledge.age', { at: instant(at) }) : t('knowledge.none');
}
