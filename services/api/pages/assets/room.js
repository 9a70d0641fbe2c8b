// The room: what is used on case after case, and what is due on it.

import { start } from './shell.js';
import { showEquipment } from './room_equipment.js';

start(async () => {
  await showEquipment();
});
