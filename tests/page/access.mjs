// What axe-core finds of WCAG 2.2 A and AA, and of good practice, on every step, light and dark: nothing. Figures have AAA's
// contrast. And figures are read aloud, by the device's own voices only.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { ALL, HEN, Hand, equal, feature, henTruth } from './_hand.mjs';
import { withFiles } from './_files.mjs';
import { frame, pdfOf } from './_pdf.mjs';

/** Where figures stand, which are read from afar: contrast of 7 : 1 (WCAG 2.2, 1.4.6), 4.5 : 1 where they are large. */
const FIGURES = '.row-figure, .row-pm, .row-under, .detail-lines, #entry-text, #entry-reads, .part-size, .aloud-figure, .aloud-good, #head, #hand-good';

/** Puts axe in the page. */
async function putAxe(t) {
  const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
  await t.driver.run(`() => { ${axe}; return true; }`, []);
  await t.run(setContrast);
}

/**
 * Run in the page: what axe measures contrast by (WCAG 2.2, 1.4.3 and 1.4.6). Of its own accord it leaves alone all that has something drawn
 * by a style within; here that is ticks, bars and the strip along the size board, and none of it lies behind words.
 */
function setContrast() {
  const options = (normal, large) => ({
    ignoreUnicode: true, ignoreLength: false, ignorePseudo: true, boldValue: 700, boldTextPt: 14, largeTextPt: 18,
    contrastRatio: { normal: { expected: normal }, large: { expected: large } }, pseudoSizeThreshold: 0.25, shadowOutlineEmMax: 0.2,
  });
  window.axe.configure({ checks: [{ id: 'color-contrast', options: options(4.5, 3) }, { id: 'color-contrast-enhanced', options: options(7, 4.5) }] });
}

/** Run in the page: what is wrong, one line each. */
async function wrong(figures) {
  const told = ({ violations }, where) => violations.flatMap(({ id, nodes }) =>
    nodes.map(({ target, failureSummary }) => `${where}${id} at ${target.join(' ')}: ${failureSummary.replace(/\s+/g, ' ')}`));
  // Contrast is only told of what is in sight, and once nothing fades any more.
  await Promise.all(document.getAnimations().map((one) => one.finished.catch(() => {})));
  const all = told(await window.axe.run(document, { resultTypes: ['violations'] }), '');
  const seen = [...document.querySelectorAll(figures)].filter((node) => node.checkVisibility() && node.textContent.trim() !== '');
  if (seen.length === 0) return all;
  const enhanced = await window.axe.run({ include: seen }, {
    resultTypes: ['violations'], runOnly: { type: 'rule', values: ['color-contrast-enhanced'] }, rules: { 'color-contrast-enhanced': { enabled: true } },
  });
  return [...all, ...told(enhanced, 'figures: ')];
}

/** Looks at the page as it is, in every theme. @param {(scheme: string) => Promise<void>} theme */
async function look(t, where, problems) {
  const themes = t.browser === 'chromium' ? ['light', 'dark'] : ['as it is'];
  for (const colorScheme of themes) {
    if (t.browser === 'chromium') await t.driver.page.emulateMedia({ colorScheme });
    for (const problem of await t.run(wrong, FIGURES)) problems.push(`${where}, ${colorScheme}: ${problem}`);
  }
  if (t.browser === 'chromium') await t.driver.page.emulateMedia({ colorScheme: 'light' });
}

