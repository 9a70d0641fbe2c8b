// Taking in a notice, or an update of one that is on record.

import { choices, orNone } from './controls.js';
import { el } from './dom.js';
import { post } from './api.js';
import { form } from './forms.js';
import { t } from './texts.js';

/** Asks for a notice, or for an update of `earlier`; resolves to what was taken in, or null. */
export function takeIn(earlier = null) {
  const fields = [
    { name: 'firm', label: t('notices.firm'), value: earlier?.firm },
    { name: 'reference', label: t('notices.reference'), most: 100, value: earlier?.reference },
    { name: 'class', label: t('notices.class'), choices: orNone(['I', 'II', 'III'].map((one) => [one, one]), t('notices.class.none')), required: false, value: earlier?.class ?? '' },
    { name: 'source', label: t('notices.source'), choices: choices('notice_source', ['letter', 'mail', 'telephone', 'distributor', 'feed']) },
    { name: 'product', label: t('notices.product'), required: false, most: 5000, value: earlier?.product },
    { name: 'reason', label: t('notices.reason'), required: false, most: 5000 },
    { name: 'text', label: t('notices.text'), hint: t('notices.text.hint'), kind: 'long', most: 1000000, file: t('notices.file') },
  ];
  const follows = earlier ? { follows_id: earlier.id } : {};
  const run = (values) => post('/v1/notices', { ...values, ...follows, product: values.product ?? '', reason: values.reason ?? '' });
  return earlier
    ? form(t('notices.update'), fields, run, el('p', {}, t('notices.update.why', { reference: earlier.reference })))
    : form(t('notices.take_in'), fields, run);
}
