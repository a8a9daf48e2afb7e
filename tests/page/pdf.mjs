// Pages of PDFs as pictures: chosen from small ones, drawn at their own size on paper, offline as well; and files that are
// locked, broken or very long. The PDFs are made by hand (_pdf.mjs), so that every length on paper is known.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
import { withFiles } from './_files.mjs';
import { ALL, Hand, equal, unplugged, within } from './_hand.mjs';
import { frame, pdfOf } from './_pdf.mjs';

const REAL = join(ROOT, 'tests/real');
/** A point of a PDF is 1/72 in, an inch 25.4 mm. */
const MM = 25.4 / 72;
/** Pixels to the inch that a PNG of 11811 to the metre has. */
const DOTS = 11_811 * 0.0254;

/** US Letter, lying. */
const LETTER = { width: 792, height: 612 };
const A0 = { width: 841 / MM, height: 1189 / MM };

/** A bookcase of 36 by 24 in at 1:12, so 3 by 2 in on paper, between two other pages. */
const PLAN = pdfOf([
  { width: 612, height: 792, content: frame(100, 300, 200, 200, 'Cover') },
  { ...LETTER, content: frame(144, 200, 216, 144, 'Front, 1:12') },
  { ...LETTER, content: frame(60, 60, 500, 400, 'Side, 1:12') },
]);

/** A place of a page in points, from its lower left, as picture px. @param {number} height of the page, points */
const placeOf = ([x, y], height, dots = DOTS) => [(x * dots) / 72, ((height - y) * dots) / 72];

const refused = (t) => t.run(() => (document.querySelector('#refused').hidden ? '' : document.querySelector('#refused').textContent));
/** The page is drawn small. */
const shown = (t, number) => t.waitFor((n) => (document.querySelector(`[data-page="${n}"] canvas`)?.width ?? 0) > 0, number);

/** Finds a file by the system's chooser, and waits for its pages. */
async function find(t, file) {
  await t.chooseFile(file, '#file-picture', '[data-key="find-picture"]');
  await t.waitFor('.pages[open] .page-key');
}

/** Tells the drawing's own scale. @param {string[]} keys on the keypad */
async function drawnAt(hand, keys) {
  await hand.go('picture');
  await hand.press('drawing-scale');
  await hand.type(...keys);
  await hand.t.tapOn('#entry-ways .key.main');
  await hand.t.waitFor(() => !window.scrieve.scene().entry);
  await hand.go('marks');
}

async function measured(hand, ends, mm, what) {
  for (const [x, y] of ends) {
    // A little off, and then slid under the magnified window: what was only touched is as good as a finger.
    await hand.tap([x + 24, y + 18]);
    await hand.t.waitFor(() => window.scrieve.scene().hand != null);
    await hand.slideTo([x, y]);
  }
  const { real } = await hand.row(await hand.newest());
  within(real, mm, what);
  // Half a per cent is what a size on paper is trusted to; without it nothing would be told.
  if (real.plus > 0.006 * mm) throw new Error(`${what}: ${real.pm} tells nothing`);
  console.log(`     ${hand.t.browser}: ${what} ${mm.toFixed(2)} mm: ${real.value.toFixed(3)} ± ${real.plus.toFixed(3)}`);
}

async function aPlan(t) {
  await withFiles({ 'plan.pdf': PLAN }, async (path) => {
    const hand = new Hand(t, 31);
    await hand.open();
    await find(t, path('plan.pdf'));
    for (const number of [1, 2, 3]) await shown(t, number);
    equal(await t.count('#pages-number'), 0, 'a field for the number of one of three pages');
    await t.screenshot('pages');
    await t.tapOn('[data-page="2"]');
    await hand.onBoard();
    const [picture] = (await hand.scene()).pictures;
    equal([picture.name, picture.width, picture.height], ['plan.pdf, page 2', 3300, 2550], 'the picture');
    await drawnAt(hand, ['1', '2']);
    const at = (x, y) => placeOf([x, y], LETTER.height);
    await measured(hand, [at(144, 272), at(360, 272)], 36 * 25.4, 'a bookcase at 1:12, across');
    await measured(hand, [at(252, 200), at(252, 344)], 24 * 25.4, 'a bookcase at 1:12, high');
    await t.screenshot('measured');
    // The job keeps the picture, not the PDF: it is there after a reload.
    await t.run(() => window.scrieve.kept());
    await t.reload();
    await hand.ready();
    await hand.onBoard();
    equal((await hand.scene()).rows.length, 2, 'rows after a reload');
  });
}