async function everyStep(t) {
  const truth = await henTruth();
  const hand = new Hand(t, 41);
  const problems = [];
  await hand.open();
  await putAxe(t);
  const steps = [];
  const at = async (where) => {
    steps.push(where);
    await look(t, where, problems);
  };
  await at('empty board');
  await t.tapOn('[data-key="help-first"]');
  for (const page of ['take', 'trust', 'mind']) {
    await t.tapOn(`[data-key="help-${page}"]`);
    await at(`help, ${page}`);
  }
  await t.tapOn('[data-key="help-close"]');
  await hand.drop(HEN);
  await at('first question');
  for (const end of feature(truth, 'top', 'body, nose to tail').points) await hand.tap(end);
  await t.waitFor(() => window.scrieve.scene().entry);
  await at('keypad');
  await hand.type('2', '4');
  await hand.press('i-want-it');
  await hand.length(feature(truth, 'top', 'wing, tip to tip').points);
  await at('an end in hand');
  await hand.press('keep-mark');
  for (const step of ['picture', 'true-length', 'marks', 'build', 'lists']) {
    await hand.go(step);
    await t.waitFor((wanted) => window.scrieve.scene().step === wanted, step);
    await at(step);
  }
  await hand.go('marks');
  await t.tapOn('#rows .row-main');
  await t.waitFor(() => document.querySelector('.row-detail:not([hidden])'));
  await at('a size’s details');
  await t.tapOn('#tab-ratios');
  await at('ratios');
  await t.tapOn('#tab-sizes');
  await t.tapOn('[data-key="read-aloud"]');
  await t.waitFor('.aloud[open]');
  await at('read aloud');
  await t.tapOn('[data-key="aloud-close"]');
  await withFiles({ 'plan.pdf': pdfOf(Array.from({ length: 30 }, () => ({ width: 612, height: 792, content: frame(99, 99, 99, 99, 'x') }))) }, async (path) => {
    await t.dropFile(path('plan.pdf'), '#floor');
    await t.waitFor('.pages[open] .page-key canvas');
    await at('pages of a PDF');
    await t.tapOn('[data-key="no-page"]');
  });
  console.log(`     ${t.browser}: ${steps.length} views looked at`);
  if (problems.length > 0) throw new Error([...new Set(problems)].join('\n'));
}

/** The looking itself: what is planted is found, in either theme. */
async function planted(t) {
  const hand = new Hand(t, 43);
  await hand.begin();
  await putAxe(t);
  await t.run(() => {
    document.querySelector('#floor').append(document.createElement('img'));
    const names = document.querySelector('#tab-ratios');
    names.replaceChildren();
    // About 5 : 1 on white and 4 : 1 on black: enough for words in light, for figures in neither.
    document.querySelector('.row-pm').style.color = '#707070';
  });
  const problems = [];
  await look(t, 'planted', problems);
  for (const part of ['light: image-alt at', 'light: button-name at #tab-ratios', 'light: figures: color-contrast-enhanced', 'dark: color-contrast at', 'dark: figures: color-contrast-enhanced']) {
    if (!problems.some((one) => one.includes(part))) throw new Error(`not found: ${part} among ${problems.join('\n')}`);
  }
  equal(problems.some((one) => one.includes('light: color-contrast at')), false, 'words that can be read');
}

/** Run in the page: voices as a device may have them, and what they are given to say. */
function voices(list) {
  window.spoken = [];
  window.SpeechSynthesisUtterance = class {
    constructor(text) {
      this.text = text;
    }
  };
  const synthesis = Object.assign(new EventTarget(), {
    getVoices: () => list,
    speak: (saying) => window.spoken.push([saying.text, saying.voice.name]),
    cancel: () => {},
  });
  Object.defineProperty(window, 'speechSynthesis', { value: synthesis, configurable: true });
}

