// The room: its routine checks, equipment, gas and sterile processing, and what is due on
// them.

import { byId } from './dom.js';
import { can, start } from './shell.js';
import { showCylinders } from './room_cylinders.js';
import { showEquipment } from './room_equipment.js';
import { showLoads } from './room_loads.js';
import { showRoutines } from './room_routines.js';

start(async () => {
  byId('routines-section').hidden = !can('list_routines');
  if (can('list_routines')) await showRoutines();
  await showEquipment();
  await showCylinders();
  await showLoads();
});
