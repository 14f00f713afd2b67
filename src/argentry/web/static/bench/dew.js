// How warm a plate must be before iodine, by what was read of the air. Twin of bench/dew.py.

import { readMoment } from "./moments.js";
import { DEW, fill } from "./say.js";
import { wallClock } from "./words.js";

/** What to say of a plate at a step; empty for other steps and without fresh readings. `rule`: of the page's trade data; `air`: read outside the run. */
export function dewWords(rule, state, plate, step, air = []) {
  if (!rule.steps.includes(step)) return "";
  const fresh = (what) => [...state.readings, ...air]
    .filter((one) => one.what === what && (readMoment(state.now) - readMoment(one.at)) / 1e6 <= rule.stale_s[what])
    .sort((a, b) => readMoment(a.at) - readMoment(b.at)).at(-1);
  const [room, humidity] = [fresh("room_c"), fresh("room_rh_pct")];
  if (!room || !humidity) return "";
  const gamma = Math.log(humidity.value / 100) + (rule.magnus_a * room.value) / (rule.magnus_b + room.value);
  const dew = (rule.magnus_b * gamma) / (rule.magnus_a - gamma);
  const at = wallClock(readMoment(room.at) < readMoment(humidity.at) ? room.at : humidity.at);
  const said = { at, dew: Math.floor(dew + 0.5), least: Math.ceil(dew + rule.margin_k) };
  const of = state.readings.find((one) => one.what === "plate_c")?.plate ?? plate;
  const back = of === plate ? fresh("plate_c")?.value : undefined;
  if (back === undefined || back >= dew + rule.margin_k) return fill(DEW.needed, said);
  return fill(DEW.cold, { ...said, back: Math.floor(back + 0.5) });
}
