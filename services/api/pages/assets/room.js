// The room: its routine checks, what is used on case after case, and what is due.

import { byId } from './dom.js';
import { can, start } from './shell.js';
import { showEquipment } from './room_equipment.js';
import { showRoutines } from './room_routines.js';

start(async () => {
  byId('routines-section').hidden = !can('list_routines');
  if (can('list_routines')) await showRoutines();
  await showEquipment();
});
