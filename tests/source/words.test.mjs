// Every sentence that is asked for stands in the words file, and every one that stands there is asked for.
//
// A text in the source is taken for a sentence's name when it is handed to `Say::new`, `word(` or
// `data-word="…"`; or when it looks like a name (`family.rest`) and its family is one of the words file's. A
// name that is put together, such as `format!("kind.{}", …)` or `kind.${…}`, asks for its whole family.
import test from 'node:test';
import assert from 'node:assert/strict';
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { join, dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { codeOnly, lineOf, testFiles, withoutComments, withoutTests } from './rust.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const FILE = 'www/words/en.json';
/** Names of files look like names of sentences. */
const OF_A_FILE = /\.(json|js|css|html|png|jpe?g|webp|svg|pdf|csv|wasm|scrieve|woff2)$/;
const NAME = /^[a-z][a-z0-9-]*(?:\.[a-z0-9-]+)+$/;
/** The beginning of a name that is put together: `kind.{}`, `kind.${x}`, `'kind.' + x`. */
const BEGUN = /^([a-z][a-z0-9-]*(?:\.[a-z0-9-]+)*[.-])(?:$|\$?\{)/;
/** A name whose family is put together: `{way}.it`. */
const ENDED = /^\$?\{[^}]*\}(\.[a-z0-9-]+)$/;

/** Texts of a piece of source, with where they begin. */
function texts(source) {
  return [...source.matchAll(/"((?:[^"\\\n]|\\.)*)"|'((?:[^'\\\n]|\\.)*)'|`((?:[^`\\]|\\[^])*)`/g)]
    .map((match) => ({ text: match[1] ?? match[2] ?? match[3], index: match.index, before: source.slice(Math.max(0, match.index - 24), match.index) }));
}

/** What a piece of source asks for. */
function asked(source, words) {
  const families = new Set(Object.keys(words).map((name) => name.split('.')[0]));
  const names = [];
  const begun = [];
  const ended = [];
  for (const { text, index, before } of texts(source)) {
    const surely = /(?:Say::new|\bword)\(\s*$|data-word=$/.test(before);
    if (NAME.test(text) && (surely || text in words || (families.has(text.split('.')[0]) && !OF_A_FILE.test(text)))) names.push({ name: text, index });
    else if (BEGUN.test(text) && families.has(text.split('.')[0])) begun.push(text.match(BEGUN)[1]);
    else if (ENDED.test(text)) ended.push(text.match(ENDED)[1]);
    else if (surely && !text.includes('{')) names.push({ name: text, index });
  }
  return { names, begun, ended };
}

function sources() {
  const under = (dir, ending) =>
    existsSync(join(ROOT, dir))
      ? readdirSync(join(ROOT, dir), { recursive: true }).filter((name) => ending.test(name)).map((name) => `${dir}/${name}`)
      : [];
  const read = (files) => files.map((file) => ({ file, source: readFileSync(join(ROOT, file), 'utf8') }));
  const rust = read([...under('crate/src', /\.rs$/), ...under('replay/src', /\.rs$/)])
    .map(({ file, source }) => ({ file, code: codeOnly(source), source: withoutTests(codeOnly(source), withoutComments(source)) }));
  const onlyTests = testFiles(rust);
  const page = read(under('www', /\.(js|html)$/).filter((file) => !file.endsWith('sw.js')))
    .map(({ file, source }) => ({ file, source: source.replace(/\/\*[^]*?\*\/|^\s*\/\/.*$/gm, (c) => c.replace(/[^\n]/g, ' ')) }));
  return [...rust.filter(({ file }) => !onlyTests.has(file)), ...page];
}

/** @returns what is missing from `words`, and what stands there unasked */
function compare(words, pieces) {
  const all = pieces.map(({ file, source }) => ({ file, source, ...asked(source, words) }));
  const missing = all.flatMap(({ file, source, names }) =>
    names.filter(({ name }) => !(name in words)).map(({ name, index }) => `${file}:${lineOf(source, index)} ${name}`));
  const named = new Set(all.flatMap(({ names }) => names.map(({ name }) => name)));
  const begun = all.flatMap((piece) => piece.begun);
  const ended = all.flatMap((piece) => piece.ended);
  const unasked = Object.keys(words).filter((name) =>
    !named.has(name) && !begun.some((start) => name.startsWith(start)) && !ended.some((end) => name.endsWith(end)));
  return { missing, unasked };
}

const words = JSON.parse(readFileSync(join(ROOT, FILE), 'utf8'));

test('every sentence asked for is there, and every one there is asked for', () => {
  const { missing, unasked } = compare(words, sources());
  assert.deepEqual({ missing, unasked }, { missing: [], unasked: [] });
});

test('the words file is flat, and no sentence is empty or stands twice', () => {
  for (const [name, text] of Object.entries(words)) {
    assert.match(name, NAME);
    assert.equal(typeof text, 'string', name);
    assert.ok(text.trim().length > 0, `${name} is empty`);
  }
  const lines = [...readFileSync(join(ROOT, FILE), 'utf8').matchAll(/^\s*"([^"]+)":/gm)].map((match) => match[1]);
  assert.equal(lines.length, Object.keys(words).length, 'a name stands twice');
});

test('what goes into a sentence is written {so}', () => {
  for (const [name, text] of Object.entries(words)) {
    assert.equal(text.replace(/\{[a-z][a-z0-9-]*\}/g, '').match(/[{}]/), null, `${name}: ${text}`);
  }
});

test('a missing sentence and one too many are noticed', () => {
  const some = { 'read.empty': 'x', 'read.zero': 'x', 'kind.length': 'x', 'kept.it': 'x' };
  const piece = (source) => compare(some, [{ file: 'f', source }]);
  assert.deepEqual(piece('Say::new("read.empty") a(`kind.${x}`) f(&format!("{way}.it"))').unasked, ['read.zero']);
  assert.deepEqual(piece('Say::new("other.thing") x("read.nothing") y("file.json")').missing, ['f:1 other.thing', 'f:1 read.nothing']);
});
