// The rest of a case's record below its setup sheet: what its list still misses, mixes, gas, equipment,
// energy, checks by two people, the reconciliation, signatures, amendments, documents. Shown, never
// advised.

import { actions, buttonsThen, choices, lotName, orNone, select } from './controls.js';
import { el, facts, field, placed, show, table } from './dom.js';
import { all, get, post } from './api.js';
import { documents, signatures } from './case_closing.js';
import { computed, count, day, instant } from './format.js';
import { addEnergy, energyLog, equipmentOnCase, told } from './case_equipment.js';
import { form, signed, signerFields } from './forms.js';
import { knowEquipment } from './knowledge.js';
import { strengths } from './room_vials.js';
import { can, dialog } from './shell.js';
import { mark, sentence } from './verdict.js';
import { said, t, word } from './texts.js';

/** Fills a place with the record of a case; `scans` are its readings, `again` reads it anew. */
export async function caseRecord(place, one, scans, again) {
  const { id } = one;
  const path = `/v1/cases/${id}`;
  const act = buttonsThen(again);
  const reads = [
    ['show_missing', () => get(`${path}/missing`)], ['list_mixes', () => all('/v1/mixes', { case_id: id })],
    ['show_amounts', () => get(`${path}/amounts`)], ['list_cylinders', () => all('/v1/cylinders')],
    ['show_energy', () => get(`${path}/energy`)], ['list_case_checks', () => get(`${path}/checks`)],
    ['show_reconciliation', () => get(`${path}/reconciliation`)],
    ['show_record', () => get(`${path}/record`)],
    ['list_case_equipment', () => get(`${path}/equipment`)], ['list_equipment', () => all('/v1/equipment')],
  ];
  const [missing, mixes, amounts, cylinders, energy, checks, reconciliation, record, equipment, register] = await Promise.all(reads.map(([action, read]) => (can(action) ? read() : null)));
  if (register) knowEquipment(register);
  const items = scans.filter((one) => one.item && !one.strike);
  const unfolded = new Set([...place.querySelectorAll('details[open]')].map((one) => one.dataset.part));
  const part = (title, ...content) => {
    const name = title.replace(/\(.*/, '');
    return el('details', { 'data-part': name, open: unfolded.has(name) }, el('summary', {}, el('h3', {}, title)), ...content.filter(Boolean));
  };
  show(place,
    missing && missing.list_id ? el('section', {}, el('h3', {}, t('record.missing')), missingList(missing)) : null,
    mixes && part(t('record.mixes', { number: count(mixes.length) }), ...mixes.map((one) => mix(one, items, act)), actions(act(t('record.order'), () => order(path), { needs: 'order_mix' })), amounts && amountList(amounts)),
    cylinders && part(t('record.gas'), gas(cylinders, id, act)),
    equipment && part(t('equipment.on_case', { number: count(equipment.items.filter((one) => one.on_case).length) }), equipmentOnCase(equipment, register ?? [], id, act)),
    energy && part(t('record.energy', { number: count(energy.entries.length) }), energyLog(energy), actions(act(t('record.energy.add'), () => addEnergy(path, items, equipment.items), { needs: 'record_energy' }))),
    checks && part(t('record.checks', { number: count(checks.items.length) }), checkList(checks, path, act), actions(act(t('record.check.add'), () => addCheck(path), { needs: 'record_case_check' }))),
    reconciliation && part(t('record.reconciliation'), reconciled(reconciliation)),
    one.signatures && part(t('closing.title', { number: count(one.amendments.length) }), signatures(one, act, record?.retention)),
    documents(one) && part(t('documents.title'), documents(one)));
}

function missingList({ items }) {
  return table(t('record.missing'), [
    [t('product'), (row) => row.product_name],
    [t('record.open'), (row) => count(row.open), 'number'],
    [t('record.on_case'), (row) => count(row.on_case), 'number'],
    [t('record.still'), (row) => count(row.missing), 'number'],
    [t('record.in_stock'), (row) => count(row.in_stock), 'number'],
  ], items.filter((row) => row.missing > 0), t('record.missing.none'));
}

// ---- Mixes

function mix(one, items, act) {
  const contents = one.mixture?.substances.map((row) => `${row.substance} ${computed(row.mg_per_litre ?? row.meq_per_litre)} ${row.mg_per_litre ? 'mg/L' : 'mEq/L'}`).join(', ');
  const post2 = (verb, body, versioned = true) => post(`/v1/mixes/${one.id}/${verb}`, body, versioned ? { version: one.version } : {});
  const of = (needs, label, run) => act(label, run, { of: one.name, needs });
  const steps = [
    one.status === 'ordered' ? of('make_mix', t('record.make'), async () => told(await make(one, items))) : null,
    one.status === 'made' ? of('check_mix', t('record.check_mix'), async () => told(await post2('check', {}))) : null,
    one.status === 'checked' ? of('give_dose', t('record.dose'), async () => told(await form(t('record.dose'), [
      { name: 'zone', label: t('record.zone'), most: 200 }, { name: 'volume_ml', label: t('record.volume_ml'), most: 20 },
    ], (values) => post2('doses', values, false)))) : null,
    ['made', 'checked'].includes(one.status) ? of('close_mix', t('record.close_mix'), () => form(t('record.close_mix'), [
      { name: 'discarded_ml', label: t('record.discarded_ml'), most: 20, value: '0' }, { name: 'left_ml', label: t('record.left_ml'), most: 20, value: '0' },
      { name: 'explanation', label: t('record.explanation'), required: false },
    ], (values) => post2('close', values))) : null,
    one.made && can('show_mix_label') ? el('a', { class: 'button', href: `/v1/mixes/${one.id}/label?format=pdf`, download: `${one.name}.pdf` }, t('record.label')) : null,
  ];
  return el('section', { class: 'receipt' }, el('strong', {}, `${one.name} · ${word('mix_status', one.status)}`),
    facts([
      [t('record.written'), one.written_order], [t('record.ordered'), `${one.ordered.name}, ${instant(one.ordered.at)}`],
      [t('record.made'), one.made && `${one.made.name}, ${instant(one.made.at)}`], [t('record.checked'), one.checked && `${one.checked.name}, ${instant(one.checked.at)}`],
      [t('record.contents'), contents], [t('record.volume_ml'), one.mixture?.volume_ml],
      [t('record.use_by'), one.use_by && `${instant(one.use_by)} (${one.use_by_source})`], [t('record.sterile_products'), one.sterile_products && sterileProducts(one.sterile_products)],
      [t('record.ingredients'), one.ingredients.map((row) => `${row.product_name} ${row.lot ?? ''} ${row.volume_ml} mL`).join(', ')],
      [t('record.doses'), one.doses.map((row) => `${row.zone} ${row.volume_ml} mL`).join(', ')],
    ]),
    actions(steps));
}

// Immediate use takes a limited number of different products; the service counts, people decide.
function sterileProducts({ count: number, limit }) {
  return t(number > limit ? 'record.sterile_products.outside' : 'record.sterile_products.of', { number: count(number), limit: count(limit) });
}

const order = (path) => form(t('record.order'), [
  { name: 'name', label: t('people.name'), value: t('record.bag'), most: 100 },
  { name: 'written_order', label: t('record.written'), kind: 'long', most: 1000 },
  { name: 'weight_kg', label: t('record.weight'), most: 10 },
  { name: 'use_within_minutes', label: t('record.use_within'), kind: 'number', value: '240' },
  { name: 'use_by_source', label: t('record.use_by_source'), most: 200 },
  ...signerFields(),
], (values) => post(`${path}/mixes`, signed(values)));

// One line for each container that was scanned on the case; an empty volume leaves it out. What the
// catalogue has of a drug stands there to be confirmed.
async function make(one, items) {
  const drugs = can('list_drugs') ? await all('/v1/drugs') : [];
  const vials = can('list_vials') ? await all('/v1/vials', { open: true }) : [];
  const rows = items.map((item) => {
    const known = drugs.find((drug) => drug.product_id === item.product.id)?.strengths ?? [];
    const own = vials.filter((vial) => vial.lot_id === item.lot?.id && (!item.unit || vial.unit_id === item.unit.id));
    const inputs = {
      volume: el('input', { name: 'volume_ml', inputmode: 'decimal', maxlength: 10 }), substance: el('input', { name: 'substance', maxlength: 100 }),
      kind: select(choices('strength', ['percent', 'mg_per_ml', 'meq_per_ml', 'ratio'])),
      value: el('input', { maxlength: 20 }),
      ...(own.length ? { vial: select(orNone(own.map((vial) => [vial.id, `${vial.name}, ${vial.left_ml} mL, ${day(vial.last_day)}`])), { name: 'vial_id' }) } : {}),
    };
    // One strength is confirmed in its fields; several stand as they are printed.
    const [first] = known;
    if (known.length === 1) {
      inputs.substance.value = first.substance;
      inputs.kind.value = first.mg_per_ml ? 'mg_per_ml' : 'meq_per_ml';
      inputs.value.value = first.mg_per_ml ?? first.meq_per_ml;
    }
    const several = known.length > 1 ? el('input', { type: 'checkbox' }) : null;
    const labels = { volume: t('record.volume_ml'), substance: t('record.substance'), kind: t('record.strength'), value: t('ledger.value'), vial: t('vials') };
    const content = el('fieldset', {}, el('legend', {}, `${item.product.name} ${item.lot?.number ?? ''}`), Object.entries(inputs).map(([name, input]) => field(labels[name], input)),
      several ? el('label', { class: 'check' }, several, ` ${t('record.confirm')}: ${strengths({ strengths: known })}`) : null);
    // A strength stands in what is sent under its kind.
    const strength = () => { inputs.value.name = inputs.kind.value; };
    inputs.kind.addEventListener('change', strength);
    strength();
    const typed = () => (inputs.substance.value.trim() ? [{ substance: inputs.substance.value.trim(), [inputs.kind.value]: inputs.value.value.trim() }] : []);
    const value = () => ({ scan_id: item.id, volume_ml: inputs.volume.value.trim(), strengths: several?.checked ? known : typed(), vial_id: inputs.vial?.value || undefined });
    return { content, value, counts: () => inputs.volume.value.trim() !== '' };
  });
  const started = new Date().toISOString();
  const ingredients = () => placed('ingredients', rows, rows.filter((row) => row.counts())).map((row) => row.value());
  const run = () => post(`/v1/mixes/${one.id}/make`, { started_at: started, ingredients: ingredients() }, { version: one.version });
  return dialog(t('record.make'), el('div', { class: 'fields' }, el('p', {}, t('record.make.why')), rows.map((row) => row.content)), [{ label: t('record.make'), primary: true, run }]);
}

function amountList({ substances, without_strength: without }) {
  const value = (row) => [row.mg && `${computed(row.mg)} mg`, row.mg_per_kg && `${computed(row.mg_per_kg)} mg/kg`, row.meq && `${computed(row.meq)} mEq`].filter(Boolean).join(', ');
  const published = (row) => row.references.map((one) => `${one.mg_per_kg} mg/kg, ${said(one.about) ?? one.about} (${said(one.source) ?? one.source})`).join('; ');
  return el('div', {}, el('h4', {}, t('record.amounts')), table(t('record.amounts'), [
    [t('record.substance'), (row) => row.substance], [t('record.recorded'), value], [t('record.published'), published],
  ], substances, t('record.amounts.none')),
  without ? el('p', { class: 'caution' }, t('record.without_strength', { number: count(without) })) : null,
  el('p', { class: 'caution' }, t('caution.figures')));
}

// ---- Gas

function gas(cylinders, id, act) {
  const open = cylinders.filter((one) => one.state !== 'empty');
  const left = (one) => (one.left ? `${one.left.litre} L (${one.left.litre_low} – ${one.left.litre_high})` : t('record.not_computed'));
  const use = (one) => form(t('record.gas.use'), [
    { name: 'zone', label: t('record.zone'), most: 200 }, { name: 'litre_per_minute', label: t('record.flow'), most: 10 }, { name: 'minutes', label: t('record.minutes'), most: 10 },
  ], (values) => post(`/v1/cylinders/${one.id}/uses`, { ...values, case_id: id }));
  const gauge = (one) => form(t('record.gauge'), [
    { name: 'gauge_psi', label: t('record.psi'), most: 10 }, { name: 'celsius', label: t('record.celsius'), most: 10 }, { name: 'litre_per_minute', label: t('record.flow'), most: 10, required: false },
  ], (values) => post(`/v1/cylinders/${one.id}/gauge`, values));
  const here = (one) => one.by_case.find((row) => row.case_id === id)?.litre;
  return el('div', {}, table(t('record.gas'), [
    [t('product'), (row) => `${row.product_name} ${row.serial ?? row.lot ?? ''}`],
    [t('record.left'), left],
    [t('record.gas.minutes'), (row) => (row.left?.minutes ? `${row.left.minutes.minutes} (${row.left.minutes.minutes_low} – ${row.left.minutes.minutes_high})` : '')],
    [t('record.gas.here'), (row) => (here(row) ? `${here(row)} L` : '')],
    [t('findings'), (row) => row.findings.flatMap((one) => [sentence(one), ' '])],
    [t('shelf.actions'), (row) => actions(act(t('record.gauge'), () => gauge(row), { of: row.product_name, needs: 'record_gauge' }), act(t('record.gas.use'), () => use(row), { of: row.product_name, needs: 'record_gas_use' }))],
  ], open, t('record.gas.none')), open[0] ? el('p', { class: 'caution' }, t('caution.figures')) : null);
}

// ---- Checks, reconciliation

const done = (step) => `${step.name}, ${instant(step.at)}`;

function checkList({ items, differences }, path, act) {
  return el('div', {}, table(t('record.checks', { number: count(items.length) }), [
    [t('record.check'), (row) => word('check', row.kind)],
    [t('record.lines'), (row) => row.lines.map((line) => `${line.item}: ${line.answer}`).join('; ')],
    [t('record.first'), (row) => done(row.recorded)],
    [t('record.second'), (row) => (row.confirmed ? done(row.confirmed) : act(t('record.confirm'), () => post(`${path}/checks/${row.id}/confirm`, {}), { of: word('check', row.kind), needs: 'confirm_case_check' }) ?? t('no'))],
  ], items, t('record.checks.none')),
  ...differences.map((one) => el('p', { class: 'caution' }, mark('look'), ` ${one.item}: ${one.initial ?? '–'} / ${one.closing ?? '–'}`)));
}

const addCheck = (path) => form(t('record.check.add'), [
  { name: 'kind', label: t('record.check'), choices: choices('check', ['sign_in', 'time_out', 'sign_out', 'initial_count', 'closing_count']) },
  { name: 'lines', label: t('record.lines'), hint: t('record.lines.hint'), kind: 'long', list: true, most: 4000 },
], ({ kind, lines }) => post(`${path}/checks`, { kind, lines: lines.map((line) => {
  const [item, ...answer] = line.split(':');
  return { item: item.trim(), answer: answer.join(':').trim() };
}) }));

function reconciled({ lots, agrees }) {
  return el('div', {}, el('p', {}, agrees ? t('record.agrees') : t('record.differs')), table(t('record.reconciliation'), [
    [t('product'), (row) => row.product_name], [t('lot'), lotName],
    [t('record.picked'), (row) => count(row.picked), 'number'], [t('disposition.used'), (row) => count(row.used), 'number'],
    [t('disposition.wasted'), (row) => count(row.wasted), 'number'], [t('disposition.opened_unused'), (row) => count(row.opened_unused), 'number'],
    [t('disposition.returned'), (row) => count(row.returned), 'number'], [t('disposition.failed'), (row) => count(row.failed), 'number'],
    [t('record.difference'), (row) => count(row.difference), 'number'],
  ], lots, t('station.nothing_yet')));
}
