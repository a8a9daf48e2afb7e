// From the outlines of a three-view to a cutting list that can be taken to the saw, by touch.
import { execFile } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { PYTHON, handedOver } from './_files.mjs';
import { ALL, Hand, built, equal, feature } from './_hand.mjs';

/** Outside readers: what stands on the pages of a PDF; the rows of a table file. */
const READ = `
import csv, io, json, sys, pypdfium2
pdf = pypdfium2.PdfDocument(sys.argv[1])
words = ' '.join(' '.join(page.get_textpage().get_text_range().split()) for page in pdf)
rows = list(csv.reader(io.StringIO(open(sys.argv[2], encoding='utf-8-sig', newline='').read(), newline='')))
rows = [[cell.replace('\\u00a0', ' ') for cell in row] for row in rows]
print(json.dumps({'pages': len(pdf), 'words': words, 'rows': rows}))
`;

/** The list on paper and as a table file, as others read them. */
async function readBoth(pdf, table) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-list-'));
  try {
    const files = [join(dir, 'list.pdf'), join(dir, 'list.csv')];
    await writeFile(files[0], pdf);
    await writeFile(files[1], table);
    const { stdout } = await promisify(execFile)(PYTHON, ['-c', READ, ...files]);
    return JSON.parse(stdout);
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

/** "31 5⁄16 in" in mm. */
function mm(text) {
  const [whole, part] = text.replace(' in', '').split(' ');
  const figure = (one) => { const [a, b = '1'] = one.split('\u2044'); return Number(a) / Number(b); };
  return 25.4 * (figure(whole) + (part ? figure(part) : 0));
}

/** What a key of the first part says. @param {Hand} hand */
async function firstPart(hand) {
  const { parts } = await hand.scene();
  return parts[0];
}

/** What stands under a part, line by line. @param {import('../../www/types/scene').PartShown} part */
const linesOf = (part) => part.cut.map((line) => line.map(({ text }) => text).join(' '));

/** Run in the page: pieces of the lists with a figure in them that lead nowhere, cautions left out: their figures are rules. */
function untraced() {
  const bare = [...document.querySelectorAll('.part-cut p > span, #cut-below p > span')].map((node) => node.dataset.text ?? node.textContent);
  return bare.filter((text) => /\d/.test(text));
}

/** Run in the page: a row of the size board that is open and in sight. */
function openRow() {
  const row = document.querySelector('.row-main[aria-expanded="true"]')?.getBoundingClientRect();
  return row ? row.bottom > 0 && row.top < innerHeight : false;
}

/** A part is made of white pine, with dados at its ends. */
async function joined(hand, part) {
  const { t } = hand;
  await t.tapOn(`${part} [data-key="part-stock"]`);
  await hand.press('goods-softwood');
  await hand.press('species-white-pine');
  await hand.press('part-done');
  await t.tapOn(`${part} [data-key="part-ends"]`);
  await hand.press('joint-dado');
  await hand.press('part-done');
}

/** Every figure of the list leads to where it came from by one touch. */
async function traced(t) {
  const hand = new Hand(t);
  await hand.outlined();
  const { id: mark } = await firstPart(hand);
  const part = `[data-part="${mark}"]`;
  await joined(hand, part);
  const bare = (await t.run(untraced)).filter((text) => !/caution|cylinder|toys|standard/i.test(text));
  equal(bare, [], 'figures that lead nowhere');
  const { cut } = await firstPart(hand);
  const pieces = cut.flat();
  const touch = (what) => t.tapOn(`${part} .part-cut p:nth-child(${1 + cut.findIndex((line) => line.some(what))}) .traced:nth-child(${1 + cut.find((line) => line.some(what)).findIndex(what)})`);
  for (const piece of pieces) {
    await touch((one) => one === piece);
    const { entry, detail } = await hand.scene();
    const leads = piece.leads.kind === 'select' ? detail?.mark === piece.leads.mark : entry !== null;
    equal(leads, true, `${piece.text} leads to ${JSON.stringify(piece.leads)}, but ${JSON.stringify({ entry: entry?.title, detail: detail?.mark })} is open`);
    if (entry) await hand.press('part-done');
    else equal(await t.run(openRow), true, `the row that ${piece.text} comes from is in sight`);
  }
  await t.screenshot('traced');
  // What to buy leads to the stock.
  await t.tapOn('#cut-below .traced');
  equal((await hand.scene()).entry?.title, 'What is it made of?', 'what is to be bought');
  console.log(`     ${t.browser}: ${pieces.length} figures of a part traced, a touch each`);
}

async function cuttingList(t) {
  const hand = new Hand(t);
  const truth = await hand.outlined();
  await t.waitFor(() => window.scrieve.planned());
  const first = await firstPart(hand);
  const { id: mark } = first;
  const cut = linesOf(first);
  // Before anyone chose: no thickness, and the reason.
  equal(cut.some((line) => /thickness not chosen/.test(line)) && cut.some((line) => /what it is made of/.test(line)), true, cut.join(' | '));
  const part = `[data-part="${mark}"]`;
  await joined(hand, part);
  await t.screenshot('cutting-list');
  const pdf = await handedOver(t, 'cutting-list');
  const table = await handedOver(t, 'cutting-table');
  console.log(`     ${t.browser}: a cutting list in ${t.touches} touches, ${(pdf.bytes.length / 1000).toFixed(0)} kB`);
  equal([/\.pdf$/.test(pdf.name), /\.csv$/.test(table.name)], [true, true], `${pdf.name} ${table.name}`);
  const { words, rows } = await readBoth(pdf.bytes, table.bytes);
  const [head, ...parts] = rows;
  equal(parts.length, (await hand.scene()).parts.length, 'rows of the table');
  const cell = (row, name) => row[head.indexOf(name)];
  // The top view's outline is as long as its wing; a sixteenth is the step, half of it the rounding.
  const wing = built(feature(truth, 'top', 'wing, tip to tip').mm);
  const longest = parts.find((row) => Math.abs(mm(cell(row, 'length')) - wing) < 1.6);
  if (!longest) throw new Error(`no part is ${wing / 25.4} in long: ${parts.map((row) => cell(row, 'length'))}`);
  const [row] = parts;
  equal(mm(cell(row, 'cut to length')).toFixed(6), (mm(cell(row, 'length')) + 12.7).toFixed(6), 'two dadoes of a quarter');
  equal(cell(row, 'thickness'), '3\u20444 in', 'thickness');
  equal(/thickness assumed, as A/.test(cell(parts[1], 'where sizes come from')), true, parts[1].join(' | '));
  for (const said of ['Cutting list', cell(row, 'cut to length'), 'eastern white pine', 'thickness chosen', 'thickness assumed, as A', 'board feet', 'Gloves off']) {
    if (!words.includes(said)) throw new Error(`the sheet doesn't say ${said}: ${words}`);
  }
  // Each touch is taken back by itself.
  await t.tapOn('#undo');
  const before = await firstPart(hand);
  equal(linesOf(before).some((line) => /dado/.test(line)), false, linesOf(before).join(' | '));
}

export const tests = [
  { name: 'every figure of the list is traced by one touch', browsers: ['chromium', 'webkit'], run: traced },
  { name: 'a cutting list from a three-view, by touch', browsers: ALL, run: cuttingList },
  { name: 'a cutting list, upright', browsers: ['chromium'], screen: 'portrait', run: cuttingList },
];
