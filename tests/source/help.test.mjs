// The pages of help (www/help.js, www/help/): each sentence has a figure, every language says all, and the figures in the sentences are so.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const read = (path) => readFileSync(join(ROOT, path), 'utf8');
const LANGUAGES = readdirSync(join(ROOT, 'www/words')).map((name) => name.replace(/\.json$/, ''));
const helpOf = (language) => JSON.parse(read(`www/help/${language}.json`));
const SOURCE = read('www/help.js');
/** What the pages show, as [figure, sentence]. */
const SHOWN = [...SOURCE.match(/PAGES = {[^]*?\n};/)[0].matchAll(/\['([a-z]+)', '([a-z.-]+)'\]/g)].map(([, drawn, sentence]) => [drawn, sentence]);

test('every sentence is there in every language, sorted, and none that nobody shows', () => {
  const wanted = new Set([...SHOWN.map(([, sentence]) => sentence).filter((one) => one.startsWith('help.')), 'help.take', 'help.trust', 'help.mind']);
  assert.ok(SHOWN.length > 20);
  for (const language of LANGUAGES) {
    assert.deepEqual(Object.keys(helpOf(language)), [...wanted].sort(), language);
    const common = JSON.parse(read(`www/words/${language}.json`));
    for (const [, sentence] of SHOWN) assert.ok((helpOf(language)[sentence] ?? common[sentence] ?? '').length > 20, `${language}: ${sentence}`);
  }
  assert.deepEqual(readdirSync(join(ROOT, 'www/help')).sort(), LANGUAGES.map((one) => `${one}.json`).sort());
});

test('every figure that is drawn is shown, and none is missing', () => {
  const drawn = [...SOURCE.match(/FIGURES = {[^]*?\n};/)[0].matchAll(/^ {2}([a-z]+): {/gm)].map(([, name]) => name);
  assert.deepEqual(drawn.sort(), [...new Set(SHOWN.map(([name]) => name))].sort());
});

/** The numbers before a per cent sign in a sentence. */
const percents = (text) => [...text.matchAll(/(\d+(?:[.,]\d+)?)\s%/g)].map(([, number]) => Number(number.replace(',', '.')));

test('what they say of pictures is so: perspective and a turn, by the definition of each', () => {
  // What stands back behind the front is away / (away + back) as large; the first figures are English feet, the others metres.
  const smaller = (back, away) => 100 * (1 - away / (away + back));
  const turned = (degrees) => 100 * (1 - Math.cos((degrees * Math.PI) / 180));
  for (const [language, back, near, far] of [['en', 1, 10, 20], ['de', 0.3, 3, 6]]) {
    const help = helpOf(language);
    assert.deepEqual(percents(help['help.back']), [smaller(back, near), smaller(back, far)].map(Math.round), language);
    const [a, b, c] = percents(help['help.square']);
    assert.deepEqual([a, b, c], [turned(5).toFixed(1), turned(10).toFixed(1), turned(20).toFixed(0)].map(Number), language);
  }
  // A length six times as long is off six times as much.
  assert.match(helpOf('en')['help.tape'], /1⁄32 off on a foot is 3⁄16 off on six/);
  assert.equal((6 * 1) / 32, 3 / 16);
  const [, off, on, then, long] = helpOf('de')['help.tape'].match(/(\d)\smm daneben auf (\d+)\smm sind (\d)\smm auf ([\d,]+)\sm/).map((one) => Number(one.replace(',', '.')));
  assert.equal(then, (off * long * 1000) / on);
});
