// Other languages: a first size in German, what stays when the language is another, and whether a made-up one with long words
// has room on every step, in both directions of writing.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
import { longWords } from '../long.mjs';
import { HEN, Hand, equal, feature, henTruth } from './_hand.mjs';

const GERMAN = JSON.parse(await readFile(join(ROOT, 'www/words/de.json'), 'utf8'));
const ENGLISH = JSON.parse(await readFile(join(ROOT, 'www/words/en.json'), 'utf8'));

const said = (t) => t.run(() => [document.documentElement.lang, document.documentElement.dir, document.querySelector('#guide').textContent]);

/** Chooses a language by its key on the empty board. */
async function choose(t, code) {
  await t.tapOn(`#first-languages [data-key="language-${code}"]`);
  await t.waitFor((lang) => document.documentElement.lang === lang, code);
}

/** The first two sizes: in millimetres, with the comma. */
async function inGerman(t) {
  const truth = await henTruth();
  const hand = new Hand(t);
  await hand.open();
  equal(await said(t), ['en', 'ltr', ENGLISH['guide.empty']], 'before');
  await choose(t, 'de');
  equal(await said(t), ['de', 'ltr', GERMAN['guide.empty']], 'after');
  equal(await t.attr('#first-languages [data-key="language-de"]', 'aria-pressed'), 'true', 'the key');
  await t.screenshot('empty');
  await hand.drop(HEN);
  equal(await t.text('#guide'), GERMAN['guide.first-question'], 'the question');
  await hand.length(feature(truth, 'top', 'body, nose to tail').points);
  equal(await t.text('[data-pad="."]'), ',', 'the key for decimals');
  await hand.type('6', '0', '9', '.', '6');
  equal(await t.run(() => window.scrieve.scene().entry.text), '609,6', 'what was typed');
  equal((await t.text('#entry-reads')).includes('609,60'), true, `reads as: ${await t.text('#entry-reads')}`);
  await t.screenshot('keypad');
  await hand.press('i-want-it');
  const { points, mm } = feature(truth, 'top', 'wing, tip to tip');
  await hand.length(points);
  const row = await hand.row(await hand.newest());
  equal(row.finished.figure.text, String(Math.round((mm * 609.6) / 184)), 'the wing, whole mm');
  equal(/^\d+,\d\d\smm$/.test(row.finished.unrounded), true, `unrounded: ${row.finished.unrounded}`);
  equal(await t.text('#head-unit'), GERMAN['head.to-build'].replace('{unit}', GERMAN['unit.millimetres']), 'the head');
  await t.screenshot('sizes');
  // The next time as well; and in English the job keeps its units.
  await t.run(() => window.scrieve.kept());
  await t.reload();
  await hand.ready();
  await t.waitFor(() => window.scrieve.scene().rows.length === 2);
  equal((await said(t))[0], 'de', 'after a reload');
  await t.tapOn('#languages [data-key="language-en"]');
  await t.waitFor(() => document.documentElement.lang === 'en');
  const again = await hand.row(row.id);
  equal([again.finished.figure.text, again.finished.unrounded], [row.finished.figure.text, row.finished.unrounded.replace(',', '.')], 'in English');
  equal(await t.text(`[data-row="${row.id}"] .row-name`), ENGLISH['kind.length'], 'the row’s name');
}

/** Text that is German although English is spoken, or the other way round. */
function strays(names) {
  const shown = [...document.querySelectorAll('#page *')].filter((node) => node.childElementCount === 0 && node.checkVisibility());
  return shown.map((node) => node.textContent.trim()).filter((text) => names.includes(text));
}

/** With one end put, and then with half a length typed, the language is another: nothing in hand is lost. */
async function midMark(t) {
  const truth = await henTruth();
  const [nose, tail] = feature(truth, 'top', 'body, nose to tail').points;
  const hand = new Hand(t);
  await hand.open();
  await hand.drop(HEN);
  await hand.end(nose);
  const before = await hand.scene();
  equal(before.marks.map((mark) => mark.handles.length), [1], 'ends put');
  await t.tapOn('#languages [data-key="language-de"]');
  await t.waitFor(() => document.documentElement.lang === 'de');
  const now = await hand.scene();
  equal([now.marks[0].handles, now.hand.at], [before.marks[0].handles, before.hand.at], 'the end that was put');
  equal(await t.text('#guide') !== before.guide, true, 'the sentence is another');
  const only = Object.keys(ENGLISH).filter((name) => ENGLISH[name] !== GERMAN[name] && ENGLISH[name].length > 3 && !Object.values(GERMAN).includes(ENGLISH[name]));
  equal(await t.run(strays, only.map((name) => ENGLISH[name])), [], 'what is still English');
  await hand.end(tail);
  await hand.type('6', '0', '9');
  await t.tapOn('#languages [data-key="language-en"]');
  await t.waitFor(() => document.documentElement.lang === 'en');
  equal((await hand.scene()).entry.text, '609', 'what was being typed');
  await hand.type('.', '6');
  await hand.press('i-want-it');
  equal((await hand.row(await hand.newest())).finished.value.toFixed(1), '15483.8', 'in inches, as the job was begun');
}

