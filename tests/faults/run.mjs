// Everything that keeping must survive, tried one after the other in Chromium against dist/; prints the table of README.md.
//   node tests/faults/run.mjs [--kills N] [--seed N] [WORD...]      10 kills are usual, 200 were promised
import { parseArgs } from 'node:util';
import { inBrowser } from './_bench.mjs';
import { killed } from './kill.mjs';
import * as faults from './faults.mjs';

const { values: options, positionals: words } = parseArgs({
  allowPositionals: true,
  options: { kills: { type: 'string', default: '10' }, seed: { type: 'string', default: '1' } },
});

const ALL = [
  ['the browser’s process is killed at a random instant', (t) => killed(t, Number(options.kills), Number(options.seed))],
  ['no room left, at each write of a first job in turn', faults.fullAtEachWrite],
  ['the database can’t be opened', faults.cannotOpen],
  ['a record in it is damaged', faults.corrupted],
  ['a database of the version before', faults.oldDatabase],
  ['a Worker is killed at its work', faults.workersKilled],
  ['the network is cut', faults.networkCut],
  ['the clock is set back, and leaps', faults.clockBackwards],
  ['a thousand jobs', faults.thousandJobs],
  ['a long undo history', faults.longUndo],
];

const rows = [];
let failed = 0;
for (const [name, run] of ALL.filter(([one]) => words.every((word) => one.includes(word)))) {
  const begun = Date.now();
  try {
    const { tried, survived, note = '' } = await inBrowser(`fault-${name}`, run);
    rows.push([name, tried, survived, tried - survived, note]);
  } catch (error) {
    failed += 1;
    rows.push([name, '', '', 'at least 1', error.message.split('\n')[0]]);
    console.error(error);
  }
  console.error(`${name}: ${((Date.now() - begun) / 1000).toFixed(1)} s`);
}
console.log('\n| fault | tried | survived | lost | |\n|---|--:|--:|--:|---|');
for (const row of rows) console.log(`| ${row.join(' | ')} |`);
console.log(`\n${rows.length - failed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);