/** Whose figures were written by whoever drew it (tests/real). It has one page: nothing is to be chosen. */
async function aStranger(t) {
  const { figures } = JSON.parse(await readFile(join(REAL, 'figures.json'), 'utf8'));
  const figure = (name) => figures.find((one) => one.name === name);
  const hand = new Hand(t, 32);
  await hand.open();
  await t.chooseFile(join(REAL, 'hat-board-mechanical.pdf'), '#file-picture', '[data-key="find-picture"]');
  await hand.onBoard();
  const [picture] = (await hand.scene()).pictures;
  // A4, lying: 297 by 210 mm.
  equal([picture.name, picture.width, picture.height], ['hat-board-mechanical.pdf', 3508, 2480], 'the picture');
  const across = figure('board, across');
  await hand.length(across.points);
  await hand.type(...String(across.mm), 'mm');
  await hand.press('it-is');
  for (const name of ['board, high', 'holes, up and down', 'slot, from the left']) {
    const { points, mm } = figure(name);
    await hand.length(points);
    const { real } = await hand.row(await hand.newest());
    within(real, mm, name);
    console.log(`     ${t.browser}: ${name} ${mm} mm: ${real.value.toFixed(3)} ± ${real.plus.toFixed(3)}`);
  }
}

async function bad(t) {
  const hand = new Hand(t, 33);
  const files = {
    'locked.pdf': [pdfOf([{ ...LETTER, content: frame(9, 9, 99, 99, 'secret') }], { password: 'oak' }), /password/],
    'broken.pdf': [Buffer.from('%PDF-1.7\nand nothing that a PDF has'), /damaged/],
    'short.pdf': [PLAN.subarray(0, 300), /damaged/],
    'none.pdf': [pdfOf([]), /damaged/],
  };
  await withFiles(Object.fromEntries(Object.entries(files).map(([name, [bytes]]) => [name, bytes])), async (path) => {
    await hand.open();
    for (const [name, [, words]] of Object.entries(files)) {
      await t.dropFile(path(name), '#floor');
      await t.waitForText('#refused', name);
      await t.waitFor(() => document.querySelector('#busy').hidden);
      const text = await refused(t);
      if (!words.test(text) || !/as it was/.test(text)) throw new Error(`${name}: ${text}`);
      equal([(await hand.scene()).pictures.length, await t.count('dialog[open]')], [0, 0], name);
    }
  });
}

async function many(t) {
  const pages = Array.from({ length: 1000 }, (_, i) => ({ ...LETTER, content: frame(50, 50, 100 + i / 10, 300, `Page ${i + 1}`) }));
  await withFiles({ 'catalogue.pdf': pdfOf(pages) }, async (path) => {
    const hand = new Hand(t, 34);
    await hand.open();
    await find(t, path('catalogue.pdf'));
    const title = await t.text('#pages-title');
    if (!/1000/.test(title)) throw new Error(title);
    await shown(t, 1);
    // By its number, as one would type it anywhere.
    await t.tapOn('#pages-number');
    for (const digit of '777') await t.key(digit);
    await t.tapOn('[data-key="show-page"]');
    await shown(t, 777);
    await t.screenshot('many');
    const drawn = await t.count('.page-key canvas');
    if (drawn > 60) throw new Error(`${drawn} small pages are kept at once`);
    // By the keyboard: one back, and a number typed.
    await t.key('ArrowLeft');
    equal(await t.run(() => document.activeElement.dataset.page), '776', 'after the left arrow');
    for (const digit of '512') await t.key(digit);
    equal(await t.run(() => document.activeElement.dataset.page), '512', 'after typing 512');
    await t.key('Enter');
    await hand.onBoard();
    const [picture] = (await hand.scene()).pictures;
    equal(picture.name, 'catalogue.pdf, page 512', 'the picture');
    await drawnAt(hand, ['1']);
    const wide = 100 + 51.1;
    await measured(hand, [placeOf([50, 200], 612), placeOf([50 + wide, 200], 612)], wide * MM, 'page 512, across');
  });
}

async function offline(t) {
  await withFiles({ 'plan.pdf': PLAN }, async (path) => {
    const hand = new Hand(t, 35);
    const asked = await unplugged(t, hand);
    await find(t, path('plan.pdf'));
    await shown(t, 3);
    await t.tapOn('[data-page="3"]');
    await hand.onBoard();
    equal((await hand.scene()).pictures[0].name, 'plan.pdf, page 3', 'the picture');
    equal(t.server.requests.length, asked, 'requests that got through');
  });
}

