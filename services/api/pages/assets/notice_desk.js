// One notice at the recall desk: its text with what was read, confirming, what it hits, the work.

import { actions, button, buttonsThen, choices, orNone, select } from './controls.js';
import { el, facts, field, placed, show, table } from './dom.js';
import { all, get, post, saveCsv } from './api.js';
import { count, day, instant } from './format.js';
import { form } from './forms.js';
import { genealogy } from './genealogy.js';
import { takeIn } from './notice_in.js';
import { can, dialog } from './shell.js';
import { work } from './notice_work.js';
import { t, word } from './texts.js';

/** Fills the desk with a notice; `back` leads to the list. */
export async function openDesk(desk, id, back) {
  const openOther = (other) => openDesk(desk, other, back);
  const again = () => openOther(id);
  const notice = await get(`/v1/notices/${id}`);
  const act = buttonsThen(again);
  const matches = el('div');
  const parts = [
    actions(button(t('notices.back'), async () => back()), button(t('print'), async () => print()),
      notice.state === 'unconfirmed' ? act(t('notices.confirm'), () => confirm(notice), { needs: 'confirm_notice', primary: true }) : null,
      notice.state === 'open' ? button(t('notices.matches'), () => showMatches(matches, notice), { needs: 'list_matches', primary: true }) : null,
      notice.state === 'open' ? act(t('notices.withdraw'), () => withdraw(notice), { needs: 'end_notice' }) : null,
      button(t('notices.update'), () => update(notice, openOther), { needs: 'add_notice' })),
    el('h2', {}, `${notice.reference} · ${notice.firm}`),
    facts([
      [t('notices.state'), word('notice_state', notice.state)],
      [t('notices.class'), notice.class ?? t('notices.class.none')],
      [t('notices.received'), day(notice.received_on)],
      [t('notices.source'), word('notice_source', notice.source)],
      [t('notices.product'), notice.product],
      [t('notices.reason'), notice.reason],
    ]),
    timeline(notice, openOther),
    el('h3', {}, t('notices.text')),
    marked(notice),
    notice.reading.unread.length ? el('p', { class: 'caution' }, t('notices.unread', { texts: notice.reading.unread.join(' · ') })) : null,
    criteria(notice),
    matches,
  ];
  show(desk, ...parts);
  if (notice.state === 'open' || notice.state === 'closed') {
    const place = el('div');
    desk.append(place);
    if (can('show_work')) await work(place, notice, again);
  }
}

async function update(notice, openOther) {
  const added = await takeIn(notice);
  if (added) await openOther(added.id);
}

// What was done with it, and the other notices of the matter.
function timeline(notice, openOther) {
  const done = (key, one) => one && [t(`notices.${key}`), instant(one.at)];
  const steps = [[t('notices.taken_in'), instant(notice.added_at)], done('confirmed', notice.confirmed), done('closed', notice.closed), done('ended', notice.ended)].filter(Boolean);
  const others = notice.revisions.filter((one) => one.id !== notice.id).map((one) => el('li', {}, el('strong', {}, t('notices.revision', { number: one.revision })),
    ` ${one.reference} · ${word('notice_state', one.state)} `, button(t('notices.open'), () => openOther(one.id), { of: t('notices.revision', { number: one.revision }) })));
  return el('ol', { class: 'timeline' }, steps.map(([name, value]) => el('li', {}, el('strong', {}, name), ` ${value}`)), others);
}

// The text as received: what was read is marked by what it is, what was not is marked as unread.
function marked({ text, reading }) {
  const spans = reading.proposals.flatMap((one) => one.spans.map(({ field: kind, at, to }) => ({ kind, at, to })));
  spans.push(...reading.unread_spans.map(([at, to]) => ({ kind: 'unread', at, to })));
  spans.sort((a, b) => a.at - b.at);
  // Spans count characters, not UTF-16 units.
  const letters = [...text];
  const parts = [];
  let from = 0;
  for (const { kind, at, to } of spans) {
    if (at < from) continue;
    parts.push(letters.slice(from, at).join(''));
    parts.push(el('mark', { class: kind, title: word('criterion', kind) }, letters.slice(at, to).join(''), el('span', { class: 'kind' }, word('criterion', kind))));
    from = to;
  }
  parts.push(letters.slice(from).join(''));
  return el('p', { class: 'notice-text' }, parts);
}

