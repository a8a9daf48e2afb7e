// House rules of the core that no compiler knows: each room depends only on those above it; files and functions
// stay short; nothing in the core reads a clock, a file or the DOM; sums go through libm.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { join, dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { codeOnly, functions, lineOf, moduleOf, paths, testFiles, withoutTests } from './rust.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const CORE = join(ROOT, 'crate/src');
const LINES_OF_A_FILE = 500;
const LINES_OF_A_FUNCTION = 80;

const rooms = [...new Set([...codeOnly(readFileSync(join(CORE, 'lib.rs'), 'utf8')).matchAll(/^\s*(?:pub )?mod (\w+);/gm)].map((m) => m[1]))];
const files = readdirSync(CORE, { recursive: true })
  .filter((name) => name.endsWith('.rs'))
  .map((name) => {
    const file = name.split('\\').join('/');
    const source = readFileSync(join(CORE, file), 'utf8');
    return { file, source, code: codeOnly(source), module: moduleOf(file), shipped: '' };
  })
  .sort((a, b) => a.file.localeCompare(b.file));
const onlyTests = testFiles(files);
for (const piece of files) if (!onlyTests.has(piece.file)) piece.shipped = withoutTests(piece.code);

/** Places in a file where code below depends on code that isn't above it. */
function downward({ file, code, module }) {
  const here = rooms.indexOf(module[0]);
  return paths(code, module)
    .map(({ path, index }) => ({ room: rooms.indexOf(path[0]), name: path[0], index }))
    .filter(({ room }) => here >= 0 && room > here)
    .map(({ name, index }) => `${file}:${lineOf(code, index)} reaches down to ${name}`);
}

/** Every place in what is shipped where `pattern` stands. */
function places(pattern, except = () => false) {
  return files.filter(({ module }) => !except(module)).flatMap(({ file, shipped }) =>
    [...shipped.matchAll(pattern)].map((match) => `${file}:${lineOf(shipped, match.index)} ${match[0].trim()}`));
}

test('the rooms are found', () => {
  assert.ok(rooms.length >= 9 && rooms.includes('words') && rooms.at(-1) === 'web', `rooms: ${rooms}`);
  for (const room of rooms) assert.ok(files.some(({ module }) => module[0] === room), `${room} has no file`);
});

test('a room depends only on rooms above it', () => {
  assert.deepEqual(files.flatMap(downward), []);
});

test('a dependency downward is noticed however it is written', () => {
  const upper = { file: 'plane/planted.rs', module: ['plane', 'planted'] };
  const lower = rooms.at(-1);
  const planted = [
    `use crate::${lower}::Thing;`,
    `use crate::{words, ${lower}::{a, b}};`,
    `use super::super::${lower};`,
    `use super::super::{words, ${lower}};`,
    `fn f() -> crate::${lower}::Thing { todo!() }`,
    'pub(crate) fn f(x: &crate::mark::Mark) {}',
  ];
  for (const code of planted) assert.equal(downward({ ...upper, code: codeOnly(code) }).length, 1, code);
  const fine = [`// use crate::${lower};`, `let t = "crate::${lower}::x";`, 'use crate::words::Say;', 'use super::point;'];
  for (const code of fine) assert.deepEqual(downward({ ...upper, code: codeOnly(code) }), [], code);
});

test(`no file is longer than ${LINES_OF_A_FILE} lines`, () => {
  const long = files.map(({ file, source }) => [file, source.trimEnd().split('\n').length]).filter(([, n]) => n > LINES_OF_A_FILE);
  assert.deepEqual(long, []);
});

test(`no function is longer than ${LINES_OF_A_FUNCTION} lines`, (t) => {
  const all = files.flatMap(({ file, code }) => functions(code).map((f) => ({ ...f, file })));
  assert.ok(all.length > 50, `only ${all.length} functions were found`);
  for (const { file, name, line, lines } of all.filter((f) => f.lines > 60 && f.lines <= LINES_OF_A_FUNCTION)) {
    t.diagnostic(`getting long: ${file}:${line} ${name} has ${lines} lines`);
  }
  assert.deepEqual(all.filter((f) => f.lines > LINES_OF_A_FUNCTION).map((f) => `${f.file}:${f.line} ${f.name} ${f.lines}`), []);
});

test('the lines of a function are counted rightly', () => {
  const code = 'fn a() {\n}\nfn b(x: [u8; 2])\nwhere\n{\n if x { {} }\n}\ntrait T { fn c(); fn d() { } }';
  assert.deepEqual(functions(code).map((f) => [f.name, f.line, f.lines]), [['a', 1, 2], ['b', 3, 5], ['d', 8, 1]]);
});

test('the core knows no clock, file, network, environment or page', () => {
  const outside = /\bstd::(fs|time|env|net|process|thread|io::(stdin|stdout|stderr))\b|\bstatic\s+mut\b|\bthread_local!|\be?print(ln)?!|\bdbg!/g;
  assert.deepEqual(places(outside, (module) => module[0] === 'web'), []);
  assert.deepEqual(places(/\b(web_sys|js_sys|wasm_bindgen)::/g, (module) => module[0] === 'web'), []);
});

test('sums go through libm, so that every machine gives the same bytes', () => {
  // sqrt is left out: IEEE 754 fixes its every bit, so std's is as good.
  const own = /(?:\.|\bf64::)(sin|cos|tan|asin|acos|atan|atan2|sinh|cosh|tanh|sin_cos|hypot|cbrt|powf|powi|exp|exp2|exp_m1|ln|ln_1p|log2|log10|mul_add)\(/g;
  assert.deepEqual(places(own), []);
});

test('what the standard library compiles anew for each use, or with large tables, is compiled once', () => {
  // Sorts: 2 to 4 kB for each type. Its reader of decimals: 10 kB of powers that don't pack. Letters' cases: 5 kB.
  const heavy = /\.(sort(_unstable)?(_by(_cached)?(_key)?)?|select_nth_unstable\w*|to_lowercase|to_uppercase)\(|\bparse::<f64>|BTree(Map|Set)<[^;\n]*\.collect\(/g;
  assert.deepEqual(places(heavy), []);
});

test('nothing that a person does can make the core panic', () => {
  const panics = /\.unwrap\(\)|\.expect\(|\b(panic|unreachable|todo|unimplemented)!/g;
  assert.deepEqual(places(panics), []);
});
