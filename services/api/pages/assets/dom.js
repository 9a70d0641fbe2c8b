// Elements, made without markup: text is always text.

const SVG = 'http://www.w3.org/2000/svg';

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith('on')) node.addEventListener(name.slice(2), value);
    else if (name === 'value') node.value = value;
    else node.setAttribute(name, value === true ? '' : value);
  }
  node.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return node;
}

/** An element with attributes, `on...` listeners and children. */
export function el(name, attributes = {}, ...children) {
  return fill(document.createElement(name), attributes, children);
}

/** An element of a picture. */
export function svg(name, attributes = {}, ...children) {
  return fill(document.createElementNS(SVG, name), attributes, children);
}

/** An element of this page by its id. */
export function byId(id) {
  return document.getElementById(id);
}

/** Puts children in the place of whatever an element holds. */
export function show(node, ...children) {
  node.replaceChildren(...children.flat().filter((child) => child !== null && child !== undefined));
  node.hidden = false;
}

/** Prints one section of the page alone. */
export async function printOnly(section) {
  document.body.dataset.print = section;
  print();
  delete document.body.dataset.print;
}

/** A labelled field. */
export function field(label, input, hint) {
  const id = input.id || `f${Math.random().toString(36).slice(2)}`;
  input.id = id;
  const parts = [el('label', { for: id }, label)];
  if (hint) {
    parts.push(el('p', { class: 'hint', id: `${id}-hint` }, hint));
    input.setAttribute('aria-describedby', `${id}-hint`);
  }
  return el('div', { class: 'field' }, parts, input);
}

/**
 * The label of the field that a refusal names by its JSON pointer or parameter, within a part of the
 * page. A field's `name` is its place in what is sent; a named fieldset's stands before those in it. Of
 * a list the number of the line is said.
 */
export function labelOf(part, pointer) {
  const steps = pointer.split('/').filter(Boolean);
  const rest = (names) => names.reduce((left, name) => {
    const at = left ? left.indexOf(name) : -1;
    return at < 0 ? null : left.slice(at + 1);
  }, steps);
  const found = [...part.querySelectorAll('[name]')].map((field) => {
    const block = field.parentElement.closest('fieldset');
    const names = `${block?.name ?? ''}/${field.name}`.split('/').filter(Boolean);
    return { field, block, names, rest: rest(names) };
  }).filter((one) => one.names.length > 0 && one.rest).sort((a, b) => b.names.length - a.names.length);
  if (found.length === 0) return steps.join('/');
  const [{ field, block, rest: left }] = found;
  const own = field.getAttribute('aria-label') ?? (field.labels?.[0] ?? field.querySelector('legend')).textContent.trim();
  const line = /^\d+$/.test(left[0]) ? ` ${Number(left[0]) + 1}` : '';
  return [block?.querySelector('legend').textContent, own + line].filter(Boolean).join(', ');
}

/** Names blocks of fields by their places in the list that is sent; gives those that are sent. */
export function placed(list, blocks, sent) {
  for (const one of blocks) one.content.name = sent.includes(one) ? `${list}/${sent.indexOf(one)}` : '';
  return sent;
}

// A table that does not fit becomes a list of its rows, so that nothing of it has to be looked for at
// the side; it is measured again when its place has another width.
const widths = new WeakMap();
const fitting = new ResizeObserver((entries) => {
  for (const { target } of entries) {
    if (widths.get(target) === target.clientWidth) continue;
    widths.set(target, target.clientWidth);
    target.classList.remove('stacked');
    target.classList.toggle('stacked', target.scrollWidth > target.clientWidth);
  }
});

/** A table with a caption; `columns` are `[heading, row => content, class?]`. */
export function table(caption, columns, rows, empty) {
  if (rows.length === 0) return el('p', { class: 'empty' }, empty);
  const head = el('tr', {}, columns.map(([heading, , kind]) => el('th', { scope: 'col', class: kind }, heading)));
  const line = (row) => el('tr', {}, columns.map(([heading, content, kind], at) => {
    const value = content(row);
    return el(at === 0 ? 'th' : 'td', { class: kind, scope: at === 0 ? 'row' : null, 'data-heading': heading },
      ...(Array.isArray(value) ? value : [value ?? '']));
  }));
  const lines = rows.map(line);
  // A column of buttons alone says nothing on paper.
  for (const at of columns.keys()) {
    const cells = lines.map((one) => one.children[at]);
    const acts = (cell) => cell.querySelector('button, .button');
    if (cells.some(acts) && cells.every((cell) => acts(cell) || cell.textContent === '')) {
      for (const cell of [head.children[at], ...cells]) cell.classList.add('acts');
    }
  }
  // Whatever still does not fit scrolls by itself, and can be reached to do so by the keyboard.
  const made = el('div', { class: 'table', tabindex: '0', role: 'region', 'aria-label': caption },
    el('table', {}, el('caption', {}, caption), el('thead', {}, head), el('tbody', {}, lines)));
  fitting.observe(made);
  return made;
}

/** A list of names and values. */
export function facts(pairs) {
  const shown = pairs.filter(([, value]) => value !== null && value !== undefined && value !== '');
  return el('dl', { class: 'facts' }, shown.map(([name, value]) => el('div', {}, el('dt', {}, name), el('dd', {}, value))));
}
