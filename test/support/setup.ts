/** Tests read units as the library does, with mathjs at hand. */
import math from 'mathjs/lib/browser/math.js';
import { provideMathUnits } from '../../scenarios/mathUnits.ts';

provideMathUnits(math);
