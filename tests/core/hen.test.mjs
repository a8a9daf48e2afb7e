// Marsh Hen in twenty printings, through the native door: the body wanted 24 in long, then the span, the stabilizer
// and the wheel, and the span once more on the front view, where it is drawn 236 mm instead of 240. Truth: what
// tests/demo draws. The hand shakes; its steadiness is from the literature, not from the core.
import test, { before } from 'node:test';
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { feature, normal } from '../page/_hand.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const SEEDS = Array.from({ length: 20 }, (_, i) => i + 1);
const BODY = 24 * 25.4;
/** Screen px per picture px in the magnified window when the whole sheet is shown: www/magnifier.js's least. */
const ZOOM = 3;
/** SD of an end seen in the magnified window, in screen px: 0.5 to 1 (shared check values, from the same papers
 * that crate/src/mark/click.rs cites). A careful hand has the first, and what the core says holds for the second. */
const CAREFUL = 0.5;
const USUAL = 1;

const MEASURED = [['top', 'wing, tip to tip'], ['top', 'stabilizer'], ['side', 'wheel, across']];

/** @type {Map<number, any>} */
const truths = new Map();

before(() => {
  const own = join(ROOT, '.venv/bin/python');
  const dir = mkdtempSync(join(tmpdir(), 'scrieve-hens-'));
  try {
    for (const seed of SEEDS) {
      const args = [join(ROOT, 'tests/demo/marsh_hen.py'), '--seed', String(seed), '--truth-only', '--out', dir];
      execFileSync(existsSync(own) ? own : 'python3', args, { stdio: 'pipe' });
      truths.set(seed, JSON.parse(readFileSync(join(dir, `marsh-hen-${seed}.json`), 'utf8')));
    }
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
});

/** The job as facts: the picture, a box round each view, the marks as a shaking hand puts them. */
function job(truth, shake) {
  const hand = normal(truth.seed * 1000 + shake * 10);
  const put = ([x, y]) => {
    const [dx, dy] = hand();
    return [x + (dx * shake) / ZOOM, y + (dy * shake) / ZOOM];
  };
  const mark = (view, name) => ({
    kind: 'place', picture: 1, mark: 'length', points: feature(truth, view, name).points.map(put), by: 'touch', zoom: ZOOM, seen: true,
  });
  const { width, height, dpi } = truth;
  return [
    { kind: 'add-picture', name: 'hen', width, height, resolution: [dpi, dpi] },
    ...truth.views.map(({ name, role, corners, size, tilt }) => ({
      kind: 'add-view', picture: 1, name, role, box: { at: corners[0], size, tilt: (tilt * 180) / Math.PI },
    })),
    mark('top', 'body, nose to tail'),
    { kind: 'set-build', mark: 1, length: '24' },
    ...MEASURED.map(([view, name]) => mark(view, name)),
    mark('side', 'body, nose to tail'),
    mark('front', 'wing, tip to tip'),
  ];
}

/** The last scene after these intents. */
function replay(intents) {
  const input = intents.map((intent) => `${JSON.stringify(intent)}\n`).join('');
  const out = execFileSync(join(ROOT, 'scripts/replay'), ['-'], { input, encoding: 'utf8', maxBuffer: 1 << 26, stdio: ['pipe', 'pipe', 'ignore'] });
  const lines = out.trimEnd().split('\n').map((line) => JSON.parse(line));
  assert.deepEqual(lines.filter((line) => line.error), []);
  return lines.at(-1);
}

/** For each size: is the truth within the ± beside it? */
function covered(truth, scene) {
  return MEASURED.map(([view, name], i) => {
    const { finished } = scene.rows[i + 1];
    const off = (feature(truth, view, name).mm / 184) * BODY - finished.value;
    return { name: `${view} ${name}`, held: off <= finished.plus && -off <= finished.minus, text: `${finished.unrounded} ${finished.pm}` };
  });
}

test('twenty printings, a careful hand: the trap is caught, and every size is within its ±', () => {
  for (const seed of SEEDS) {
    const truth = truths.get(seed);
    const scene = replay(job(truth, CAREFUL));
    for (const { name, held, text } of covered(truth, scene)) assert.ok(held, `seed ${seed}, ${name}: ${text}`);
    // The span of the top view is mark 2, of the front view 6; the body's two views agree, so nobody asks about them.
    const asked = scene.notes.filter((note) => note.id.startsWith('views-'));
    assert.deepEqual(asked.map((note) => note.id.split('-').slice(1).map(Number).sort()), [[2, 6]], `seed ${seed}`);
    assert.equal(asked[0].keys.filter((key) => key.id.startsWith('trust-')).length, 2);
    // Trusting either view settles it, and both marks are then built as that view has them.
    for (const [own, other, mm] of [[2, 6, 240], [6, 2, 236]]) {
      const { intent } = asked[0].keys.find((key) => key.intent.kind === 'trust' && key.intent.mark === own);
      const after = replay([...job(truth, CAREFUL), intent]);
      assert.deepEqual(after.notes.filter((note) => note.id.startsWith('views-')), []);
      const [a, b] = [own, other].map((id) => after.rows.find((row) => row.id === id).finished);
      assert.equal(a.value, b.value);
      assert.ok(Math.abs(a.value - (mm / 184) * BODY) <= a.plus, `seed ${seed}: ${a.unrounded} ${a.pm} for ${mm}`);
    }
  }
});

test('twenty printings, the usual hand: the ± holds as often as it says', () => {
  const all = SEEDS.flatMap((seed) => covered(truths.get(seed), replay(job(truths.get(seed), USUAL))));
  const held = all.filter((one) => one.held).length;
  console.log(`# ${held} of ${all.length} sizes within their ±`);
  // Of 60 at 95 %, 52 or fewer happen once in 100, and all 60 once in 22 (binomial).
  assert.ok(held >= 53, `only ${held} of ${all.length}`);
});
