// Event ids: UUID version 7 (RFC 9562), made on the page so that sending twice is harmless.
// crypto.randomUUID is missing on a plain http page of the network; getRandomValues is there.

let lastMs = 0;
let count = 0;

/** Return a new id for an event made at `ms` (Unix milliseconds); later calls sort later. */
export function newId(ms) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let when = Math.max(0, Math.floor(ms));
  if (when > lastMs) {
    lastMs = when;
    count = bytes[6] & 0x07; // leaves room to count up within the millisecond
    count = (count << 8) | bytes[7];
  } else {
    count += 1;
    if (count > 0x0fff) {
      lastMs += 1;
      count = 0;
    }
    when = lastMs;
  }
  for (let place = 5; place >= 0; place -= 1) {
    bytes[place] = when % 256;
    when = Math.floor(when / 256);
  }
  bytes[6] = 0x70 | (count >> 8);
  bytes[7] = count & 0xff;
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
