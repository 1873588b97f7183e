/**
 * Makes a UUID of version 7: 48 bits of milliseconds, then random bits.
 *
 * Source: RFC 9562, section 5.7.
 */
export function uuid7(now_ms: number = Date.now(), random: Uint8Array = randomBytes()): string {
  const bytes = new Uint8Array(16);
  bytes.set(random.subarray(0, 10), 6);
  let rest = now_ms;
  for (let place = 5; place >= 0; place--) {
    bytes[place] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes[6] = 0x70 | (bytes[6]! & 0x0f);
  bytes[8] = 0x80 | (bytes[8]! & 0x3f);
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  const cuts = [0, 8, 12, 16, 20, 32];
  return cuts
    .slice(1)
    .map((end, at) => hex.slice(cuts[at], end))
    .join("-");
}

/** `crypto.randomUUID` is missing where the page came without TLS; this is not. */
function randomBytes(): Uint8Array {
  return crypto.getRandomValues(new Uint8Array(10));
}
