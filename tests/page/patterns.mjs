// Full-size patterns by touch: from a printed three-view to the sheets, every touch counted.
import { execFile } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { PYTHON, handedOver } from './_files.mjs';
import { ALL, Hand, equal } from './_hand.mjs';

/** From the issue in hand: three outlined patterns, the chooser, figures and the paper's size counted. */
const MOST_TOUCHES = 16;

/** What an outside reader of PDFs finds: pages, their sizes in mm, and their words. */
const READ = `
import json, sys, pypdfium2
pdf = pypdfium2.PdfDocument(sys.argv[1])
pages = []
for page in pdf:
    text = page.get_textpage().get_text_range()
    pages.append({'size': [v * 25.4 / 72 for v in page.get_size()], 'text': text})
print(json.dumps(pages))
`;

/** The pages of a PDF. */
async function pagesOf(bytes) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-pdf-'));
  try {
    const file = join(dir, 'sheets.pdf');
    await writeFile(file, bytes);
    const { stdout } = await promisify(execFile)(PYTHON, ['-c', READ, file]);
    return JSON.parse(stdout);
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

/** The body is wanted 24 in long; the outlines of all views are taken; the paper is Letter; the sheets are made. */
async function threePatterns(t, hand) {
  await hand.outlined();
  await hand.press('paper');
  await hand.press('paper-letter');
  const plan = await t.waitFor(() => window.scrieve.planned());
  const { name, bytes } = await handedOver(t, 'pdf');
  return { plan, name, bytes };
}

async function patterns(t) {
  const hand = new Hand(t);
  const { plan, name, bytes } = await threePatterns(t, hand);
  console.log(`     ${t.browser}: three patterns on ${plan.sheets.length} sheets in ${t.touches} touches, ${(bytes.length / 1000).toFixed(0)} kB`);
  equal(plan.wholes.length, 3, 'patterns');
  if (t.touches > MOST_TOUCHES) throw new Error(`${t.touches} touches, at most ${MOST_TOUCHES} were to do`);
  equal(name.endsWith('.pdf'), true, name);
  const pages = await pagesOf(bytes);
  equal(pages.length, plan.sheets.length, 'pages');
  for (const { size, text } of pages) {
    // ANSI/ASME Y14.1: A is 8.5 by 11 in; either way round.
    const [short, long] = [...size].sort((a, b) => a - b);
    if (Math.abs(short - 215.9) > 0.05 || Math.abs(long - 279.4) > 0.05) throw new Error(`a page of ${size} mm`);
    if (!/FULL SIZE/.test(text)) throw new Error(`a page doesn't say that it is full size: ${text}`);
  }
  await t.screenshot('plan');
}

/** ISO/IEC 7810: the long side of a bank card, mm. */
const CARD = 85.6;

/** A part on the glass at full size: after a card has been matched, it is as large in cards as the file says in mm. */
/**
 * How two PDFs compare, page by page, both drawn at 200 dots to the inch: sizes; of the straight lines of the first that are 12 mm
 * long or more the share that is dark within 0.3 mm in the second, and the same of all that is dark.
 */
const COMPARE = `
import json, sys
import numpy as np, pypdfium2
from scipy.ndimage import binary_dilation, binary_opening
def dark(page):
    return np.asarray(page.render(scale=200 / 72, grayscale=True).to_pil()) < 110
files = [pypdfium2.PdfDocument(name) for name in sys.argv[1:3]]
out = []
for one, other in zip(*files):
    a, b = dark(one), dark(other)
    h, w = min(a.shape[0], b.shape[0]), min(a.shape[1], b.shape[1])
    a, b = a[:h, :w], b[:h, :w]
    near = binary_dilation(b, iterations=2)
    long = binary_opening(a, np.ones((1, 95))) | binary_opening(a, np.ones((95, 1)))
    shares = [float((of & near).sum() / of.sum()) for of in (long, a)]
    out.append({'sizes': [[v * 25.4 / 72 for v in p.get_size()] for p in (one, other)], 'shares': shares})
print(json.dumps({'pages': [len(f) for f in files], 'each': out}))
`;

/** Sheets printed straight from the page are as those of the file. */
async function printed(t) {
  const hand = new Hand(t);
  const { bytes } = await threePatterns(t, hand);
  await t.run(() => {
    window.print = () => {
      window.printed = true;
    };
  });
  await t.tapOn('[data-key="print-sheets"]');
  await t.waitFor(() => window.printed === true);
  const paper = await t.driver.page.pdf({ preferCSSPageSize: true, printBackground: true });
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-print-'));
  try {
    const [file, print] = [join(dir, 'file.pdf'), join(dir, 'print.pdf')];
    await Promise.all([writeFile(file, bytes), writeFile(print, paper)]);
    const { stdout } = await promisify(execFile)(PYTHON, ['-c', COMPARE, file, print]);
    const { pages, each } = JSON.parse(stdout);
    equal(pages[1], pages[0], 'pages');
    const [lines, all] = [0, 1].map((k) => (100 * Math.min(...each.map(({ shares }) => shares[k]))).toFixed(1));
    console.log(`     printed from the page: ${pages[1]} sheets, within 0.3 mm at least ${lines} % of the file's straight lines, ${all} % of all it draws`);
    for (const { sizes: [a, b], shares: [straight, dark] } of each) {
      if (a.some((v, i) => Math.abs(v - b[i]) > 0.2)) throw new Error(`a page of ${b} mm, not ${a}`);
      if (straight < 0.98) throw new Error(`${straight} of the file's straight lines`);
      // Writing is set in the system's own type here, so that not all of it lies on the file's.
      if (dark < 0.7) throw new Error(`${dark} of what the file draws`);
    }
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
  await t.run(() => window.dispatchEvent(new Event('afterprint')));
  equal(await t.count('.on-paper-sheet'), 0, 'sheets left behind');
}

async function onGlass(t) {
  const hand = new Hand(t);
  await hand.outlined();
  await t.waitFor(() => window.scrieve.planned());
  await t.tapOn('[data-key="glass"]');
  const frame = () => t.run(() => document.querySelector('.glass-frame')?.getBoundingClientRect().width ?? null);
  await t.waitFor(() => document.querySelector('.glass-frame'));
  const begun = await frame();
  for (const way of ['larger', 'larger', 'larger', 'smaller', 'larger']) await t.tapOn(`[data-key="glass-${way}"]`);
  await t.screenshot('card');
  const card = await frame();
  if (!(card > 1.15 * begun)) throw new Error(`three steps made the frame ${card} of ${begun} px`);
  await t.tapOn('[data-key="glass-fits"]');
  await t.waitFor(() => document.querySelector('.glass-sheet:not([hidden])')?.complete);
  await t.screenshot('part');
  // The browser itself reads the file's size, in whole px of 96 to the inch; some only where it isn't shown at another.
  const looked = () => t.run(async () => {
    const sheet = document.querySelector('.glass-sheet');
    const plain = new Image();
    plain.src = sheet.src;
    await plain.decode();
    return { width: sheet.getBoundingClientRect().width, alt: sheet.alt, mm: (plain.naturalWidth * 25.4) / 96 };
  });
  const names = [];
  for (let i = 0; i < 3; i += 1) {
    await t.waitFor(() => document.querySelector('.glass-sheet').complete);
    const { width, alt, mm } = await looked();
    names.push(alt);
    // The file's size is told in whole px, by some browsers without what is left over; both widths in 64ths of a px.
    const coarse = 25.4 / 96 + mm / card / 32;
    if (Math.abs(width / card * CARD - mm) > coarse) throw new Error(`${alt} is ${width / card * CARD} mm on the glass, ${mm} in its file`);
    await t.tapOn('[data-key="glass-next"]');
  }
  equal(new Set(names).size, 3, 'parts');
  await t.tapOn('.glass-keys:not([hidden]) [data-key="glass-close"]');
  await t.waitFor(() => !document.querySelector('.glass'));
  // What was matched is kept.
  await t.tapOn('[data-key="glass"]');
  await t.waitFor(() => document.querySelector('.glass-sheet:not([hidden])')?.complete);
  console.log(`     ${t.browser}: ${names.join(', ')}; ${(card / CARD).toFixed(3)} px a mm`);
}

export const tests = [
  { name: 'three patterns from a three-view, by touch', browsers: ALL, run: patterns },
  { name: 'sheets printed straight from the page', browsers: ['chromium'], run: printed },
  { name: 'a part at full size on the glass', browsers: ['chromium', 'webkit'], run: onGlass },
  {
    name: 'three patterns, upright',
    browsers: ['chromium'],
    screen: 'portrait',
    run: patterns,
  },
];
