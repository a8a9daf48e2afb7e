// @ts-check
// The page's side of the door by itself, with cores that only pretend.
import { test } from 'node:test';
import assert from 'node:assert/strict';
import { Door } from '../../www/door.js';

/** A desk that knows steps alone. The first core lacks the lists; `deaf` can't lay a hand anew. */
const pretend = (kind, deaf = false) => ({
  Desk: class {
    constructor() { this.step = 'marks'; }
    scene() { return { step: this.step, marks: [], rows: [], views: [], parts: [] }; }
    intend({ step }) {
      if (kind === 'desk' && step === 'lists') throw { key: 'job.wants-whole', text: '' };
      this.step = step;
      return this.scene();
    }
    restore(facts) { return facts.length; }
    follow() { if (deaf) throw new Error('deaf'); }
    factsFrom() { return []; }
    close() {}
    free() {}
  },
});

/** Opens `lists` at a page that begins with the first core; gives the steps that a person saw. @param {boolean} deaf */
async function opened(deaf) {
  const steps = [];
  const waits = [];
  const keeper = { keep() {} };
  const listener = { scene: ({ step }) => steps.push(step), refused() {}, broke() {}, waits: (on) => waits.push(on) };
  const door = new Door('{}', /** @type {any} */ (keeper), listener);
  door.core = /** @type {any} */ (pretend('desk'));
  let come = () => {};
  door.coming = new Promise((resolve) => { come = () => resolve(/** @type {any} */ (pretend('whole', deaf))); });
  await door.open();
  door.send({ kind: 'go', step: 'build' });
  door.send({ kind: 'go', step: 'lists' });
  come();
  while (door.held) await new Promise((resolve) => { setImmediate(resolve); });
  return { steps, waits };
}

test('a step that the first core lacks is opened by the whole one', async () => {
  const { steps, waits } = await opened(false);
  assert.deepEqual([steps.at(-1), waits], ['lists', [true, false]]);
});

test('it is opened as well where the hand can’t be laid anew', async (t) => {
  t.mock.method(console, 'error', () => {});
  const { steps } = await opened(true);
  assert.equal(steps.at(-1), 'lists');
});
