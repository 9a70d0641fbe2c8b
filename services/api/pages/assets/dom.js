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

/** A table with a caption; `columns` are `[heading, row => content, class?]`. */
export function table(caption, columns, rows, empty) {
  if (rows.length === 0) return el('p', { class: 'empty' }, empty);
  const head = el('tr', {}, columns.map(([heading, , kind]) => el('th', { scope: 'col', class: kind }, heading)));
  const line = (row) => el('tr', {}, columns.map(([heading, content, kind], at) => {
    const value = content(row);
    return el(at === 0 ? 'th' : 'td', { class: kind, scope: at === 0 ? 'row' : null, 'data-heading': heading },
      ...(Array.isArray(value) ? value : [value ?? '']));
  }));
  // Scrolls by itself on a narrow screen, and can be reached to do so by the keyboard.
  return el('div', { class: 'table', tabindex: '0', role: 'region', 'aria-label': caption },
    el('table', {}, el('caption', {}, caption), el('thead', {}, head), el('tbody', {}, rows.map(line))));
}

/** A list of names and values. */
export function facts(pairs) {
  const shown = pairs.filter(([, value]) => value !== null && value !== undefined && value !== '');
  return el('dl', { class: 'facts' }, shown.map(([name, value]) => el('div', {}, el('dt', {}, name), el('dd', {}, value))));
}
