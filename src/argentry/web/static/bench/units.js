// Quantities of a sentence in the studio's units. Twin of records/units.py `told`; the page's events keep SI.

import { trade } from "./questions.js";

const NUMBER = /[-−]?\d+(?:\.\d+)?/;
const RANGE = NUMBER.source + /(?:(?:–| to | of | × )#)?/.source.replace("#", NUMBER.source);
const QUANTITY = new RegExp(
  /(?<![\p{L}\p{N}_.,×–/])(#)( \(#\))? (°C|K|mm|cm²|cm2|cm|m)(?![\p{L}\p{N}_²³/])( above| below| warmer| cooler)?/u.source.replaceAll("#", RANGE),
  "gu",
);
const LARGEST_K = 100; // above it a kelvin is the colour of a lamp
const [INCH_MM, FOOT_M, INCH2_CM2] = [25.4, 0.3048, 6.4516];
const IN_MM = { mm: 1, cm: 10, m: 1000 };

const value = (number) => Number(number.replace("−", "-"));
const largest = (number) => Math.max(...number.match(new RegExp(NUMBER.source, "g")).map(value));
const each = (part, change) => part.replace(/(?<![\d.])[-−]?\d+(?:\.\d+)?/g, (one) => change(one.replace("−", "-")));
const samePlaces = (number, text) => number.toFixed((text.split(".")[1] ?? "").length);

function sameDigits(number, text) {
  if (number === 0) return "0";
  const digits = Math.min(Math.max(2, text.replace(".", "").replace(/^[-0]+/, "").length), 3);
  const places = digits - 1 - Math.floor(Math.log10(Math.abs(number)));
  return places < 0 ? String(Math.round(number * 10 ** places) / 10 ** places) : number.toFixed(places);
}

function inches(unit, most) {
  if (unit === "cm2" || unit === "cm²") return [1 / INCH2_CM2, "in²"];
  return unit === "m" && most >= 1 ? [1 / FOOT_M, "ft"] : [IN_MM[unit] / INCH_MM, "in"];
}

/** Words with their temperatures and lengths as the studio reads them. */
export function inUnits(words, units = trade.units) {
  const [fahrenheit, inch] = [units?.temperature === "fahrenheit", units?.length === "inch"];
  if (!fahrenheit && !inch) return words;
  return String(words).replace(QUANTITY, (whole, number, spread = "", unit, after = "") => {
    const most = largest(number);
    if (unit === "°C" || unit === "K") {
      if (!fahrenheit || (unit === "K" && most > LARGEST_K)) return whole;
      const shift = unit === "K" || after ? 0 : 32;
      const told = (one) => samePlaces(1.8 * Number(one) + shift, one);
      return `${each(number, told)}${each(spread, told)} °F${after}`;
    }
    if (!inch) return whole;
    const [factor, shown] = inches(unit, most);
    const told = (one) => sameDigits(factor * Number(one), one);
    return `${each(number, told)}${each(spread, told)} ${shown}${after}`;
  });
}
