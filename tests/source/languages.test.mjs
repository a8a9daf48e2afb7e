// Every language says all that English says, with the same things filled in. A sentence that is new in www/words/en.json is to be
// added to the other files in that folder by hand: this says which.
//   BLESS=1 node --test tests/source/languages.test.mjs     writes tests/words.txt anew
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { longWords, longer } from '../long.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const read = (path) => readFileSync(join(ROOT, path), 'utf8');
const wordsOf = (language) => JSON.parse(read(`www/words/${language}.json`));
const ENGLISH = wordsOf('en');
const LANGUAGES = readdirSync(join(ROOT, 'www/words')).map((name) => name.replace(/\.json$/, ''));

const slots = (text) => [...new Set(text.match(/\{[a-z][a-z0-9-]*\}/g) ?? [])].sort().join(' ');

/** What is wrong with a language's words, a line each. */
function faults(words) {
  const out = [];
  for (const [name, text] of Object.entries(ENGLISH)) {
    if (!(name in words)) out.push(`missing: "${name}": "${text}"`);
    else if (slots(words[name]) !== slots(text)) out.push(`“${name}” is to have ${slots(text) || 'no slots'}, not ${slots(words[name]) || 'none'}`);
    else if (words[name].trim() === '') out.push(`“${name}” is empty`);
  }
  for (const name of Object.keys(words)) if (!(name in ENGLISH)) out.push(`not in English any more: “${name}”`);
  for (const name of Object.keys(words).filter((one) => one.endsWith('.one'))) {
    if (!(name.slice(0, -4) in words)) out.push(`“${name}” is the singular of nothing`);
  }
  const [direction, sign, units] = ['page.direction', 'number.decimal', 'units.start'].map((name) => words[name]);
  if (!['ltr', 'rtl'].includes(direction)) out.push('page.direction is ltr or rtl');
  if (!['.', ',', '٫'].includes(sign)) out.push('number.decimal is one sign');
  if (!['inches', 'millimetres'].includes(units)) out.push('units.start is inches or millimetres');
  return out;
}

test('every language says what English says', () => {
  const all = LANGUAGES.flatMap((language) => faults(wordsOf(language)).map((fault) => `www/words/${language}.json: ${fault}`));
  assert.ok(all.length === 0, `\n${all.join('\n')}\n`);
});

test('the files are sorted by name, a sentence a line, and no name stands twice', () => {
  for (const language of LANGUAGES) {
    const words = wordsOf(language);
    const sorted = Object.fromEntries(Object.entries(words).sort(([a], [b]) => (a < b ? -1 : 1)));
    assert.equal(read(`www/words/${language}.json`), `${JSON.stringify(sorted, null, 2)}\n`, `${language}.json`);
  }
});

test('the languages that can be chosen are those there are, each by its own name in all of them', () => {
  const offered = read('www/language.js').match(/LANGUAGES = \[([^\]]*)\]/)[1].match(/[a-z]+/g);
  assert.deepEqual([...offered].sort(), [...LANGUAGES].sort());
  for (const language of LANGUAGES) {
    for (const other of LANGUAGES) assert.equal(wordsOf(other)[`language.${language}`], wordsOf(language)[`language.${language}`]);
  }
});

test('the language is the one chosen here, else the first of the browser’s own that there is, else English', async () => {
  const { pickLanguage } = await import('../../www/language.js');
  for (const [kept, wanted, picked] of [
    [null, ['de-AT', 'en'], 'de'], [null, ['fr-FR', 'de', 'en'], 'de'], [null, ['fr', 'nl'], 'en'], [null, [], 'en'],
    ['en', ['de'], 'en'], ['de', ['en-GB'], 'de'], ['xx', ['de-CH'], 'de'], ['', ['EN-us', 'de'], 'en'],
  ]) assert.equal(pickLanguage(kept, wanted), picked, `${kept}, ${wanted}`);
});

test('a missing sentence, one too many and another slot are noticed', () => {
  const { 'page.name': _gone, ...less } = ENGLISH;
  assert.deepEqual(faults(less), ['missing: "page.name": "Scrieve"']);
  assert.equal(faults({ ...ENGLISH, 'page.more': 'x' }).length, 1);
  assert.match(faults({ ...ENGLISH, 'page.notes': '{number} notes' })[0], /is to have \{count\}, not \{number\}/);
  assert.deepEqual(faults({ ...ENGLISH, 'number.decimal': '..' }), ['number.decimal is one sign']);
});

test('the made-up language has all sentences, longer', () => {
  assert.deepEqual(faults(JSON.parse(longWords('rtl'))), []);
  assert.equal(longer('Undo {what}').length, 'Undo {what}'.length + 3);
  assert.equal(longer('Keep it').length, 'Keep it'.length + 6);
});

/** All that a person reads, in one list to be read through: sentences by family, then what the page's own files have besides. */
function listed() {
  const lines = ['Every label, key and sentence that a person reads, as it stands in www/. Made by tests/source/languages.test.mjs.'];
  let family = '';
  for (const [name, text] of Object.entries(ENGLISH)) {
    const [first] = name.split('.');
    if (first !== family) lines.push('', `# ${first}`);
    family = first;
    lines.push(`${text}    [${name}]`);
  }
  lines.push('', '# pages of help, from www/help/');
  for (const [name, text] of Object.entries(JSON.parse(read('www/help/en.json')))) lines.push(`${text}    [${name}]`);
  lines.push('', '# faces of keys, from www/keypad.js');
  const blocks = read('www/keypad.js').match(/const BLOCKS = \[[^]*?\n\];/)[0];
  const faces = [...blocks.matchAll(/\['[^']*', '([^']+)'/g)].map(([, face]) => face.replace(/\\u([0-9a-f]{4})/g, (_, hex) => String.fromCharCode(parseInt(hex, 16))));
  lines.push(faces.join('  '));
  lines.push('', '# texts of www/index.html and www/manifest.webmanifest');
  lines.push(...read('www/index.html').replace(/<!--[^]*?-->/g, '').replace(/<[^>]*>/g, '\n').split('\n').map((line) => line.trim()).filter(Boolean));
  const { name, short_name: short, description, shortcuts } = JSON.parse(read('www/manifest.webmanifest'));
  lines.push(...new Set([name, short, description, ...shortcuts.map((one) => one.name)]));
  return `${lines.join('\n')}\n`;
}

test('tests/words.txt lists all that a person reads', () => {
  const list = listed();
  if (process.env.BLESS) writeFileSync(join(ROOT, 'tests/words.txt'), list);
  assert.equal(read('tests/words.txt'), list, 'BLESS=1 node --test tests/source/languages.test.mjs writes it anew; look at the difference');
});