function criteria(notice) {
  if (notice.criteria.length === 0) return null;
  const names = (one) => [...one.identifiers, ...one.catalogue_numbers, ...one.product_ids.map((id) => `…${id.slice(-6)}`)].join(', ');
  const one = (value) => (typeof value === 'string' ? value : Object.values(value).join(' – '));
  const said = ([name, value]) => {
    if (value === true) return word('criterion', name);
    return `${word('criterion', name)}: ${Array.isArray(value) ? value.map(one).join(', ') : value}`;
  };
  const items = ({ items: of }) => Object.entries(of).filter(([, value]) => value && value.length !== 0).map(said).join('; ');
  return el('section', {}, el('h3', {}, t('notices.criteria')), table(t('notices.criteria'), [
    [t('notices.products'), names],
    [t('notices.items'), items],
    [t('notices.settles'), (row) => (row.open ? t('no') : t('yes'))],
  ], notice.criteria, ''));
}

const lines = (values) => values.join('\n');
const unlines = (area) => area.value.split('\n').map((line) => line.trim()).filter(Boolean);

function range(text) {
  const [of, rest] = text.startsWith('serial ') ? ['serial', text.slice(7)] : ['lot', text.replace(/^lot /, '')];
  if (rest.endsWith('…')) return { of, begins_with: rest.slice(0, -1).trim() };
  const [from, to] = rest.split(' – ').map((one) => one.trim());
  return { of, ...(from ? { from } : {}), ...(to ? { to } : {}) };
}

const rangeText = (one) => `${one.of} ${one.begins_with ? `${one.begins_with}…` : `${one.from ?? ''} – ${one.to ?? ''}`}`;

// What a person confirms: the proposals as fields, and the products of this catalogue.
async function confirm(notice) {
  const proposals = notice.reading.proposals.length ? notice.reading.proposals : [{ lots: [], serials: [], ranges: [], identifiers: [], catalogue_numbers: [], all: false }];
  const products = await all('/v1/products');
  const blocks = proposals.map((proposal, at) => {
    const area = (value) => el('textarea', { rows: 3, value: lines(value), spellcheck: 'false' });
    const parts = {
      identifiers: area(at === 0 ? [...new Set([...proposal.identifiers, ...notice.also_named])] : proposal.identifiers),
      catalogue_numbers: area(proposal.catalogue_numbers),
      lots: area(proposal.lots),
      serials: area(proposal.serials),
      ranges: area(proposal.ranges.map(rangeText)),
      expires_from: el('input', { type: 'date', value: proposal.expiry?.from ?? '' }),
      expires_to: el('input', { type: 'date', value: proposal.expiry?.to ?? '' }),
    };
    const everything = el('input', { type: 'checkbox' });
    everything.checked = proposal.all;
    const product = select(orNone(products.map((one) => [one.id, `${one.name} · ${one.maker} ${one.model}`]), t('notices.no_product')), { name: 'product_ids' });
    const counted = el('input', { type: 'checkbox' });
    counted.checked = true;
    const content = el('fieldset', {}, el('legend', {}, t('notices.criterion', { number: at + 1 })),
      el('label', { class: 'check' }, counted, ` ${t('notices.counts')}`),
      field(t('notices.product_here'), product),
      ...Object.entries(parts).map(([name, input]) => {
        input.name = name;
        return field(word('criterion', name), input, name === 'ranges' ? t('notices.ranges.hint') : undefined);
      }),
      el('label', { class: 'check' }, everything, ` ${word('criterion', 'all')}`));
    const value = () => ({
      identifiers: unlines(parts.identifiers), catalogue_numbers: unlines(parts.catalogue_numbers),
      product_ids: product.value ? [product.value] : [], lots: unlines(parts.lots), serials: unlines(parts.serials),
      ranges: unlines(parts.ranges).map(range), all: everything.checked,
      ...(parts.expires_from.value ? { expires_from: parts.expires_from.value } : {}),
      ...(parts.expires_to.value ? { expires_to: parts.expires_to.value } : {}),
    });
    return { content, counts: () => counted.checked, value };
  });
  const settles = el('input', { type: 'checkbox' });
  const content = el('div', { class: 'fields' }, el('p', {}, t('notices.confirm.why')), marked(notice), blocks.map((one) => one.content),
    el('label', { class: 'check' }, settles, ` ${t('notices.settles.say')}`));
  const criteria = () => placed('criteria', blocks, blocks.filter((one) => one.counts())).map((one) => one.value());
  const run = () => post(`/v1/notices/${notice.id}/confirm`, { criteria: criteria(), settles_unread: settles.checked }, { version: notice.version });
  return dialog(t('notices.confirm'), content, [{ label: t('notices.confirm'), primary: true, run }]);
}

