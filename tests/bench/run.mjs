// Runs the benches and prints their tables. A bench is a file in tests/bench/ that exports
//   export const title = '…';
//   export async function bench(): Promise<{what: string, got: number, unit: string, aim?: number, note?: string}[]>
// Figures that depend on the machine come as ratios to something measured beside them.
import { readdir } from 'node:fs/promises';
import { cpus } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const HERE = dirname(fileURLToPath(import.meta.url));
const wanted = process.argv.slice(2);

/** Three figures that count. */
const round = (value) => (Math.abs(value) >= 100 ? value.toFixed(0) : value.toPrecision(3));

function line({ what, got, unit, aim, note }) {
  const against = aim === undefined ? '' : `aim ≤ ${round(aim)} ${unit}: ${got <= aim ? 'ok' : 'OVER'}`;
  return `  ${what.padEnd(58)}${round(got).padStart(9)} ${unit.padEnd(8)}${against.padEnd(28)}${note ?? ''}`.trimEnd();
}

const files = (await readdir(HERE)).filter((name) => name.endsWith('.mjs') && name !== 'run.mjs' && !name.startsWith('_')).sort();
const chosen = files.filter((name) => wanted.length === 0 || wanted.includes(name.replace(/\.mjs$/, '')));
if (chosen.length === 0) {
  console.error(`! no bench of that name; there are: ${files.map((name) => name.replace(/\.mjs$/, '')).join(', ')}`);
  process.exit(1);
}
console.log(`${cpus().length} × ${cpus()[0]?.model ?? 'an unknown processor'}, node ${process.version}`);
for (const name of chosen) {
  const module = await import(join(HERE, name));
  // A file that prints a table of its own is done when it is loaded.
  if (typeof module.bench !== 'function') continue;
  console.log(`\n${module.title}`);
  for (const row of await module.bench()) console.log(line(row));
}
