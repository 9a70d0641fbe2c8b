// The room: its routine checks, equipment, vials, gas and sterile processing, and what is due on
// them.

import { byId } from './dom.js';
import { can, start } from './shell.js';
import { showCylinders } from './room_cylinders.js';
import { showEnergyLimits } from './room_energy.js';
import { showEquipment } from './room_equipment.js';
import { showLoads } from './room_loads.js';
import { showRoutines } from './room_routines.js';
import { showVials } from './room_vials.js';

start(async () => {
  byId('routines-section').hidden = !can('list_routines');
  byId('energy-section').hidden = !can('list_energy_limits');
  byId('vials-section').hidden = !can('list_vials');
  const sections = [
    can('list_routines') && showRoutines, showEquipment, can('list_energy_limits') && showEnergyLimits,
    can('list_vials') && showVials, showCylinders, showLoads,
  ].filter(Boolean);
  // A section that cannot be shown leaves the others as they are.
  let failed = null;
  for (const show of sections) await show().catch((error) => { failed ??= error; });
  if (failed) throw failed;
});
