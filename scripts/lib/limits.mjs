// Holds what dist/ weighs to what tests/limits.toml has recorded: a ratchet under the aims of weigh.mjs, some of which are far off.
//   node scripts/lib/limits.mjs            a line for each; exits 1 where something weighs more than a hundredth over
//   node scripts/lib/limits.mjs --record   writes down what it weighs now
import { readFile, readdir, writeFile } from 'node:fs/promises';
import { dirname, join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import { bootFiles } from './boot.mjs';
import { budgets, weigh } from './weigh.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const FILE = join(ROOT, 'tests/limits.toml');
/** How much more than was recorded is let pass: two compilers' builds of the same code differ by as much. */
const OVER = 1.01;

/** As much of TOML as that file needs: tables of `"name" = number`. @param {string} text @returns {Record<string, Record<string, number>>} */
export function limits(text) {
  /** @type {Record<string, Record<string, number>>} */
  const out = {};
  let table = '';
  for (const line of text.split('\n')) {
    const head = /^\[(.+)\]$/.exec(line);
    const entry = /^"(.+)" = ([\d.]+)$/.exec(line);
    if (head) out[table = head[1]] = {};
    else if (entry) out[table][entry[1]] = Number(entry[2]);
    else if (line.trim() && !line.startsWith('#')) throw new Error(`tests/limits.toml: not understood: ${line}`);
  }
  return out;
}

export const recorded = async () => limits(await readFile(FILE, 'utf8'));

/** What each part of the site weighs, bytes on the wire. @param {string} dist */
async function sizes(dist) {
  const entries = await readdir(dist, { recursive: true, withFileTypes: true });
  const names = entries.filter((entry) => entry.isFile())
    .map((entry) => relative(dist, join(entry.parentPath ?? entry.path, entry.name)).split(sep).join('/'));
  return budgets(await weigh(dist, names, await bootFiles(dist)));
}

/** @param {Record<string, number>} known @param {{what: string, bytes: number}[]} now */
function compare(known, now) {
  let failed = 0;
  for (const { what, bytes } of now) {
    const limit = known[what];
    const good = limit !== undefined && bytes <= limit * OVER;
    if (!good) failed += 1;
    console.log(`  ${what.padEnd(24)} ${(bytes / 1000).toFixed(1).padStart(7)} kB, recorded ${limit === undefined ? 'nothing' : (limit / 1000).toFixed(1)}${good ? '' : ': FAILED'}`);
  }
  console.log(`${now.length - failed} passed, ${failed} failed`);
  return failed === 0 && now.length > 0;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const args = process.argv.slice(2);
  const now = await sizes(args.find((one) => !one.startsWith('-')) ?? join(ROOT, 'dist'));
  if (args.includes('--record')) {
    const lines = now.map(({ what, bytes }) => `"${what}" = ${Math.ceil(bytes)}\n`).join('');
    const text = await readFile(FILE, 'utf8');
    await writeFile(FILE, text.replace(/(\[sizes\]\n)[^[]*/, (_, head) => `${head}${lines}\n`));
  } else if (!compare((await recorded()).sizes, now)) process.exit(1);
}