/** Run in the page: everything that is asked of any network, or may not be. */
function watchAsked() {
  window.blocked = [];
  document.addEventListener('securitypolicyviolation', (event) => window.blocked.push(`${event.violatedDirective} ${event.blockedURI}`));
}

async function elsewhere(t) {
  const asked = [];
  t.driver.context.on('request', (request) => asked.push(request.url()));
  // Letters that the file doesn't hold, signs as well, and a table of letters that isn't here.
  const signs = pdfOf([{ ...LETTER, content: frame(144, 200, 216, 144, 'Words') }]).toString('latin1')
    .replace('/Subtype/Type1/BaseFont/Helvetica>>', '/Subtype/Type1/BaseFont/Symbol   >>');
  const eastern = signs.replace('/Subtype/Type1/BaseFont/Symbol   >>',
    '/Subtype/Type0/BaseFont/X/Encoding/90ms-RKSJ-H/DescendantFonts[<</Type/Font/Subtype/CIDFontType0/BaseFont/X/CIDSystemInfo<</Registry(Adobe)/Ordering(Japan1)/Supplement 2>>/FontDescriptor<</Type/FontDescriptor/FontName/X/Flags 4/FontBBox[0 0 1 1]/ItalicAngle 0/Ascent 1/Descent 0/CapHeight 1/StemV 1>>>>]>>');
  await withFiles({ 'signs.pdf': Buffer.from(signs, 'latin1'), 'eastern.pdf': Buffer.from(eastern, 'latin1') }, async (path) => {
    const hand = new Hand(t, 36);
    await hand.open();
    await t.run(watchAsked);
    for (const [count, name] of [[1, 'signs.pdf'], [2, 'eastern.pdf']]) {
      await t.dropFile(path(name), '#floor');
      await t.waitFor((n) => window.scrieve.scene().pictures.length === n && document.querySelector('#busy').hidden, count);
      equal(await t.count('[data-note^="letters-"]'), count - 1, `what is said of the letters of ${name}`);
    }
    equal(asked.filter((url) => !url.startsWith(t.url) && !/^(blob|data):/.test(url)), [], 'requests elsewhere');
    equal(await t.run(() => window.blocked), [], 'what the policy forbade');
  });
}

async function giant(t) {
  const files = {
    'a0.pdf': pdfOf([{ ...A0, content: `0.5 w 100 100 m 100 ${100 + 1000 / MM} l S ${frame(300, 300, 500 / MM, 700 / MM, 'A0')}` }]),
    'odd.pdf': pdfOf([{ width: 200, height: 300, content: frame(50, 50, 100, 200, 'turned'), unit: 2, turn: 90 }]),
  };
  await withFiles(files, async (path) => {
    const hand = new Hand(t, 37);
    await hand.open();
    // Stopped: nothing has come.
    await t.chooseFile(path('a0.pdf'), '#file-picture', '[data-key="find-picture"]');
    await t.tapOn('[data-key="stop-page"]');
    await t.waitFor(() => document.querySelector('[data-key="stop-page"]') === null && document.querySelector('#busy').hidden);
    equal([(await hand.scene()).pictures.length, await refused(t)], [0, ''], 'after it was stopped');
    await t.chooseFile(path('a0.pdf'), '#file-picture', '[data-key="find-picture"]');
    const begun = performance.now();
    t.patience = 120_000;
    await t.waitFor(() => document.querySelector('[data-key="stop-page"]') !== null);
    await t.waitFor(() => document.querySelector('[data-key="stop-page"]') === null);
    console.log(`     ${t.browser}: A0 is drawn in ${((performance.now() - begun) / 1000).toFixed(1)} s`);
    await hand.onBoard();
    const [{ width, height }] = (await hand.scene()).pictures;
    console.log(`     ${t.browser}: A0 is drawn with ${width} by ${height} px`);
    if (width * height > 48.1e6 || width * height < 44e6) throw new Error(`A0 has ${width} by ${height} px`);
    await drawnAt(hand, ['1']);
    const dots = (height / 1189) * 25.4;
    const at = (x, y) => placeOf([x, y], A0.height, dots);
    await measured(hand, [at(300, 900), at(300 + 500 / MM, 900)], 500, 'half a metre on A0');
    await t.dropFile(path('odd.pdf'), '#floor');
    await t.waitFor(() => window.scrieve.scene().pictures.length === 2);
    const odd = (await hand.scene()).pictures[1];
    // Twice 300 by 200 points, a quarter turned: 8.33 by 5.56 in.
    equal(Math.abs(odd.width / odd.height - 1.5) < 0.001 && odd.width >= 2500, true, `turned: ${odd.width} by ${odd.height}`);
  });
}

