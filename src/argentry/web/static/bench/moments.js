// Moments as whole microseconds since 1970, as the book writes them; text order is time order.

const FORM = /^(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2})(?::(\d{2})(?:[.,](\d+))?)?(Z|[+-]\d{2}:?\d{2}(?::?\d{2})?)$/i;

/** Read an ISO 8601 time with an offset; null when it is none. */
export function readMoment(text) {
  if (typeof text !== "string") return null;
  const parts = FORM.exec(text);
  if (!parts) return null;
  const [, day, minute, second = "00", part = "", zone] = parts;
  const ms = Date.parse(`${day}T${minute}:${second}Z`);
  if (!Number.isFinite(ms) || new Date(ms).toISOString().slice(0, 10) !== day) return null;
  return ms * 1000 + Number(part.slice(0, 6).padEnd(6, "0") || 0) - offset(zone) * 1e6;
}

function offset(zone) {
  if (zone.toUpperCase() === "Z") return 0;
  const figures = zone.slice(1).replaceAll(":", "");
  const seconds = Number(figures.slice(0, 2)) * 3600 + Number(figures.slice(2, 4)) * 60 + Number(figures.slice(4, 6) || 0);
  return zone[0] === "-" ? -seconds : seconds;
}

/** Write microseconds as ``2026-06-21T10:00:00.000000Z``. */
export function writeMoment(micros) {
  const whole = Math.floor(micros / 1000);
  return new Date(whole).toISOString().slice(0, 23) + String(micros - whole * 1000).padStart(3, "0") + "Z";
}