async function readAloud(t) {
  const hand = new Hand(t, 42);
  const truth = await hand.begin();
  await hand.length(feature(truth, 'top', 'wing, tip to tip').points);
  await hand.press('keep-mark');
  // A voice that sends what it is to say to a server is not this page's.
  await t.run(voices, [{ name: 'far', lang: 'en-US', localService: false }, { name: 'other', lang: 'de-DE', localService: true }]);
  await t.tapOn('[data-key="read-aloud"]');
  await t.waitFor(() => document.querySelector('.aloud-voiceless')?.checkVisibility());
  assert.deepEqual(await t.run(() => window.spoken), []);
  await t.screenshot('silent');
  await t.tapOn('[data-key="aloud-close"]');
  await t.waitFor(() => document.querySelector('.aloud') === null);
  await t.run(voices, [{ name: 'far', lang: 'en-US', localService: false }, { name: 'own', lang: 'en-GB', localService: true }]);
  await t.tapOn('[data-key="read-aloud"]');
  await t.waitFor(() => window.spoken.length === 1);
  await t.tapOn('[data-key="aloud-next"]');
  await t.waitFor(() => window.spoken.length === 2);
  const { height, width } = await t.run(() => document.querySelector('[data-key="aloud-next"]').getBoundingClientRect().toJSON());
  equal([height >= 104, width >= 104], [true, true], 'the key that goes on is large');
  // And round again: past the last comes the first.
  await t.tapOn('[data-key="aloud-next"]');
  await t.waitFor(() => window.spoken.length === 3);
  const spoken = await t.run(() => window.spoken);
  equal(spoken.map(([, voice]) => voice), ['own', 'own', 'own'], 'whose voice');
  equal(spoken[2], spoken[0], 'after the last comes the first');
  equal(/^1, .+, finished 24 inches, you chose it$/.test(spoken[0][0]), true, spoken[0][0]);
  equal(/^2, .+, finished \d+ and \d+ (half|quarters?|eighths?|sixteenths?) inches, good to \d+ \S+/.test(spoken[1][0]), true, spoken[1][0]);
  equal(/[⁄±″′−]/.test(spoken.flat().join()), false, `signs that no voice reads: ${spoken[1][0]}`);
  console.log(`     ${t.browser}: “${spoken[1][0]}”`);
  await t.key('Escape');
  await t.waitFor(() => document.querySelector('.aloud') === null);
}

/** Figures in words, as they are said at a bench (from memory). */
async function inWords(t) {
  await t.open();
  await t.waitFor(() => window.scrieve?.ready.then(() => true) ?? false);
  const figure = (unit, whole, num = null, den = null, feet = null, negative = false) => ({ unit, whole, num, den, feet, negative, text: 'x' });
  const cases = [
    [figure('in', '31', '5', '16'), '31 and 5 sixteenths inches'],
    [figure('in', null, '1', '32'), '1 thirty-second of an inch'],
    [figure('in', '1'), '1 inch'],
    [figure('in', '1', '1', '2'), '1 and 1 half inches'],
    [figure('ft', '3', '1', '2', '5'), '5 feet 3 and 1 half inches'],
    [figure('ft', null, null, null, '1'), '1 foot'],
    [figure('mm', '368.5'), '368.5 millimetres'],
    [figure('mm', '1'), '1 millimetre'],
    [figure('°', '45'), '45 degrees'],
    [figure('mm²', '12', null, null, null, true), 'minus 12 square millimetres'],
  ];
  const got = await t.run(async (figures) => {
    const { spokenFigure } = await import('./aloud.js');
    return figures.map((one) => spokenFigure(one));
  }, cases.map(([one]) => one));
  equal(got, cases.map(([, words]) => words), 'figures in words');
  const pms = [['± 1⁄32', 'good to 1 thirty-second'], ['−1⁄32 +1⁄16', 'from 1 thirty-second less to 1 sixteenth more'], ['± 0.4', 'good to 0.4']];
  const said = await t.run(async (texts) => {
    const { spokenPm } = await import('./aloud.js');
    return texts.map((one) => spokenPm(one));
  }, pms.map(([text]) => text));
  equal(said, pms.map(([, words]) => words), 'the ± in words');
}

export const tests = [
  { name: 'nothing is found on any step', browsers: ['chromium'], run: everyStep },
  { name: 'nor on an upright screen', browsers: ['chromium'], screen: 'portrait', run: everyStep },
  { name: 'what is planted is found', browsers: ['chromium'], run: planted },
  { name: 'sizes are read aloud by the device’s own voices', browsers: ['chromium'], run: readAloud },
  { name: 'figures in words', browsers: ['chromium'], run: inWords },
];
