// From a scan's last character to its verdict on the screen, with ten stations at work. Prints a
// JSON line. Its floor is the same scans' requests alone, as the browser timed them.

import { close, label, newLot, openCase, openSheet, person, receive, scan, signedIn, verdict } from './harness.mjs';

const STATIONS = 10;
const SCANS = 20;

const stations = [];
for (let at = 0; at < STATIONS; at += 1) {
  const procedure = `Verdict time ${process.pid} ${at}`;
  await openCase(procedure);
  const page = await signedIn(person('circulator'), '/station');
  await page.evaluate(() => {
    window.times = [];
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
        port1.onmessage = () => window.times.push(performance.now() - since);
        port2.postMessage(null);
      });
    }).observe(document.getElementById('verdict'), { attributes: true, childList: true });
  });
  await openSheet(page, procedure);
  stations.push(page);
}

const labels = [];
for (let at = 0; at < STATIONS * SCANS; at += 1) {
  labels.push(label.cannula(newLot('VT')));
  await receive(labels[at]);
}

await Promise.all(stations.map(async (page, at) => {
  for (let turn = 0; turn < SCANS; turn += 1) {
    await scan(page, labels[at * SCANS + turn]);
    await page.waitForFunction((done) => window.times.length > done, turn);
    await verdict(page, 'taken');
    // A person takes the next item.
    await page.waitForTimeout(500 + Math.random() * 1000);
  }
}));

const times = (await Promise.all(stations.map((page) => page.evaluate(() => window.times)))).flat();
const requests = (await Promise.all(stations.map((page) => page.evaluate(() => performance.getEntriesByType('resource')
  .filter((one) => one.initiatorType === 'fetch' && /\/scans$/.test(one.name)).map((one) => one.responseEnd - one.requestStart))))).flat();
const percentile = (list, part) => Math.round(list.sort((a, b) => a - b)[Math.floor((list.length - 1) * part)] * 10) / 10;
console.log(JSON.stringify({
  name: 'verdict_on_screen', stations: STATIONS, scans: times.length,
  p50_ms: percentile(times, 0.5), p95_ms: percentile(times, 0.95),
  request_p50_ms: percentile(requests, 0.5), request_p95_ms: percentile(requests, 0.95),
}));
await close();
