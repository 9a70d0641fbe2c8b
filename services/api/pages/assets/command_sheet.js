// The sheet of symbols that drive a station from the scanner alone.

import { byId } from './dom.js';
import { start } from './shell.js';

start(() => byId('print').addEventListener('click', () => print()));
