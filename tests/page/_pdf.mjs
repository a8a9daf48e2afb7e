// PDFs made by hand (ISO 32000-1), without a library: pages whose sizes and lines are known in points of 1/72 in.
import { createHash } from 'node:crypto';

/** RC4, as ISO 32000-1 7.6.2 has it. */
function rc4(key, bytes) {
  const s = Array.from({ length: 256 }, (_, i) => i);
  for (let i = 0, j = 0; i < 256; i += 1) {
    j = (j + s[i] + key[i % key.length]) & 255;
    [s[i], s[j]] = [s[j], s[i]];
  }
  let [i, j] = [0, 0];
  return Buffer.from(bytes).map((byte) => {
    i = (i + 1) & 255;
    j = (j + s[i]) & 255;
    [s[i], s[j]] = [s[j], s[i]];
    return byte ^ s[(s[i] + s[j]) & 255];
  });
}

const md5 = (...parts) => createHash('md5').update(Buffer.concat(parts)).digest();
/** What passwords are filled up with: 7.6.3.3, algorithm 2. */
const PADDING = Buffer.from('28bf4e5e4e758a4164004e56fffa01082e2e00b6d0683e802f0ca9fe6453697a', 'hex');
const filledUp = (password) => Buffer.concat([Buffer.from(password, 'latin1'), PADDING]).subarray(0, 32);

/** The standard lock with a key of 40 bits (7.6.3, revision 2). */
function lockOf(password, id) {
  const permissions = -4;
  const p = Buffer.alloc(4);
  p.writeInt32LE(permissions);
  const owner = rc4(md5(filledUp(password)).subarray(0, 5), filledUp(password));
  const key = md5(filledUp(password), owner, p, id).subarray(0, 5);
  const user = rc4(key, PADDING);
  const dictionary = `<</Filter/Standard/V 1/R 2/O<${owner.toString('hex')}>/U<${user.toString('hex')}>/P ${permissions}>>`;
  /** Of each object by a key of its own: 7.6.2, algorithm 1. */
  const shut = (number, bytes) => rc4(md5(key, Buffer.from([number & 255, (number >> 8) & 255, number >> 16, 0, 0])).subarray(0, 10), bytes);
  return { dictionary, shut };
}

/**
 * @param {{ width: number, height: number, content: string, unit?: number, turn?: number }[]} pages in points; `unit`: how many
 *   points its unit is; `turn`: degrees clockwise
 * @param {{ password?: string }} [how]
 * @returns {Buffer}
 */
export function pdfOf(pages, { password } = {}) {
  const id = Buffer.from('0123456789abcdef', 'latin1');
  const lock = password === undefined ? null : lockOf(password, id);
  // 1: catalogue, 2: tree, 3: font, then two for each page, last the lock.
  const objects = [
    '<</Type/Catalog/Pages 2 0 R>>',
    `<</Type/Pages/Count ${pages.length}/Kids[${pages.map((_, i) => `${4 + 2 * i} 0 R`).join(' ')}]>>`,
    '<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>',
  ].map((text) => Buffer.from(text));
  for (const [i, { width, height, content, unit, turn }] of pages.entries()) {
    const number = 5 + 2 * i;
    const plain = Buffer.from(content, 'latin1');
    const body = lock ? lock.shut(number, plain) : plain;
    objects.push(Buffer.from(`<</Type/Page/Parent 2 0 R/MediaBox[0 0 ${width} ${height}]/Contents ${number} 0 R`
      + `${unit ? `/UserUnit ${unit}` : ''}${turn ? `/Rotate ${turn}` : ''}/Resources<</Font<</F 3 0 R>>>>>>`));
    objects.push(Buffer.concat([Buffer.from(`<</Length ${body.length}>>\nstream\n`), body, Buffer.from('\nendstream')]));
  }
  if (lock) objects.push(Buffer.from(lock.dictionary));
  const parts = [Buffer.from('%PDF-1.7\n%\xe2\xe3\xcf\xd3\n', 'latin1')];
  let at = parts[0].length;
  const places = [];
  const put = (buffer) => {
    parts.push(buffer);
    at += buffer.length;
  };
  for (const [i, body] of objects.entries()) {
    places.push(at);
    put(Buffer.concat([Buffer.from(`${i + 1} 0 obj\n`), body, Buffer.from('\nendobj\n')]));
  }
  const table = at;
  const rows = places.map((place) => `${String(place).padStart(10, '0')} 00000 n \n`).join('');
  put(Buffer.from(`xref\n0 ${objects.length + 1}\n0000000000 65535 f \n${rows}trailer\n<</Size ${objects.length + 1}/Root 1 0 R`
    + `/ID[<${id.toString('hex')}><${id.toString('hex')}>]${lock ? `/Encrypt ${objects.length} 0 R` : ''}>>\nstartxref\n${table}\n%%EOF\n`));
  return Buffer.concat(parts);
}

/** A frame with a line of 0.5 points, and words over it. */
export const frame = (x, y, width, height, words) =>
  `0.5 w ${x} ${y} ${width} ${height} re S BT /F 14 Tf ${x} ${y + height + 12} Td (${words}) Tj ET`;