/** Run in the page: keys, sentences and rows whose text doesn't fit, or that lie over one another. */
function crowded() {
  const seen = (node) => node.checkVisibility() && node.getClientRects().length > 0 && !node.closest('.unseen');
  const all = (selector) => [...document.querySelectorAll(selector)].filter(seen);
  const name = (node) => `${node.id || node.dataset.key || node.className} “${node.textContent.trim().slice(0, 40)}”`;
  const wide = all('.key, .pad-key, .step, .tab, .row-main, .row-name, .note, #guide, #aside, #words, #entry-title, #entry, #ledge, #ledge-keys, #sizes-body, #top, #steps, #first, #foot, #keypad, .part, body')
    .filter((node) => node.scrollWidth > node.clientWidth + 1).map((node) => `too wide: ${name(node)} ${node.scrollWidth} > ${node.clientWidth}`);
  // What a key says, whatever bars are drawn about it.
  const textOf = (node) => {
    const range = document.createRange();
    range.selectNodeContents(node);
    return range.getBoundingClientRect();
  };
  const high = all('.key, .pad-key, .step, .tab').map((node) => ({ node, text: textOf(node), box: node.getBoundingClientRect() }))
    .filter(({ text, box }) => text.top < box.top || text.bottom > box.bottom)
    .map(({ node, text, box }) => `too high: ${name(node)} ${text.height} > ${box.height}`);
  const boxes = all('#guide, #aside, .key, .step, .tab, .turn, .nudge, .pad-key, .row-name, .row-figure, .note-text, #job-name')
    .filter((node) => !node.closest('#ledge-keys, #sizes-body') || inView(node))
    .map((node) => ({ node, box: node.getBoundingClientRect() }));
  function inView(node) {
    const [a, b] = [node.getBoundingClientRect(), node.closest('#ledge-keys, #sizes-body').getBoundingClientRect()];
    return a.top >= b.top - 1 && a.bottom <= b.bottom + 1;
  }
  const over = [];
  for (const [i, a] of boxes.entries()) {
    for (const b of boxes.slice(i + 1)) {
      if (a.node.contains(b.node) || b.node.contains(a.node)) continue;
      const [w, h] = [Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left), Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top)];
      if (w > 2 && h > 2) over.push(`over one another: ${name(a.node)} and ${name(b.node)}`);
    }
  }
  const out = boxes.filter(({ box }) => box.left < -1 || box.right > innerWidth + 1).map(({ node }) => `beyond the screen: ${name(node)}`);
  return [...wide, ...high, ...over, ...out];
}

/** A short job through all five steps in the made-up language. @param {'ltr' | 'rtl'} direction */
async function long(t, direction) {
  const truth = await henTruth();
  const hand = new Hand(t);
  await hand.open();
  await t.run((words) => window.scrieve.speak('art-x-long', words), longWords(direction));
  equal((await said(t)).slice(0, 2), ['art-x-long', direction], 'the language');
  const problems = [];
  const look = async (where) => {
    await t.run(() => new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(done)); }));
    await t.screenshot(where);
    problems.push(...(await t.run(crowded)).map((text) => `${where}: ${text}`));
  };
  await look('empty');
  await hand.drop(HEN);
  await look('question');
  const { points } = feature(truth, 'top', 'body, nose to tail');
  await hand.end(points[0]);
  await look('moving');
  await hand.end(points[1]);
  await hand.type('2', '4');
  await look('keypad');
  await hand.press('i-want-it');
  await hand.length(feature(truth, 'top', 'wing, tip to tip').points);
  await t.tapOn('[data-key="keep-mark"]');
  await t.tapOn(`[data-row="${await hand.newest()}"] .row-main`);
  await look('detail');
  for (const step of ['picture', 'true-length', 'marks', 'build']) {
    await hand.go(step);
    await look(step);
  }
  if (problems.length > 0) throw new Error(`\n${problems.join('\n')}`);
}

export const tests = [
  { name: 'the first size in German, metric', browsers: ['chromium'], quick: true, run: inGerman },
  { name: 'another language in mid-mark', browsers: ['chromium'], run: midMark },
  { name: 'long words', browsers: ['chromium'], run: (t) => long(t, 'ltr') },
  { name: 'long words, upright', browsers: ['chromium'], screen: 'portrait', run: (t) => long(t, 'ltr') },
  { name: 'long words from right to left', browsers: ['chromium'], run: (t) => long(t, 'rtl') },
  { name: 'long words from right to left, upright', browsers: ['chromium'], screen: 'portrait', run: (t) => long(t, 'rtl') },
];
