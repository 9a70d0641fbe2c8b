// One Bundle on standard input; what npm's `fhir` (R4: cardinality, unknown members, required code
// sets) finds in it and in each of its resources, as JSON lines. Nothing found prints nothing.
const { Fhir } = require('fhir');

const bundle = JSON.parse(require('node:fs').readFileSync(0, 'utf8'));
const fhir = new Fhir();
const looked = [bundle, ...bundle.entry.map((entry) => entry.resource)];
for (const resource of looked) {
  const { valid, messages } = fhir.validate(resource, { errorOnUnexpected: true });
  const faults = messages.filter((message) => message.severity === 'error' || message.severity === 'fatal');
  if (!valid || faults.length > 0) {
    console.log(JSON.stringify({ of: resource.resourceType, id: resource.id, faults }));
  }
}
