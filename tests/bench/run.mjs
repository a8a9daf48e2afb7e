// Runs the benches and prints their tables. A bench is a file in tests/bench/ that exports
//   export const title = '…';
//   export async function bench(): Promise<Row[] | string>
// where a Row is {what, got, low?, high?, unit, aim?, note?}: the figure, the range of it over the runs, and what it
// is to be at most. A string says why there is nothing to show. Figures that depend on the machine come as ratios to
// something measured beside them. Nothing passes or fails here: whoever reads it judges.
//   run.mjs [NAME]... [--readme]      --readme puts what has an aim into README.md, where it has a place for that bench
import { readFile, readdir, writeFile } from 'node:fs/promises';
import { availableParallelism, cpus, loadavg } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const HERE = dirname(fileURLToPath(import.meta.url));
const README = join(HERE, '../../README.md');
const kept = process.argv.includes('--readme');
const wanted = process.argv.slice(2).filter((word) => word !== '--readme');

/** Three figures that count; whole numbers as they are. */
function round(value) {
  if (Number.isInteger(value)) return String(value);
  return Math.abs(value) >= 100 ? value.toFixed(0) : value.toPrecision(3);
}

function line({ what, got, low, high, unit, aim, note }) {
  const range = low === undefined ? '' : `${round(low)} – ${round(high)}`;
  const against = aim === undefined ? '' : `aim ≤ ${round(aim)} ${unit}: ${got <= aim ? 'ok' : 'OVER'}`;
  const columns = [what.padEnd(62), round(got).padStart(7), unit.padEnd(9), range.padEnd(16), against.padEnd(24), note ?? ''];
  return `  ${columns.join(' ')}`.trimEnd();
}

/** What others do on this machine meanwhile disturbs the timings. */
function told(when) {
  const [load] = loadavg();
  const processors = availableParallelism();
  const busy = load > processors / 2 ? '; others are at work on it, so take times with care, and ratios before times' : '';
  return `${when}: load ${load.toFixed(1)} on ${processors} processors${busy}`;
}

/** One bench's table, as README.md shows it: only what is to be reached. */
function table(title, rows) {
  const lines = rows.filter((row) => row.aim !== undefined).map(({ what, got, low, high, unit, aim }) => {
    const range = low === undefined ? '' : `${round(low)} – ${round(high)}`;
    return `| ${what} | ${round(got)} ${unit} | ${range} | ${round(aim)} | ${got <= aim ? '' : 'over'} |`;
  });
  return [`${title}; load ${loadavg()[0].toFixed(1)}:`, '', '| | median | of all runs | aim, at most | |', '|---|--:|--:|--:|---|', ...lines].join('\n');
}

/** Puts the table of `name` between its marks, if there are such. */
async function keep(name, text) {
  const readme = await readFile(README, 'utf8');
  const [from, to] = [`<!-- speed ${name} -->\n`, `\n<!-- /speed ${name} -->`];
  const [start, end] = [readme.indexOf(from), readme.indexOf(to)];
  if (start < 0 || end < 0) return;
  await writeFile(README, readme.slice(0, start + from.length) + text + readme.slice(end));
}

const files = (await readdir(HERE)).filter((name) => name.endsWith('.mjs') && name !== 'run.mjs' && !name.startsWith('_')).sort();
const unknown = wanted.filter((name) => !files.includes(`${name}.mjs`));
if (unknown.length > 0) {
  console.error(`! no bench called ${unknown.join(', ')}; there are: ${files.map((name) => name.replace(/\.mjs$/, '')).join(', ')}`);
  process.exit(1);
}
console.log(`${cpus().length} × ${cpus()[0]?.model ?? 'an unknown processor'}, node ${process.version}`);
console.log(told('before'));
let broken = 0;
for (const name of files.filter((one) => wanted.length === 0 || wanted.includes(one.replace(/\.mjs$/, '')))) {
  const { title, bench } = await import(join(HERE, name));
  console.log(`\n${title}`);
  try {
    const rows = await bench();
    console.log(typeof rows === 'string' ? `  ${rows}` : rows.map(line).join('\n'));
    if (kept && typeof rows !== 'string') await keep(name.replace(/\.mjs$/, ''), table(title, rows));
  } catch (error) {
    // The others still have something to say.
    broken += 1;
    console.log(`  ! could not be measured: ${error.message}`);
  }
}
console.log(`\n${told('after')}`);
process.exit(broken > 0 ? 1 : 0);
