// Counts as pictures; the same numbers stand in the lists beside them.

import { el, svg } from './dom.js';
import { count } from './format.js';

const HEIGHT = 180;
const BAR = 46;
const GAP = 14;
const LETTER = 7;

/** Columns of `{label, value, kind}`: each with its number above it, told apart by pattern and label. */
export function columns(label, bars) {
  const most = Math.max(1, ...bars.map((bar) => bar.value));
  const lines = bars.map((bar) => (bar.label.length > 1 ? bar.label : bar.label[0].split(' ')));
  const longest = Math.max(...lines.flat().map((line) => line.length));
  // Wide enough that no label runs into the next.
  const step = Math.max(BAR + GAP, Math.ceil(longest * LETTER) + GAP);
  const width = bars.length * step + GAP;
  const parts = bars.flatMap((bar, at) => {
    const height = Math.round((bar.value / most) * HEIGHT);
    const middle = GAP / 2 + (at + 0.5) * step;
    const x = middle - BAR / 2;
    const y = 24 + HEIGHT - height;
    return [
      svg('rect', { x, y, width: BAR, height, class: `column ${bar.kind}` }),
      svg('text', { x: middle, y: y - 6, class: 'value' }, count(bar.value)),
      svg('text', { x: middle, y: 24 + HEIGHT + 18, class: 'label' }, lines[at][0]),
      svg('text', { x: middle, y: 24 + HEIGHT + 34, class: 'label' }, lines[at][1] ?? ''),
    ];
  });
  const height = 24 + HEIGHT + 44;
  const picture = svg('svg', { viewBox: `0 0 ${width} ${height}`, width, height, role: 'img', 'aria-label': label, class: 'chart' },
    svg('line', { x1: 0, y1: 24 + HEIGHT, x2: width, y2: 24 + HEIGHT, class: 'axis' }), ...parts);
  return el('figure', { class: 'picture', tabindex: '0', 'aria-label': label }, picture, el('figcaption', {}, label));
}