/**
 * Run in the page: a sheet drawn, opened as any picture is, and one of its upright lines looked at from end to end.
 * @returns {Promise<{ dots: number[], first: number, last: number, gaps: number, lefts: number }>} rows of the line's ends, how many
 *   rows between have none of it, and how many different ways it lies across
 */
async function lookAlong(base64, x) {
  const [{ Pdf }, { openPicture }] = await Promise.all([import('./pdf.js'), import('./picture.js')]);
  const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  const pdf = await Pdf.open(new Blob([bytes]), 'a0.pdf');
  const { freshCore } = await import('./own.js');
  const { Desk } = await freshCore('desk');
  const desk = new Desk(await (await fetch('./words/en.json')).text());
  const blob = await pdf.draw(1, (...size) => desk.fineness(...size), () => {}, new AbortController().signal);
  pdf.close();
  const picture = await openPicture(blob, 'a0');
  const dots = picture.header.resolution;
  const columns = 8;
  const from = Math.round((x / 72) * dots[0]) - columns / 2;
  const rows = [];
  for (let y = 0; y < picture.height; y += 512) {
    const high = Math.min(512, picture.height - y);
    const window = await picture.luminance(from, y, columns, high);
    for (let row = 0; row < high; row += 1) rows.push([...window.subarray(row * columns, (row + 1) * columns)]);
  }
  picture.close();
  const inked = rows.map((row) => Math.min(...row) < 200);
  const [first, last] = [inked.indexOf(true), inked.lastIndexOf(true)];
  // The last and the first row may be half covered.
  const shapes = rows.slice(first + 1, last).map((row) => row.join());
  return { dots, first, last, gaps: inked.slice(first, last).filter((one) => !one).length, lefts: [...new Set(shapes)].length };
}

/** Bands of a sheet that is drawn in several meet without a gap or a step. */
async function seams(t) {
  await t.open();
  const sheet = pdfOf([{ ...A0, content: `1 w 100 100 m 100 ${100 + 1000 / MM} l S` }]);
  const { dots, first, last, gaps, lefts } = await t.run(lookAlong, sheet.toString('base64'), 100);
  equal([gaps, lefts], [0, 1], 'gaps, and shapes of the line across');
  // From 1189 mm less 100 points less a metre, to 1189 mm less 100 points, from above.
  const [top, bottom] = [A0.height - 100 - 1000 / MM, A0.height - 100].map((points) => (points / 72) * dots[1]);
  equal([Math.abs(first - top) <= 1, Math.abs(last + 1 - bottom) <= 1], [true, true], `ends at ${first} and ${last + 1}, to be at ${top} and ${bottom}`);
  console.log(`     ${t.browser}: a metre is ${last + 1 - first} px, ${(bottom - top).toFixed(1)} by the resolution that its file tells`);
}

async function noneWanted(t) {
  await withFiles({ 'plan.pdf': PLAN }, async (path) => {
    const hand = new Hand(t, 38);
    await hand.open();
    for (const leave of [() => t.key('Escape'), () => t.tapOn('[data-key="no-page"]')]) {
      await find(t, path('plan.pdf'));
      await leave();
      await t.waitFor(() => document.querySelector('.pages') === null && document.querySelector('#busy').hidden);
      equal([(await hand.scene()).pictures.length, await refused(t)], [0, ''], 'after none was wanted');
    }
  });
}

export const tests = [
  { name: 'a page of a plan is measured by its scale', browsers: ALL, run: aPlan },
  { name: 'and chosen on an upright screen', browsers: ['chromium'], screen: 'portrait', run: aPlan },
  { name: 'a stranger’s drawing as it came', browsers: ['chromium'], run: aStranger },
  { name: 'what is locked or broken is told', browsers: ALL, run: bad },
  { name: 'one of a thousand pages', browsers: ['chromium'], run: many },
  { name: 'with the network pulled', browsers: ['chromium'], run: offline },
  { name: 'asks for nothing elsewhere, and tells of letters it lacks', browsers: ['chromium'], run: elsewhere },
  { name: 'a giant sheet, and one that is turned', browsers: ['chromium'], run: giant },
  { name: 'a giant sheet is whole across its seams', browsers: ['chromium'], run: seams },
  { name: 'none of the pages', browsers: ['chromium'], run: noneWanted },
];
