// Pages beside the work list: forms are answered in place here too.

import { startActs } from "./acts.js";

startActs();
