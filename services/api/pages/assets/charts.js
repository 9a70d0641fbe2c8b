// Counts as pictures; the same numbers stand in the lists beside them.

import { el, svg } from './dom.js';
import { count } from './format.js';

const HEIGHT = 180;
const BAR = 46;
const GAP = 14;

/** Columns of `{label, value, kind}`: each with its number above it, told apart by pattern and label. */
export function columns(label, bars) {
  const most = Math.max(1, ...bars.map((bar) => bar.value));
  const width = bars.length * (BAR + GAP) + GAP;
  const parts = bars.flatMap((bar, at) => {
    const height = Math.round((bar.value / most) * HEIGHT);
    const x = GAP + at * (BAR + GAP);
    const y = 24 + HEIGHT - height;
    const middle = x + BAR / 2;
    return [
      svg('rect', { x, y, width: BAR, height, class: `column ${bar.kind}` }),
      svg('text', { x: middle, y: y - 6, class: 'value' }, count(bar.value)),
      svg('text', { x: middle, y: 24 + HEIGHT + 18, class: 'label' }, bar.label[0]),
      svg('text', { x: middle, y: 24 + HEIGHT + 34, class: 'label' }, bar.label[1] ?? ''),
    ];
  });
  const height = 24 + HEIGHT + 44;
  const picture = svg('svg', { viewBox: `0 0 ${width} ${height}`, width, height, role: 'img', 'aria-label': label, class: 'chart' },
    svg('line', { x1: 0, y1: 24 + HEIGHT, x2: width, y2: 24 + HEIGHT, class: 'axis' }), ...parts);
  return el('figure', { class: 'picture', tabindex: '0', 'aria-label': label }, picture, el('figcaption', {}, label));
}
