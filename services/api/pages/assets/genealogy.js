// The way of a lot as a picture: received, lot, mix or fill or load, where it went, whom it reached. The lists below the
// picture say the same in words.

import { el, svg } from './dom.js';
import { count, instant } from './format.js';
import { t, word } from './texts.js';

const WIDTH = 230;
const GAP = 70;
const ROW = 58;
const MOST = 12;

// The mixes, fills and loads that items of the answer went through, each with the lots that lead to it.
function steps(answer) {
  const named = [
    ...(answer.mixes ?? []).map((row) => ({ id: row.mix_id, text: row.name, under: t('picture.mix') })),
    ...(answer.cylinders ?? []).map((row) => ({ id: row.cylinder_id, text: t('picture.fill'), under: `…${row.cylinder_id.slice(-6)}` })),
    ...(answer.loads ?? []).map((row) => ({ id: row.load_id, text: row.name, under: row.held ? t('picture.load_held') : t('picture.load') })),
  ];
  const nodes = new Map(named.map((node) => [node.id, { ...node, from: new Set() }]));
  for (const item of answer.items) for (const id of item.through_ids ?? []) nodes.get(id)?.from.add(item.lot_id);
  return nodes;
}

function columns(answer, names) {
  const receipts = answer.receipts.map((row, at) => ({
    id: `r${at}`, to: [row.lot_id], text: t('picture.received', { quantity: count(row.quantity) }), under: instant(row.received_at),
  }));
  const lots = answer.lots.map((lot) => ({
    id: lot.id, text: names.lotName(answer, lot.id), under: word('class', lot.class), kind: lot.class,
    from: new Set(receipts.filter((row) => row.to.includes(lot.id)).map((row) => row.id)),
  }));
  const through = steps(answer);
  const cases = new Map();
  for (const item of answer.items) {
    const one = cases.get(item.case_id) ?? {
      id: item.case_id, from: new Set(), text: item.procedure, under: instant(item.scheduled_for), kind: 'cannot_exclude',
    };
    const ways = (item.through_ids ?? []).filter((id) => through.has(id));
    for (const id of ways.length ? ways : [item.lot_id]) one.from.add(id);
    if (item.class === 'affected') one.kind = 'affected';
    cases.set(item.case_id, one);
  }
  const places = answer.on_hand.map((row, at) => ({
    id: `p${at}`, from: new Set([row.lot_id]), text: row.location, under: t('picture.on_hand', { quantity: count(row.quantity) }), kind: 'place',
  }));
  const patients = new Map();
  for (const item of answer.items) {
    const one = patients.get(item.patient_id) ?? {
      id: item.patient_id, from: new Set(), text: item.patient?.name ?? names.patientName(item), under: item.patient?.record_number ?? '', kind: 'cannot_exclude',
    };
    one.from.add(item.case_id);
    if (item.class === 'affected') one.kind = 'affected';
    patients.set(item.patient_id, one);
  }
  return [
    { title: t('picture.receipts'), nodes: receipts },
    { title: t('picture.lots'), nodes: lots },
    ...(through.size ? [{ title: t('picture.through'), nodes: [...through.values()] }] : []),
    { title: t('picture.reached'), nodes: [...places, ...cases.values()] },
    { title: t('picture.patients'), nodes: [...patients.values()] },
  ];
}

function shortened(text, most = 26) {
  return text.length > most ? `${text.slice(0, most - 1)}…` : text;
}

/** The picture, or nothing for an answer without lots. */
export function genealogy(answer, names) {
  if (answer.lots.length === 0) return null;
  const found = columns(answer, names);
  const drawn = found.map(({ nodes }) => nodes.slice(0, MOST));
  const rows = Math.max(...found.map(({ nodes }) => Math.min(nodes.length, MOST + 1)), 1);
  const height = 40 + rows * ROW;
  const at = new Map();
  drawn.forEach((nodes, column) => nodes.forEach((node, row) => {
    at.set(node.id, { x: column * (WIDTH + GAP), y: 40 + row * ROW });
  }));
  const lines = [];
  const link = (from, to) => {
    const [a, b] = [at.get(from), at.get(to)];
    if (!a || !b) return;
    const [x, y, end, level] = [a.x + WIDTH, a.y + 22, b.x, b.y + 22];
    const middle = (x + end) / 2;
    lines.push(svg('path', { class: 'link', d: `M${x} ${y} C${middle} ${y} ${middle} ${level} ${end} ${level}` }));
  };
  for (const node of drawn.flat()) for (const from of node.from ?? []) link(from, node.id);
  const box = (node) => {
    const { x, y } = at.get(node.id);
    return svg('g', { class: `node ${node.kind ?? ''}`, transform: `translate(${x} ${y})` },
      svg('title', {}, `${node.text} ${node.under}`),
      svg('rect', { width: WIDTH, height: 46, rx: 6 }),
      svg('text', { x: 10, y: 19 }, shortened(node.text)),
      svg('text', { x: 10, y: 37, class: 'under' }, shortened(node.under, 30)));
  };
  const parts = found.flatMap(({ title, nodes }, column) => {
    const x = column * (WIDTH + GAP);
    const heading = svg('text', { x, y: 22, class: 'heading' }, `${title} (${count(nodes.length)})`);
    const rest = nodes.length - MOST;
    const more = rest > 0 ? svg('text', { x: x + 10, y: 40 + MOST * ROW + 24 }, t('picture.more', { rest: count(rest) })) : null;
    return [heading, ...drawn[column].map(box), more].filter(Boolean);
  });
  const width = found.length * WIDTH + (found.length - 1) * GAP;
  const picture = svg('svg', { viewBox: `-3 0 ${width + 6} ${height}`, width: width + 6, height, role: 'img', 'aria-label': t('picture.label'), class: 'genealogy' }, ...lines, ...parts);
  return el('figure', { class: 'picture', tabindex: '0', 'aria-label': t('picture.label') }, picture, el('figcaption', {}, t('picture.caption')));
}
