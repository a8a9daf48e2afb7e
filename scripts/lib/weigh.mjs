// What files weigh as they are, and on the wire (brotli at its best, as a host of static files sends them).
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { brotliCompressSync, constants } from 'node:zlib';

/** Aims for a first visit, in bytes after brotli; a kB is 1000 bytes. */
const AIMS = { boot: 120_000, all: 350_000, core: 250_000, press: 300_000, whole: 400_000, pdf: 550_000, tongue: 30_000 };

/** What comes when something first asks for it. @param {string} name */
const LATER = (name) => [PRESS, WHOLE, PDF].some((kind) => kind.test(name));

/** Compressed already: a host sends these as they are. */
const PACKED = /\.(woff2|png|jpe?g|webp|avif)$/;

/** What no browser fetches to use the page. */
const ASIDE = new Set(['_headers', 'version.txt', 'fonts/LICENSE.txt']);
/** What makes sheets and shapes, with its type: fetched when it is first needed, and kept for when there is no network. */
const PRESS = /^core\/press|^press-work\.js$|^fonts\/sheet-/;
/** The core with all there is: in the same way, when something first asks for what only photographs, parts and paper need. */
const WHOLE = /^core\/whole/;
/** What reads PDFs: in the same way. */
const PDF = /^pdf\/|^p(df|ages|ng)\.(js|css)$/;
/** Words and letters of another language than the first: fetched when it is spoken, and kept for when there is no network. */
const TONGUES = /^words\/(?!en\.)|^fonts\/\d+-more\./;
/** What a browser fetches that can't run vector instructions, instead of the build that has them, which weighs as much. */
const INSTEAD = 'core/mill_plain_bg.wasm';

/** A file's bytes, packed as well as brotli can. @param {Buffer} bytes */
export function packedBytes(bytes) {
  return brotliCompressSync(bytes, {
    params: {
      [constants.BROTLI_PARAM_QUALITY]: 11,
      [constants.BROTLI_PARAM_LGWIN]: 22,
      [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length,
    },
  });
}

/** How many bytes that is. @param {Buffer} bytes */
export const brotli = (bytes) => packedBytes(bytes).length;

/**
 * @param {string} dist
 * @param {string[]} names
 * @param {Set<string>} boot
 * @returns {Promise<{name: string, raw: number, wire: number, boot: boolean, aside: boolean}[]>}
 */
export async function weigh(dist, names, boot) {
  const rows = [];
  for (const name of names) {
    const bytes = await readFile(join(dist, name));
    const wire = PACKED.test(name) ? bytes.length : Math.min(bytes.length, brotli(bytes));
    rows.push({ name, raw: bytes.length, wire, boot: boot.has(name), aside: ASIDE.has(name) || name === INSTEAD });
  }
  return rows.sort((a, b) => Number(b.boot) - Number(a.boot) || b.wire - a.wire);
}

export function table(rows) {
  const line = (name, raw, wire, when) =>
    `${name.padEnd(46)}${String(raw).padStart(9)}${String(wire).padStart(9)}  ${when}`;
  const when = (row) => (row.name === INSTEAD ? 'where there are no vectors' : row.aside ? 'never fetched' : row.boot ? 'before the first touch' : 'later');
  return [
    line('file', 'raw', 'brotli', 'fetched'),
    ...rows.map((row) => line(row.name, row.raw, row.wire, when(row))),
  ].join('\n');
}

/** How many languages there are besides the first. */
const tongues = (rows) => rows.filter((row) => /^words\//.test(row.name)).length - 1;

/** The totals against their aims. */
export function budgets(rows) {
  const sum = (wanted) => rows.filter(wanted).reduce((total, row) => total + row.wire, 0);
  return [
    ['before the first touch', sum((row) => row.boot), AIMS.boot],
    ['all of the page', sum((row) => !row.aside && !LATER(row.name) && !TONGUES.test(row.name)), AIMS.all],
    ['desk and mill', sum((row) => !row.aside && !LATER(row.name) && row.name.endsWith('.wasm')), AIMS.core],
    ['the press, with its type', sum((row) => PRESS.test(row.name)), AIMS.press],
    ['the whole core', sum((row) => WHOLE.test(row.name)), AIMS.whole],
    ['what reads PDFs', sum((row) => !row.aside && PDF.test(row.name)), AIMS.pdf],
    ['each other language', sum((row) => TONGUES.test(row.name)) / Math.max(1, tongues(rows)), AIMS.tongue],
  ].map(([what, bytes, aim]) => ({
    what,
    bytes,
    aim,
    ok: bytes <= aim,
    text: `${what.padEnd(24)}${(bytes / 1000).toFixed(1).padStart(7)} kB of ${aim / 1000} kB: ${bytes <= aim ? 'ok' : 'OVER'}`,
  }));
}
