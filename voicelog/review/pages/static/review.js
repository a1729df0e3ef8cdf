// The work list comes complete from the server and works as plain links and forms. These
// modules add the keyboard, the sound, editing in place, and answers without a new page.

import { startActs } from "./acts.js";
import { startEditing } from "./editing.js";
import { startKeys } from "./keys.js";
import { startMap } from "./leaf_map.js";
import { startPlayer } from "./player.js";
import { arrive, startRows } from "./rows.js";

startPlayer();
startRows();
startMap();
startEditing();
startActs();
startKeys();
arrive();