async function withdraw(notice) {
  const fields = [
    { name: 'end', label: t('notices.withdraw.how'), choices: choices('notice_end', ['terminated', 'withdrawn']) },
    { name: 'reason', label: t('reason') },
  ];
  return form(t('notices.withdraw'), fields, (values) => post(`/v1/notices/${notice.id}/end`, values, { version: notice.version }));
}

// ---- What it hits

async function showMatches(place, notice) {
  const found = await get(`/v1/notices/${notice.id}/matches`);
  const people = new Map(found.patients.map((one) => [one.id, one.patient]));
  const products = new Map(found.products.map((one) => [one.id, one.name]));
  const lotOf = (id) => found.lots.find((one) => one.id === id)?.number ?? t('lot.not_recorded');
  const who = (row) => {
    const patient = people.get(row.patient_id ?? row.id);
    return patient ? `${patient.name} (${patient.record_number})` : t('patient.by_id', { id: (row.patient_id ?? row.id).slice(-6) });
  };
  const ways = new Map([
    ...found.mixes.map((one) => [one.mix_id, t('way.mix', { name: one.name })]),
    ...found.cylinders.map((one) => [one.cylinder_id, t('picture.fill')]),
    ...found.loads.map((one) => [one.load_id, one.held ? t('way.held', { name: one.name }) : one.name]),
  ]);
  const way = (row) => [...row.through_ids.map((id) => ways.get(id)), row.witness === 'scan' ? null : word('witness', row.witness)].filter(Boolean).join('; ');
  const answer = { ...found, items: found.items.map((item) => ({ ...item, patient: people.get(item.patient_id) })) };
  const heads = {
    items: [[t('patient'), who], [t('case'), (row) => `${row.procedure}, ${instant(row.scheduled_for)}`], [t('class'), (row) => word('class', row.class)], [t('product'), (row) => products.get(row.product_id) ?? ''], [t('lot'), (row) => lotOf(row.lot_id)], [t('serial'), (row) => row.serial ?? ''], [t('way'), way], [t('disposition'), (row) => word('disposition', row.disposition)]],
    on_hand: [[t('place'), (row) => row.location], [t('product'), (row) => products.get(row.product_id) ?? ''], [t('lot'), (row) => lotOf(row.lot_id)], [t('class'), (row) => word('class', row.class)], [t('quantity'), (row) => count(row.quantity), 'number']],
  };
  const section = (name, empty) => el('section', {}, el('h3', {}, t(`where_is.${name}`)), table(t(`where_is.${name}`), heads[name], found[name], empty));
  const tile = (name, value) => el('div', { class: 'tile' }, el('strong', {}, count(value)), el('span', {}, name));
  const { counts } = found;
  show(place, el('h3', {}, t('notices.matches')), el('div', { class: 'tiles' },
    tile(t('where_is.patients'), counts.patients), tile(t('where_is.cases'), counts.cases), tile(t('class.affected'), counts.affected),
    tile(t('class.possible'), counts.possible), tile(t('class.cannot_exclude'), counts.cannot_exclude), tile(t('where_is.on_hand_units'), counts.on_hand)),
  genealogy(answer, { patientName: who, lotName: (_, id) => lotOf(id) }),
  actions(button(t('export_csv'), async () => saveCsv('notice-matches.csv', heads.items.map(([one]) => one), found.items.map((row) => heads.items.map(([, content]) => content(row)))), { disabled: found.items.length === 0 })),
  section('items', t('where_is.items.empty')), section('on_hand', t('where_is.on_hand.empty')));
}
