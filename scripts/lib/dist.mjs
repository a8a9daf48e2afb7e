// Lays out the static site in dist/: the page's files, the core, the fonts, and a service worker that
// knows each file by its hash. Prints what each weighs on the wire.
//   node scripts/lib/dist.mjs [--quiet] [--out DIR] [--note TEXT]
// --note goes into the version, so that tests can make a second one.
import { cp, mkdir, readFile, readdir, rm, writeFile } from 'node:fs/promises';
import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { dirname, join, relative, sep } from 'node:path';
import { parseArgs, promisify } from 'node:util';
import { fileURLToPath } from 'node:url';
import { bootFiles } from './boot.mjs';
import { pathsIn } from './paths.mjs';
import { layPdf } from './pdf.mjs';
import { budgets, table, weigh } from './weigh.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const { values: options } = parseArgs({
  options: {
    quiet: { type: 'boolean', default: false },
    out: { type: 'string', default: join(ROOT, 'dist') },
    note: { type: 'string', default: '' },
  },
});

/** Left out of the cache: the worker itself, what only a host reads, what only a person reads. */
const NOT_CACHED = new Set(['sw.js', '_headers', 'version.txt', 'fonts/LICENSE.txt']);
/** In www/ for those who work on it; no browser asks for it. */
const NOT_SERVED = (path) => /\.d\.ts$|(^|\/)README\.md$/.test(path);

const sha256 = (bytes) => createHash('sha256').update(bytes).digest('hex');

/** Every file under `dir`, by its path from there with forward slashes, in order. */
async function walk(dir) {
  const entries = await readdir(dir, { recursive: true, withFileTypes: true });
  return entries
    .filter((entry) => entry.isFile())
    .map((entry) => relative(dir, join(entry.parentPath ?? entry.path, entry.name)).split(sep).join('/'))
    .sort();
}

/** Puts `text` in place of what stands between the two marks `name` in `source`. */
function fill(source, name, text) {
  const marks = new RegExp(`/\\*${name}\\*/[^]*?/\\*${name}\\*/`);
  if (!marks.test(source)) throw new Error(`no /*${name}*/ … /*${name}*/ to fill in`);
  return source.replace(marks, () => text);
}

/** How the compiler leaves a script as it is but for its comments. */
const BARE = ['--ignoreConfig', '--allowJs', '--noCheck', '--noResolve', '--removeComments', '--verbatimModuleSyntax',
  '--target', 'esnext', '--module', 'esnext', '--types', ''];

/**
 * Lays scripts in `out` without what only those who work on them read: a fifth of what comes before the first touch were comments.
 * @param {string} out @param {string[]} names from www/
 */
async function layBare(out, names) {
  const www = join(ROOT, 'www');
  const files = names.map((name) => join(www, name));
  await promisify(execFile)(join(ROOT, 'node_modules/.bin/tsc'), [...BARE, '--rootDir', www, '--outDir', out, ...files]);
}

async function main() {
  const out = options.out;
  await rm(out, { recursive: true, force: true });
  await mkdir(out, { recursive: true });
  await cp(join(ROOT, 'www'), out, {
    recursive: true,
    filter: (source) => !NOT_SERVED(relative(join(ROOT, 'www'), source).split(sep).join('/')),
  });
  // The service worker keeps its marks, to be filled in.
  await layBare(out, (await walk(out)).filter((name) => name.endsWith('.js') && name !== 'sw.js'));
  for (const name of ['desk.js', 'desk_bg.wasm', 'whole.js', 'whole_bg.wasm', 'mill.js', 'mill_bg.wasm', 'mill_plain_bg.wasm', 'press.js', 'press_bg.wasm']) {
    await mkdir(join(out, 'core'), { recursive: true });
    await cp(join(ROOT, 'build/web/core', name), join(out, 'core', name));
  }
  await layPdf(join(out, 'pdf'));

  const names = await walk(out);
  // The reader of PDFs wasn't compiled here: what folders it names are of other machines.
  const made = names.filter((name) => !name.startsWith('pdf/'));
  const told = (await Promise.all(made.map(async (name) => pathsIn(await readFile(join(out, name)))
    .map((path) => `${name}: ${path}`)))).flat();
  if (told.length > 0) throw new Error(`what is served names folders of this machine:\n${told.join('\n')}`);

  // The version is a hash of all bytes served, taken before it is itself written into two of them.
  const whole = createHash('sha256').update(options.note);
  for (const name of names) whole.update(`\n${name} ${sha256(await readFile(join(out, name)))}`);
  const version = whole.digest('hex').slice(0, 16);

  const boot = await bootFiles(out);
  if (names.includes('index.html')) {
    const index = await readFile(join(out, 'index.html'), 'utf8');
    // All modules are asked for at once, rather than each when the one that imports it has come.
    const modules = [...boot].filter((name) => name.endsWith('.js') && !index.includes(`src="${name}"`)).sort();
    const early = modules.map((name) => `    <link rel="modulepreload" href="${name}">\n`).join('');
    await writeFile(join(out, 'index.html'), index
      .replace(/(<meta name="version" content=")[^"]*/, `$1${version}`)
      .replace(/^ *<script type="module"/m, (script) => early + script));
  }
  const files = {};
  for (const name of names.filter((name) => !NOT_CACHED.has(name))) {
    files[name] = sha256(await readFile(join(out, name)));
  }
  const worker = await readFile(join(out, 'sw.js'), 'utf8');
  await writeFile(join(out, 'sw.js'), fill(worker, 'release', JSON.stringify({ version, files }, null, 1)));
  await writeFile(join(out, 'version.txt'), `${version}\n`);

  if (options.quiet) return;
  const rows = await weigh(out, await walk(out), boot);
  console.log(table(rows));
  const lines = budgets(rows);
  for (const line of lines) console.log(line.text);
  console.log(`dist/ holds version ${version}`);
}

await main();
