// Writes www/licences.txt: whose work is in what a person's browser runs, and on what terms. From what cargo says of the crates that
// the three cores are compiled from, and the type's own file. `--check` only says whether it is stale.
//   node scripts/lib/licences.mjs [--check]
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const FILE = join(ROOT, 'www/licences.txt');

/** The crates that are compiled in: what runs only while compiling (macros, and what they need) isn't. */
function crates() {
  const told = execFileSync('cargo', ['metadata', '--locked', '--format-version', '1', '--filter-platform', 'wasm32-unknown-unknown'], {
    cwd: ROOT, maxBuffer: 1 << 28, stdio: ['ignore', 'pipe', 'ignore'],
  });
  const { packages, resolve } = JSON.parse(told);
  const byId = new Map(packages.map((one) => [one.id, one]));
  const nodes = new Map(resolve.nodes.map((node) => [node.id, node]));
  const isMacro = (one) => one.targets.some((target) => target.kind.includes('proc-macro'));
  const found = new Set();
  const queue = [packages.find((one) => one.name === 'scrieve').id];
  while (queue.length > 0) {
    const id = queue.pop();
    if (found.has(id) || isMacro(byId.get(id))) continue;
    found.add(id);
    for (const { pkg, dep_kinds: kinds } of nodes.get(id).deps) if (kinds.some(({ kind }) => kind === null)) queue.push(pkg);
  }
  const name = (one) => `${one.name} ${one.version}`;
  return [...found].map((id) => byId.get(id)).filter((one) => one.name !== 'scrieve').sort((a, b) => (name(a) < name(b) ? -1 : 1));
}

/** The text that goes with a crate: of several terms the shortest to tell, MIT. */
function textOf(one) {
  const dir = dirname(one.manifest_path);
  const files = readdirSync(dir).filter((file) => /^licen[cs]e|^copying/i.test(file));
  const file = files.find((name) => /mit/i.test(name)) ?? files.find((name) => /^licen[cs]e(\.(md|txt))?$/i.test(name)) ?? files[0];
  return file ? readFileSync(join(dir, file), 'utf8').replace(/\r/g, '').trim() : '';
}

function whole() {
  const parts = [
    'Scrieve: MIT or Apache-2.0, as you like. What follows is the work of others that is part of it.',
  ];
  /** @type {Map<string, string[]>} */
  const byText = new Map();
  for (const one of crates()) {
    const text = textOf(one);
    byText.set(text, [...(byText.get(text) ?? []), `${one.name} ${one.version} (${one.license})`]);
  }
  for (const [text, names] of byText) parts.push([names.join('\n'), text].filter(Boolean).join('\n\n'));
  const type = join(ROOT, 'www/fonts/LICENSE.txt');
  if (existsSync(type)) parts.push(`The type on the page and on printed sheets\n\n${readFileSync(type, 'utf8').trim()}`);
  return `${parts.join(`\n\n${'-'.repeat(60)}\n\n`)}\n`;
}

const fresh = whole();
if (process.argv.includes('--check')) {
  if (!existsSync(FILE) || readFileSync(FILE, 'utf8') !== fresh) {
    console.error('www/licences.txt is stale: node scripts/lib/licences.mjs writes it anew');
    process.exit(1);
  }
  console.log('www/licences.txt is fresh');
} else writeFileSync(FILE, fresh);
