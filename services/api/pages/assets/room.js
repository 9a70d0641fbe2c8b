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
  if (can('list_routines')) await showRoutines();
  await showEquipment();
  byId('energy-section').hidden = !can('list_energy_limits');
  if (can('list_energy_limits')) await showEnergyLimits();
  byId('vials-section').hidden = !can('list_vials');
  if (can('list_vials')) await showVials();
  await showCylinders();
  await showLoads();
});
