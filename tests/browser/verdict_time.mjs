// From a scan's last character to its verdict on the screen, with ten stations at work. Prints a
// JSON line for one real browser beside nine stations that send what the page sends, as a room has
// a machine of its own, and one for ten browsers on this machine. The floor of each is the same
// scans' requests alone, as the browser timed them.

import assert from 'node:assert/strict';
import { api, close, label, newLot, openCase, openSheet, person, receive, signedIn } from './harness.mjs';

const STATIONS = 10;
const SCANS = process.env.LOTWARDEN_BENCH_QUICK === '1' ? 40 : 200;

async function station(procedure) {
  await openCase(procedure);
  const page = await signedIn(person('circulator'), '/station');
  await page.evaluate(() => {
    window.times = [];
    const words = [];
    let told = () => {};
    // Resolves to the word of a turn's verdict once it is painted.
    window.painted = (turn) => new Promise((resolve) => {
      told = () => { if (words.length > turn) resolve(words[turn]); };
      told();
    });
    let began = 0;
    document.addEventListener('keydown', (event) => { if (event.key === 'Enter') began = performance.now(); }, { capture: true });
    new MutationObserver(() => {
      const kind = document.getElementById('verdict').dataset.verdict;
      if (!began || !kind || kind === 'checking') return;
      const since = began;
      began = 0;
      // A message that is sent in a frame arrives once the frame has been painted.
      requestAnimationFrame(() => {
        const { port1, port2 } = new MessageChannel();
        port1.onmessage = () => {
          window.times.push(performance.now() - since);
          words.push(kind);
          told();
        };
        port2.postMessage(null);
      });
    }).observe(document.getElementById('verdict'), { attributes: true, childList: true });
  });
  await openSheet(page, procedure);
  return page;
}

// A person takes the next item.
const pause = () => new Promise((done) => { setTimeout(done, 500 + Math.random() * 1000); });

// The characters come at once and the Enter as a key: to type each through the browser's debugging
// interface costs ten times what the page does with them, and no station has that to do.
async function scanned(page, texts) {
  for (const [turn, text] of texts.entries()) {
    await pause();
    await page.keyboard.insertText(text);
    await page.keyboard.press('Enter');
    assert.equal(await page.evaluate((at) => window.painted(at), turn), 'taken');
  }
}

async function sent(procedure, texts, busy) {
  const circulator = person('circulator');
  const { id } = await openCase(procedure);
  for (let turn = 0; busy(); turn += 1) {
    await api(circulator, 'POST', `/v1/cases/${id}/scans`, { text: texts[turn % texts.length], another_piece: true });
    await pause();
  }
}

async function received(number, units) {
  const made = Array.from({ length: number }, () => label.cannula(newLot('VT')));
  for (const text of made) await receive(text, units);
  return made;
}

const percentile = (list, part) => Math.round(list.sort((a, b) => a - b)[Math.floor((list.length - 1) * part)] * 10) / 10;

async function measure(browsers) {
  const pages = [];
  for (let at = 0; at < browsers; at += 1) pages.push(await station(`Verdict time ${process.pid} ${browsers} ${at}`));
  const texts = await received(SCANS, 1);
  const others = await received(STATIONS, SCANS);
  let waiting = browsers;
  const beside = Array.from({ length: STATIONS - browsers }, (_, at) => sent(`Verdict time ${process.pid} beside ${at}`, others, () => waiting > 0));
  const share = SCANS / browsers;
  await Promise.all([...beside, ...pages.map((page, at) => scanned(page, texts.slice(at * share, (at + 1) * share)).finally(() => { waiting -= 1; }))]);
  const times = (await Promise.all(pages.map((page) => page.evaluate(() => window.times)))).flat();
  const requests = (await Promise.all(pages.map((page) => page.evaluate(() => performance.getEntriesByType('resource')
    .filter((one) => one.initiatorType === 'fetch' && /\/scans$/.test(one.name)).map((one) => one.responseEnd - one.requestStart))))).flat();
  for (const page of pages) await page.context().close();
  console.log(JSON.stringify({
    benchmark: 'verdict_on_screen', stations: STATIONS, browsers, scans: times.length,
    p50_ms: percentile(times, 0.5), p95_ms: percentile(times, 0.95),
    floor: 'the requests alone', floor_p50_ms: percentile(requests, 0.5), floor_p95_ms: percentile(requests, 0.95),
  }));
}

await measure(1);
await measure(STATIONS);
await close();
