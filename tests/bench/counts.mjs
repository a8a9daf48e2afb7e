// How much a person has to touch and to read, as tests/page/ counts it in Chromium on a tablet held level:
// a printed three-view, from an empty board. Everything counts: two touches for the system's chooser, each digit.
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT } from './_figures.mjs';

export const title = 'What a person touches and reads (Marsh Hen, Chromium)';

/** What the tests print, and what each number in it is. */
const SAID = [
  {
    line: /chromium: body after (\d+) touches and (\d+) words; .* after (\d+)$/m,
    rows: [
      ['touches to the first size, found by the chooser'],
      ['words read before the first size, found by the chooser', 30],
      ['touches to the first size and three more', 25],
    ],
  },
  {
    line: /the first size after (\d+) touches and (\d+) words/,
    rows: [
      ['touches to the first size, from the drop of the picture'],
      ['words read before the first size, from the drop', 30],
    ],
  },
  {
    line: /three patterns on \d+ sheets in (\d+) touches/,
    rows: [['touches to three printed patterns, found by the chooser', 16]],
  },
  {
    line: /a cutting list in (\d+) touches/,
    rows: [['touches to a cutting list of those three parts, with a stock and a joint chosen']],
  },
];

/** The tests that print them. */
const RUNS = [['--quick', 'hen'], ['patterns', 'from a three-view, by touch'], ['cutting', 'from a three-view, by touch']];

/** @param {string} told what the tests printed */
export function counted(told) {
  return SAID.flatMap(({ line, rows }) => {
    const found = told.match(line);
    if (!found) throw new Error(`the page tests didn't print ${line}; they printed\n${told}`);
    return rows.map(([what, aim], at) => ({ what, got: Number(found[at + 1]), unit: what.split(' ')[0], aim }));
  });
}

export async function bench() {
  if (!existsSync(join(ROOT, 'tests/page/hen.mjs'))) return 'not counted: tests/page/hen.mjs is not there';
  const told = RUNS.map((words) => {
    const { stdout, stderr, status } = spawnSync(process.execPath, ['tests/browser/run.mjs', '--browser', 'chromium', ...words], { cwd: ROOT, encoding: 'utf8' });
    if (status !== 0) throw new Error(`the page tests failed:\n${stdout}${stderr}`);
    return stdout;
  });
  return counted(told.join('\n'));
}
