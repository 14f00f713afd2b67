// How warm a plate must be before iodine, by what was read of the air. Twin of bench/dew.py.

import { readMoment } from "./moments.js";
import { DEW, fill } from "./say.js";

/** What to say of a plate at a step; empty for other steps and without fresh readings. `rule`: of the page's trade data. */
export function dewWords(rule, state, plate, step) {
  if (!rule.steps.includes(step)) return "";
  const fresh = (what) => state.readings.find((one) => one.what === what && (readMoment(state.now) - readMoment(one.at)) / 1e6 <= rule.stale_s[what])?.value;
  const [air, humidity] = [fresh("room_c"), fresh("room_rh_pct")];
  if (air === undefined || humidity === undefined) return "";
  const gamma = Math.log(humidity / 100) + (rule.magnus_a * air) / (rule.magnus_b + air);
  const dew = (rule.magnus_b * gamma) / (rule.magnus_a - gamma);
  const said = { dew: Math.floor(dew + 0.5), least: Math.ceil(dew + rule.margin_k) };
  const of = state.readings.find((one) => one.what === "plate_c")?.plate ?? plate;
  const back = of === plate ? fresh("plate_c") : undefined;
  if (back === undefined || back >= dew + rule.margin_k) return fill(DEW.needed, said);
  return fill(DEW.cold, { ...said, back: Math.floor(back + 0.5) });
}
