// The core compiled for the web and the core compiled for this machine say the same, to the last bit of every
// number: one and the same log goes through both doors. (The outside checks use the native one, people the other.)
import test from 'node:test';
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { random } from '../random.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const WORDS = readFileSync(join(ROOT, 'www/words/en.json'), 'utf8');
/** A core for the web. @param {'desk' | 'whole'} kind */
async function load(kind) {
  const core = await import(join(ROOT, `build/web/core/${kind}.js`));
  core.initSync({ module: readFileSync(join(ROOT, `build/web/core/${kind}_bg.wasm`)) });
  return core;
}
const whole = await load('whole');
const first = await load('desk');

/** A job that visits every kind of mark, tilted views, several true lengths, and slips. */
function log(seed) {
  const next = random(seed);
  const at = (left) => [left + next() * 900, next() * 1400];
  const points = (n, left) => Array.from({ length: n }, () => at(left));
  const place = (mark, n, left) => ({
    kind: 'place', picture: 1, mark, points: points(n, left), by: next() < 0.5 ? 'touch' : 'mouse', zoom: 0.5 + 4 * next(), seen: true,
  });
  const kinds = [['length', 2], ['path', 4], ['angle', 3], ['circle', 5], ['arc', 4], ['outline', 7], ['point', 1]];
  return [
    { kind: 'add-picture', name: 'a <b>drawing</b>.png', width: 3000, height: 1500, resolution: [300, 300] },
    { kind: 'add-view', picture: 1, name: 'top', role: 'top', box: { at: [0, 0], size: [990, 1500], tilt: 0.7 } },
    { kind: 'add-view', picture: 1, name: '', role: 'side', box: { at: [1000, 0], size: [990, 1500], tilt: -0.4 } },
    { kind: 'add-view', picture: 1, name: 'square', role: 'other', box: { at: [2000, 0], size: [990, 1500], tilt: 0 } },
    ...[20, 1020, 2020].flatMap((left) => kinds.map(([kind, n]) => place(kind, n, left))),
    { kind: 'set-known', mark: 1, length: { mm: 100 + 900 * next() }, how: 'tape' },
    { kind: 'set-known', mark: 8, length: '23 5/16', how: 'printed', pm: '1/32' },
    { kind: 'square-on', view: 3, corners: [[2100, 200], [2900, 240 + 50 * next()], [2850, 1300], [2080, 1250]], sheet: 'a4', of: 'thing' },
    { kind: 'set-build', mark: 1, length: { mm: 368.3 } },
    { kind: 'set-base', mark: 1 },
    { kind: 'show', table: 'ratios' },
    { kind: 'set-known', mark: 2, length: '-3' },
    { kind: 'set-known', mark: 1, length: '5 x 3' },
    { kind: 'place', picture: 1, mark: 'length', points: [[10, 10], [10, 10]] },
    { kind: 'move-point', mark: 1, point: 0, at: at(20), by: 'pen', zoom: 3, seen: false },
    { kind: 'select', mark: 3 },
    { kind: 'undo' },
    { kind: 'redo' },
    // A photograph: a rectangle whose sides nobody knows, parallel edges, a true length.
    { kind: 'add-picture', name: 'photograph.jpg', width: 4000, height: 3000, 'focal-35mm': 26 },
    { kind: 'square-on', view: 5, corners: [[1109.4, 615.5 + 20 * next()], [2972.7, 1026.3], [2536.6, 2032.9], [845.8, 2062.1]], of: 'thing' },
    { ...place('length', 2, 1000), picture: 2 },
    { kind: 'set-known', mark: 22, length: { mm: 400 }, how: 'tape' },
    { ...place('circle', 6, 1100), picture: 2 },
    { ...place('gap', 4, 1100), picture: 2 },
    { kind: 'formed', mark: 24, on: true },
    { kind: 'cropped', picture: 2, on: true },
    { kind: 'set-build-ratio', finished: 1, real: 12 },
    { kind: 'show', table: 'sizes' },
  ];
}

/** One answer for each intent, from the native door. */
function native(intents) {
  const dir = mkdtempSync(join(tmpdir(), 'scrieve-same-'));
  try {
    const file = join(dir, 'log.jsonl');
    writeFileSync(file, intents.map((intent) => `${JSON.stringify(intent)}\n`).join(''));
    const out = execFileSync(join(ROOT, 'scripts/replay'), [file], { encoding: 'utf8', maxBuffer: 1 << 28, stdio: ['ignore', 'pipe', 'ignore'] });
    return out.trimEnd().split('\n').map((line) => JSON.parse(line));
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

/** The same from a door for the web. */
function web(core, intents) {
  const desk = new core.Desk(WORDS);
  return intents.map((intent) => {
    try {
      desk.intend(intent);
    } catch (error) {
      return { error: { key: error.key, text: error.text } };
    }
    return { ...desk.scene(), rows: desk.sizes() };
  });
}

/** Plain data with its names in order, and nothing that only one door says: arguments of errors, revisions. */
function plain(value) {
  if (Array.isArray(value)) return value.map(plain);
  if (value === null || typeof value !== 'object') return Object.is(value, -0) ? 0 : value;
  if (value.error) return { error: { key: value.error.key, text: value.error.text } };
  const names = Object.keys(value).filter((name) => value[name] !== undefined && value[name] !== null).sort();
  return Object.fromEntries(names.map((name) => [name, plain(value[name])]));
}

for (const seed of [1, 2, 3, 4]) {
  test(`both doors say the same, log ${seed}`, () => {
    const intents = log(seed);
    const [here, there] = [native(intents), web(whole, intents)];
    assert.equal(here.length, intents.length);
    intents.forEach((intent, i) => assert.deepEqual(plain(there[i]), plain(here[i]), `after ${JSON.stringify(intent)}`));
    // The logs would prove little if most of them were refused, or no number were told.
    const refused = here.filter((answer) => answer.error).length;
    assert.ok(refused >= 2 && refused < 12, `${refused} of ${intents.length} refused: ${JSON.stringify(here.filter((a) => a.error))}`);
    assert.ok(JSON.stringify(here.at(-1)).match(/\d\.\d{6,}/g)?.length > 50, 'hardly a number');
  });
}

test('what the first core does, the whole one does alike', () => {
  const wants = 'job.wants-whole';
  for (const seed of [1, 2, 3, 4]) {
    const intents = log(seed);
    const here = web(first, intents);
    const beyond = intents.filter((_, i) => here[i].error?.key === wants).map((intent) => intent.kind);
    assert.deepEqual(beyond, ['square-on', 'formed', 'cropped'], 'what it leaves to the whole one');
    const within = intents.filter((_, i) => here[i].error?.key !== wants);
    const [small, large] = [first, whole].map((core) => web(core, within));
    within.forEach((intent, i) => assert.deepEqual(plain(small[i]), plain(large[i]), `after ${JSON.stringify(intent)}`));
  }
});
