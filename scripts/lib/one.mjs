// Makes the one-file edition: dist/scrieve.html, which holds everything and opens from a disk or a stick, without a server.
//   node scripts/lib/one.mjs [--out FILE]
// The page itself has no bundler. Here every module becomes a function of one classic script (TypeScript turns import into require),
// every other file is put beside them in base64, and the page's policy names that script and the styles by their hashes.
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { cp, mkdir, mkdtemp, readFile, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { parseArgs } from 'node:util';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const DIST = join(ROOT, 'dist');
const { values: options } = parseArgs({ options: { out: { type: 'string', default: join(DIST, 'scrieve.html') } } });

const TYPES = {
  wasm: 'application/wasm', json: 'application/json', webp: 'image/webp', type: 'application/octet-stream', woff2: 'font/woff2', txt: 'text/plain',
  svg: 'image/svg+xml',
};
/** Files that are fetched while the page is used, besides the modules. */
const FETCHED = [/^core\/(?!desk).*\.wasm$/, /^words\//, /^help\//, /^examples\//, /^fonts\/.*\.type$/, /^licences\.txt$/];

const hash = (text) => `'sha256-${createHash('sha256').update(text).digest('base64')}'`;
const typeOf = (path) => TYPES[path.split('.').at(-1)] ?? 'application/octet-stream';

/** Modules by name, import turned into require. @param {string[]} names @returns {Promise<Map<string, string>>} */
async function turned(names) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-one-'));
  try {
    for (const name of names) {
      await mkdir(dirname(join(dir, 'from', name)), { recursive: true });
      await cp(name === 'own.js' ? join(ROOT, 'scripts/lib/one/own.js') : join(DIST, name), join(dir, 'from', name));
    }
    const how = '--ignoreConfig --allowJs --checkJs false --noCheck --noResolve --module commonjs --target es2022 --removeComments';
    execFileSync(join(ROOT, 'node_modules/.bin/tsc'), [
      ...how.split(' '), '--rootDir', join(dir, 'from'), '--outDir', join(dir, 'to'), ...names.map((name) => join(dir, 'from', name)),
    ], { stdio: ['ignore', 'inherit', 'inherit'] });
    const all = new Map();
    for (const name of names) all.set(name, await readFile(join(dir, 'to', name), 'utf8'));
    return all;
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

/** One module as a function. `import.meta.url` becomes the address it is handed. */
function functionOf(source, path) {
  const body = source.replace(/\bimport\.meta\.url\b/g, 'here');
  if (/\bimport\.meta\b/.test(body)) throw new Error(`${path}: something else of import.meta`);
  return `${JSON.stringify(path)}(module, exports, require, fetch, here) {\n${body}\n}`;
}

/** Without what reads PDFs: it is as large as all of the rest, and says so when it is missing. */
async function script() {
  const names = (await readdir(DIST, { recursive: true })).map((name) => name.replaceAll('\\', '/')).sort();
  const sources = await turned(names.filter((one) => one.endsWith('.js') && one !== 'sw.js' && one !== 'core/desk.js' && !one.startsWith('pdf/')));
  const modules = [...sources].map(([name, source]) => functionOf(source, name));
  const files = [];
  for (const name of names.filter((one) => FETCHED.some((pattern) => pattern.test(one)))) {
    files.push(`${JSON.stringify(name)}: [${JSON.stringify(typeOf(name))}, ${JSON.stringify((await readFile(join(DIST, name))).toString('base64'))}]`);
  }
  const run = await readFile(join(ROOT, 'scripts/lib/one/run.js'), 'utf8');
  const whole = run.replace('/*modules*/', () => modules.join(',\n')).replace('/*files*/', () => files.join(',\n'));
  // Inside a page a script ends where it says so, also in a text of its own.
  return whole.replace(/<\/(script)/gi, '<\\/$1').replace(/<!--/g, '<\\!--');
}

/** A style sheet with its type put into it. */
async function styleOf(path) {
  const css = await readFile(join(DIST, path), 'utf8');
  const parts = [];
  let at = 0;
  for (const match of css.matchAll(/url\(\s*['"]?([^'")]+)['"]?\s*\)/g)) {
    const file = join(dirname(path), match[1]);
    const bytes = await readFile(join(DIST, file));
    parts.push(css.slice(at, match.index), `url(data:${typeOf(file)};base64,${bytes.toString('base64')})`);
    at = match.index + match[0].length;
  }
  return [...parts, css.slice(at)].join('');
}

/** Style sheets that the page fetches when they are first needed, but for that of the PDF reader, which isn't here. */
const LATE = ['aloud.css', 'bench.css', 'help.css'];

async function main() {
  let html = await readFile(join(DIST, 'index.html'), 'utf8');
  const code = await script();
  const hashes = [];
  for (const [tag, path, media] of html.matchAll(/<link rel="stylesheet" href="([^"]+)"(?: media="([^"]+)")?>/g)) {
    const css = await styleOf(path);
    hashes.push(hash(css));
    html = html.replace(tag, () => `<style${media ? ` media="${media}"` : ''}>${css}</style>`);
  }
  for (const path of LATE) {
    const css = await styleOf(path);
    hashes.push(hash(css));
    html = html.replace('</head>', () => `<style>${css}</style>\n  </head>`);
  }
  const icon = await readFile(join(DIST, 'icons/icon.svg'));
  html = html
    .replace(/\s*<link rel="(?:manifest|apple-touch-icon)"[^>]*>/g, '')
    .replace(/<link rel="icon"[^>]*>/, `<link rel="icon" href="data:image/svg+xml;base64,${icon.toString('base64')}">`)
    .replace(/\s*<link rel="modulepreload"[^>]*>/g, '')
    .replace(/\s*<script type="module"[^>]*><\/script>/g, '')
    .replace('</body>', () => `<script id="whole">${code}</script>\n  </body>`);
  const policy = [
    "default-src 'none'", `script-src ${hash(code)} 'wasm-unsafe-eval'`, `style-src ${hashes.join(' ')}`, 'img-src blob: data:',
    'font-src data:', "connect-src 'none'", 'worker-src blob:', "base-uri 'none'", "form-action 'none'",
    "require-trusted-types-for 'script'", 'trusted-types scrieve',
  ].join('; ');
  html = html.replace(/(<meta http-equiv="Content-Security-Policy" content=")[^"]*/, (_, before) => before + policy);
  if (/(?:src|href)="(?!data:|#)/.test(html.replace(code, ''))) throw new Error('something is still to be fetched');
  await writeFile(options.out, html);
  console.log(`${options.out.split('/').at(-1)}: ${(html.length / 1e6).toFixed(2)} MB, everything inside`);
}

await main();
