/** SHA-256 of a text, for what runs where nothing ready is at hand at once. Source: FIPS 180-4, sections 4 to 6 (from memory). */

const K = new Uint32Array(64);
const START = new Uint32Array(8);
{
  // First 32 bits of the fractional parts of the cube and square roots of the first primes.
  const fraction = (x: number) => ((x - Math.floor(x)) * 2 ** 32) >>> 0;
  let found = 0;
  for (let n = 2; found < 64; n++) {
    let prime = true;
    for (let d = 2; d * d <= n && prime; d++) prime = n % d !== 0;
    if (!prime) continue;
    if (found < 8) START[found] = fraction(Math.sqrt(n));
    K[found++] = fraction(Math.cbrt(n));
  }
}

function digest(bytes: Uint8Array): Uint8Array {
  const whole = new Uint8Array((((bytes.length + 8) >> 6) << 6) + 64);
  whole.set(bytes);
  whole[bytes.length] = 0x80;
  const view = new DataView(whole.buffer);
  view.setUint32(whole.length - 8, Math.floor(bytes.length / 2 ** 29));
  view.setUint32(whole.length - 4, (bytes.length << 3) >>> 0);
  const h = START.slice();
  const w = new Uint32Array(64);
  const turn = (x: number, by: number) => (x >>> by) | (x << (32 - by));
  for (let at = 0; at < whole.length; at += 64) {
    for (let i = 0; i < 16; i++) w[i] = view.getUint32(at + 4 * i);
    for (let i = 16; i < 64; i++) {
      const [a, b] = [w[i - 15]!, w[i - 2]!];
      const s0 = turn(a, 7) ^ turn(a, 18) ^ (a >>> 3);
      const s1 = turn(b, 17) ^ turn(b, 19) ^ (b >>> 10);
      w[i] = w[i - 16]! + s0 + w[i - 7]! + s1;
    }
    let [a, b, c, d, e, f, g, z] = h as unknown as [number, number, number, number, number, number, number, number];
    for (let i = 0; i < 64; i++) {
      const t1 = (z + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + K[i]! + w[i]!) >>> 0;
      const t2 = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) >>> 0;
      [z, g, f, e, d, c, b, a] = [g, f, e, (d + t1) >>> 0, c, b, a, (t1 + t2) >>> 0];
    }
    for (const [i, x] of [a, b, c, d, e, f, g, z].entries()) h[i] = h[i]! + x;
  }
  const out = new Uint8Array(32);
  const to = new DataView(out.buffer);
  for (const [i, x] of h.entries()) to.setUint32(4 * i, x);
  return out;
}

/** The digest of the UTF-8 of a text, as 64 hexadecimal digits. */
export const sha256Hex = (text: string): string =>
  [...digest(new TextEncoder().encode(text))].map((x) => x.toString(16).padStart(2, '0')).join('');

/** The same in base 64, as policies of content want it. */
export const sha256Base64 = (text: string): string =>
  btoa(String.fromCharCode(...digest(new TextEncoder().encode(text))));

/** The digest of a scenario text, whatever its line ends: what tells two runs apart. */
export const scenarioHash = (text: string): string => sha256Hex(text.replace(/^\ufeff/, '').replace(/\r\n?/g, '\n'));
