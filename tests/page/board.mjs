// The board in every browser: touch, slide, keypad, keeping, mending.
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
const ALL = ['chromium', 'firefox', 'webkit'];
const HEN = join(ROOT, 'www/examples/marsh-hen.webp');
const ready = (t) => t.waitFor(() => window.scrieve?.ready);
const scene = (t) => t.run(() => window.scrieve.scene());
async function touchPicture(t, x, y) {
  for (let i = 0; i < 2; i++) {
    const [sx, sy, over] = await t.run((px, py) => { const [a, b] = window.scrieve.toScreen(px, py); return [a, b, document.elementFromPoint(a, b)?.closest('#magnifier') ? 'glass' : document.elementFromPoint(a, b)?.id]; }, x, y);
    await t.tap(sx, sy);
    if (over !== 'glass') return;
    await new Promise((r) => setTimeout(r, 100));
  }
}
async function whole(t) {
  await t.open(); await ready(t);
  await t.dropFile(HEN);
  await t.waitFor(() => window.scrieve.scene().picture != null && document.querySelector('#first').hidden);
  await touchPicture(t, 672, 268); await t.waitFor(() => window.scrieve.scene().hand);
  await t.waitFor(() => !document.querySelector('#magnifier').hidden);
  await touchPicture(t, 672, 1010); await t.waitFor(() => window.scrieve.scene().entry);
  await t.screenshot('pad');
  await t.tapOn('[data-pad="2"]'); await t.tapOn('[data-pad="4"]'); await t.tapOn('#entry-ways .key.main');
  await t.waitFor(() => window.scrieve.scene().rows[0].finished?.figure.text === '24');
  await touchPicture(t, 155, 430); await touchPicture(t, 1190, 430);
  await t.waitFor(() => window.scrieve.scene().rows.length === 2 && window.scrieve.scene().hand);
  const from = (await scene(t)).hand.at;
  const box = await t.run(() => { const r = document.querySelector('#board').getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height * 0.8]; });
  await t.drag({ x: box[0], y: box[1] }, { x: box[0] + 60, y: box[1] }, 12);
  await t.waitFor((x) => window.scrieve.scene().hand.at[0] > x + 1, from[0]);
  await t.tapOn('[data-key="nudge-left"]'); await t.tapOn('[data-key="keep-mark"]');
  await t.waitFor(() => !window.scrieve.scene().hand);
  await t.screenshot('two');
  const figures = (await scene(t)).rows.map((r) => r.finished.figure.text);
  await t.run(() => window.scrieve.kept());
  await t.reload(); await ready(t);
  await t.waitFor((n) => window.scrieve.scene().rows.length === n, 2);
  const again = (await scene(t)).rows.map((r) => r.finished.figure.text);
  if (JSON.stringify(figures) !== JSON.stringify(again)) throw new Error(`${figures} became ${again}`);
  await t.screenshot('again');
  console.log('   ', t.browser, figures, 'touches', t.touches);
}
async function mends(t) {
  t.expected.push(/RuntimeError|unreachable|broke/);
  await t.open(); await ready(t); await t.dropFile(HEN);
  // Nothing more is being found in the picture: else what was found would meet the trap, and not the touch.
  await t.waitFor(() => window.scrieve.scene().picture != null && document.querySelector('#busy').hidden && window.scrieve.sought());
  // a desk that traps once
  await t.run(async () => { const core = await import('./core/desk.js'); const old = core.Desk.prototype.intend; core.Desk.prototype.intend = function () { core.Desk.prototype.intend = old; throw new WebAssembly.RuntimeError('unreachable'); }; });
  await t.tapOn('[data-step="lists"]');
  await t.waitForText('#refused', 'back');
  await t.tapOn('[data-step="lists"]');
  await t.waitFor(() => window.scrieve.scene().step === 'lists' && window.scrieve.scene().pictures.length === 1);
}
export const tests = [
  { name: 'two sizes', browsers: ['chromium', 'webkit'], screen: 'landscape', run: whole },
  { name: 'two sizes portrait', browsers: ['chromium', 'firefox'], screen: 'portrait', run: whole },
  { name: 'mends itself', browsers: ["chromium","webkit"], run: mends },
];
