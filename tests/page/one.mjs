// The one-file edition, opened from a disk: a whole first job, with nothing asked of anyone.
import { cp, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { DIST } from '../browser/context.mjs';
import { handedOver } from './_files.mjs';
import { BODY, HEN, Hand, equal, feature, henTruth, within } from './_hand.mjs';

async function fromDisk(t) {
  // A folder of its own: nothing else of the page lies beside it.
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-one-'));
  try {
    await cp(join(DIST, 'scrieve.html'), join(dir, 'scrieve.html'));
    await t.server.stop();
    await t.driver.goto(pathToFileURL(join(dir, 'scrieve.html')).href);
    const hand = new Hand(t, 31);
    await hand.ready();
    equal(await t.run(() => location.protocol), 'file:', 'where it comes from');
    const truth = await henTruth();
    await hand.drop(HEN);
    await hand.wantBody(truth);
    const { points, mm } = feature(truth, 'top', 'wing, tip to tip');
    await hand.length(points);
    within((await hand.row(await hand.newest())).finished, (mm / 184) * BODY, 'wing');
    await hand.press('keep-mark');
    await hand.press('tool-outline');
    await hand.press('take-outlines');
    await hand.go('lists');
    await t.run(() => window.scrieve.kept().then(() => true));
    const { bytes } = await handedOver(t, 'pdf');
    equal(bytes.subarray(0, 5).toString('latin1'), '%PDF-', 'the patterns');
    const rows = (await hand.scene()).rows.map((row) => row.finished?.value ?? null);
    await t.screenshot('lists');
    // It keeps jobs as well, where the browser lets a file on a disk keep anything.
    const kept = await t.run(() => window.scrieve.sure().state);
    console.log(`     ${t.browser}: jobs are ${kept}`);
    if (kept === 'kept') {
      await t.reload();
      await hand.ready();
      await hand.onBoard();
      equal((await hand.scene()).rows.map((row) => row.finished?.value ?? null), rows, 'sizes after a reload');
    }
    // Nothing could have been fetched: the policy forbids it, from the page and from a Worker.
    const out = await t.run(() => fetch('https://example.org/').then(() => 'through', () => 'refused'));
    equal(out, 'refused', 'a fetch from the page');
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

export const tests = [
  {
    name: 'the one-file edition works from a disk',
    browsers: ['chromium', 'firefox'],
    run: async (t) => {
      t.expected.push(/Content[ -]Security[ -]Policy|Refused to connect|violates|NetworkError/i);
      await fromDisk(t);
    },
  },
];
