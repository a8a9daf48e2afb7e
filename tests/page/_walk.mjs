// A walk through a whole job, the same to the px every time: what stands on the screen at each step is looked at by whoever takes it.
import { HEN, Hand, feature, henTruth } from './_hand.mjs';

/** Waits until nothing moves any more. */
export async function still(t) {
  await t.run(async () => {
    await document.fonts.ready;
    await Promise.all(document.getAnimations().map((one) => one.finished.catch(() => {})));
    await new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(done)); });
  });
}

/** Opens the size board where it slides up from the ledge. */
export async function openSizes(t) {
  const closed = await t.run(() => {
    const handle = document.querySelector('#sizes-handle');
    return handle.checkVisibility() && document.querySelector('#sizes').dataset.open === 'no';
  });
  if (closed) await t.tapOn('#sizes-handle');
}

/**
 * From the empty board to the patterns. Ends are touched where they are, so that every figure comes out the same.
 * @param {(step: string) => Promise<void>} at told of each step when it stands
 * @param {{speak?: string, short?: boolean}} [how] another language; only as far as the first size, and no other
 */
export async function walk(t, at, { speak, short = false } = {}) {
  const hand = new Hand(t);
  const truth = await henTruth();
  const stop = async (step) => {
    await hand.scene();
    await t.run(() => window.scrieve.kept().then(() => true));
    await still(t);
    await at(step);
  };
  // On a page made much larger the board has to be scrolled to.
  const touch = async (place) => {
    await t.run(() => document.querySelector('#floor').scrollIntoView({ block: 'center' }));
    await hand.tap(place);
  };
  await hand.open();
  if (speak) {
    await t.tapOn(`#first-languages [data-key="language-${speak}"]`);
    await t.waitFor((code) => document.documentElement.lang === code, speak);
  }
  await stop('empty');
  await hand.drop(HEN);
  await stop('question');
  const [nose, tail] = feature(truth, 'top', 'body, nose to tail').points;
  await touch(nose);
  await t.waitFor(() => !document.querySelector('#magnifier').hidden);
  await stop('hand');
  await touch(tail);
  await t.waitFor(() => window.scrieve.scene().entry);
  await hand.type(...(speak === 'de' ? ['6', '1', '0'] : ['2', '4']));
  await stop('keypad');
  await hand.press('i-want-it');
  if (short) {
    await stop('sizes');
    return hand;
  }
  for (const name of ['wing, tip to tip', 'stabilizer']) for (const end of feature(truth, 'top', name).points) await touch(end);
  await hand.press('keep-mark');
  await openSizes(t);
  await stop('sizes');
  await t.tapOn('#rows .row:first-child .row-main');
  await t.waitFor('.row-detail:not([hidden])');
  await stop('detail');
  for (const step of ['picture', 'true-length', 'build']) {
    await hand.go(step);
    await stop(step);
  }
  await hand.go('marks');
  await hand.press('tool-outline');
  await stop('outline');
  await hand.press('take-outlines');
  await hand.go('lists');
  await t.waitFor(() => window.scrieve.planned());
  await openSizes(t);
  await stop('lists');
  return hand;
}
