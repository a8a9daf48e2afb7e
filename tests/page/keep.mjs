// Jobs are a person's evenings: two windows on one job, a full device, jobs deleted and put back, all jobs in one file, moments,
// and what happens when the core breaks down.
import { readFile } from 'node:fs/promises';
import { handedOver, withFiles } from './_files.mjs';
import { ALL, HEN, Hand, equal, feature, henTruth } from './_hand.mjs';

/** All is kept, also what is still being looked for in the pixels. */
async function kept(t) {
  await t.waitFor(() => window.scrieve.sought());
  await t.run(() => window.scrieve.kept().then(() => true));
}

/** A job with the body's length and the span, under a name. */
async function begun(t, hand, name = 'Hen') {
  const truth = await hand.begin();
  await named(t, name);
  await kept(t);
  return truth;
}

/** Names the open job, by its own key at the top. */
async function named(t, name) {
  await t.tapOn('#job-name');
  await t.waitFor(() => document.activeElement?.id === 'entry-input');
  await t.run((text) => {
    const input = document.querySelector('#entry-input');
    input.value = text;
    input.dispatchEvent(new Event('input', { bubbles: true }));
  }, name);
  await t.key('Enter');
  await t.waitForText('#job-name', name);
}

const facts = () => window.scrieve.facts().length;

/** Run in a page: how it stands, as a person sees it. */
const seen = () => ({
  rows: window.scrieve.scene().rows.map((row) => [row.id, row.finished?.figure.text ?? null]),
  kept: document.querySelector('#kept').dataset.state,
  note: document.querySelector('[data-key="looking"]') !== null,
});

/** A second window of the same browser, driven from here: what it shows, and touches. */
async function second(t) {
  const page = await t.driver.context.newPage();
  await page.goto(t.url);
  const cdp = await t.driver.context.newCDPSession(page);
  const run = async (fn, ...args) => {
    const { result, exceptionDetails } = await cdp.send('Runtime.evaluate', {
      expression: `(${fn})(...${JSON.stringify(args)})`, awaitPromise: true, returnByValue: true, userGesture: true,
    });
    if (exceptionDetails) throw new Error(exceptionDetails.exception?.description ?? exceptionDetails.text);
    return result.value;
  };
  const waitFor = async (fn, ...args) => {
    const end = Date.now() + t.patience;
    for (;;) {
      const value = await run(fn, ...args).catch(() => null);
      if (value) return value;
      if (Date.now() > end) throw new Error(`the second window: waited in vain for ${fn}`);
      await new Promise((resolve) => setTimeout(resolve, 25));
    }
  };
  await waitFor(() => window.scrieve?.ready.then(() => true) ?? false);
  return {
    page, run, waitFor,
    tap: async (selector) => {
      await waitFor((s) => document.querySelector(s) !== null, selector);
      await page.bringToFront();
      await page.locator(selector).tap();
    },
  };
}

async function twoWindows(t) {
  const hand = new Hand(t, 21);
  const truth = await begun(t, hand);
  const other = await second(t);
  // The other shows the very same job, to be looked at.
  const mine = await t.run(seen);
  const theirs = await other.waitFor(() => (document.querySelector('[data-key="looking"]') ? window.scrieve.scene().rows.length : null));
  equal(theirs, mine.rows.length, 'rows in the other window');
  equal((await other.run(seen)).kept, 'looking', 'what the other window says of keeping');
  // What is done here is seen there.
  await t.driver.page.bringToFront();
  await hand.length(feature(truth, 'top', 'wing, tip to tip').points);
  await kept(t);
  const now = await t.run(seen);
  await other.waitFor((n) => window.scrieve.scene().rows.length === n, now.rows.length);
  equal((await other.run(seen)).rows, now.rows, 'rows in the other window after a mark here');
  // There nothing can be changed.
  const before = await other.run(facts);
  await other.tap('#undo');
  await other.waitFor(() => !document.querySelector('#refused').hidden);
  equal(await other.run(facts), before, 'facts after an undo that was refused');
  await other.page.screenshot({ path: `build/screens/keep-looking.png` });
  // It takes over, and goes on; this window looks on.
  await other.tap('[data-key="looking"]');
  await other.waitFor(() => document.querySelector('#kept').dataset.state === 'kept');
  await t.waitFor(() => document.querySelector('[data-key="looking"]') !== null);
  await other.tap('#undo');
  await other.waitFor((n) => window.scrieve.facts().length === n + 1, before);
  await other.run(() => window.scrieve.kept().then(() => true));
  const after = await other.run(seen);
  await t.waitFor((n) => window.scrieve.facts().length === n, await other.run(facts));
  equal((await t.run(seen)).rows, after.rows, 'rows here after an undo there');
  // And back again, and a reload of both shows the same.
  await t.driver.page.bringToFront();
  await t.tapOn('[data-key="looking"]');
  await t.waitFor(() => document.querySelector('#kept').dataset.state === 'kept');
  await t.tapOn('#redo');
  await kept(t);
  const last = await t.run(seen);
  await other.page.close();
  await t.reload();
  await hand.ready();
  await hand.onBoard();
  equal((await t.run(seen)).rows, last.rows, 'rows after a reload');
}

/** A window that sleeps (its channel is deaf) is taken over from all the same, and what it does when it wakes goes into a copy. */
async function asleep(t) {
  const hand = new Hand(t, 22);
  await begun(t, hand);
  const other = await second(t);
  await t.driver.page.bringToFront();
  // Asleep: it hears nothing. Nothing else of it is changed.
  await t.run(() => {
    BroadcastChannel.prototype.postMessage = () => {};
  });
  await other.run(() => {
    BroadcastChannel.prototype.postMessage = () => {};
  });
  await other.tap('[data-key="looking"]');
  await other.waitFor(() => document.querySelector('#kept').dataset.state === 'kept');
  await t.waitFor(() => document.querySelector('[data-key="looking"]') !== null);
  // Even where a window doesn't know that the job was taken, the store refuses its facts, and they go into a copy.
  const refused = await t.run(async (job) => {
    const { openStore } = await import('/store.js');
    const store = await openStore();
    const count = await store.count(job);
    const why = await store.append(job, count, '{"kind":"name-job","name":"sly"}', 'someone else').then(() => 'kept', (error) => error.name);
    const same = (await store.count(job)) === count;
    store.close();
    return [why, same];
  }, await t.run(() => window.scrieve.sure().job));
  equal(refused, ['TakenOver', true], 'a fact of a window that lost the job');
  await other.page.close();
}

async function listOfJobs(t) {
  const hand = new Hand(t, 23);
  await begun(t, hand, 'Marsh Hen');
  await hand.go('picture');
  await t.waitFor(() => document.querySelector('#job-list .job-picture')?.complete && document.querySelector('#job-list .job-picture').naturalWidth > 0);
  const id = await t.run(() => window.scrieve.sure().job);
  const titles = () => t.run(() => [...document.querySelectorAll('#job-list .job-title')].map((node) => node.textContent));
  // Not every engine tells how much room there is.
  if (t.browser === 'chromium') await t.waitForText('#room', 'left');
  // A copy, a name of its own, then deleted and put back.
  await t.tapOn(`[data-key="job-keys-${id}"]`);
  await t.screenshot('keys');
  await t.tapOn(`[data-key="copy-job-${id}"]`);
  await t.waitFor(() => document.querySelectorAll('#job-list .job').length === 2);
  equal((await titles()).sort(), ['Marsh Hen', 'Marsh Hen, copy'], 'jobs after a copy');
  const copy = await t.run((own) => [...document.querySelectorAll('#job-list .job-open')].map((node) => node.dataset.job).find((job) => job !== own), id);
  await t.tapOn(`[data-key="job-keys-${copy}"]`);
  await t.tapOn(`[data-key="rename-job-${copy}"]`);
  await t.waitFor(() => document.activeElement?.id === 'new-job-name');
  await t.run(() => {
    document.querySelector('#new-job-name').value = '<b>Chest</b>';
  });
  await t.tapOn('[data-key="new-job-name-ok"]');
  await t.waitForText('#job-list', '<b>Chest</b>');
  await t.screenshot('renamed');
  await t.tapOn(`[data-key="job-keys-${copy}"]`);
  await t.tapOn(`[data-key="delete-job-${copy}"]`);
  await t.tapOn(`[data-key="delete-job-${copy}"]`);
  await t.waitFor(() => document.querySelectorAll('#job-list .job').length === 1);
  await t.reload();
  await hand.ready();
  await hand.onBoard();
  await hand.go('picture');
  await t.tapOn('[data-key="show-deleted"]');
  await t.waitForText('#deleted-list', '30 more days');
  await t.screenshot('deleted');
  await t.tapOn(`[data-key="put-back-${copy}"]`);
  await t.waitFor(() => document.querySelectorAll('#job-list .job').length === 2);
  // It opens, with its picture and its name.
  await t.tapOn(`[data-job="${copy}"]`);
  await t.waitForText('#job-name', '<b>Chest</b>');
  await hand.onBoard();
  await hand.go('picture');
  // Deleted for good, with the other's picture still there.
  await t.tapOn(`[data-job="${id}"]`);
  await t.waitForText('#job-name', 'Marsh Hen');
  await hand.onBoard();
  await hand.go('picture');
  await t.tapOn(`[data-key="job-keys-${copy}"]`);
  await t.tapOn(`[data-key="delete-job-${copy}"]`);
  await t.tapOn(`[data-key="delete-job-${copy}"]`);
  await t.tapOn('[data-key="show-deleted"]');
  await t.tapOn(`[data-key="purge-job-${copy}"]`);
  await t.tapOn(`[data-key="purge-job-${copy}"]`);
  await t.waitFor(() => document.querySelector('[data-key="show-deleted"]').hidden);
  await t.reload();
  await hand.ready();
  await hand.onBoard();
}

async function allInOne(t) {
  const hand = new Hand(t, 24);
  await begun(t, hand, 'First');
  await hand.go('picture');
  const id = await t.run(() => window.scrieve.sure().job);
  await t.tapOn(`[data-key="job-keys-${id}"]`);
  await t.tapOn(`[data-key="copy-job-${id}"]`);
  await t.waitFor(() => document.querySelectorAll('#job-list .job').length === 2);
  const rows = (await t.run(seen)).rows;
  const { name, bytes } = await handedOver(t, 'save-all');
  equal(name, 'scrieve-jobs.zip', 'the file of all jobs');
  // All in this browser is gone; the file brings it back.
  await t.run(async () => {
    await window.scrieve.kept();
    await new Promise((resolve, reject) => {
      const request = indexedDB.open('scrieve');
      request.onerror = () => reject(request.error);
      request.onsuccess = () => {
        const names = [...request.result.objectStoreNames];
        const all = request.result.transaction(names, 'readwrite');
        for (const one of names) all.objectStore(one).clear();
        all.oncomplete = () => {
          request.result.close();
          resolve();
        };
      };
    });
  });
  await t.reload();
  await hand.ready();
  equal(await t.run(() => window.scrieve.scene().pictures.length), 0, 'pictures when all is gone');
  await withFiles({ [name]: bytes }, async (at) => {
    await t.chooseFile(at(name), '#file-job', '#first-keys [data-key="open-job"]');
    await t.waitFor(() => document.querySelectorAll('#job-list .job').length === 2);
  });
  await t.run(() => document.querySelector('#job-list').scrollIntoView());
  const first = await t.run(() => [...document.querySelectorAll('#job-list .job')]
    .find((node) => node.querySelector('.job-title').textContent === 'First').querySelector('.job-open').dataset.job);
  await t.tapOn(`[data-job="${first}"]`);
  await t.waitForText('#job-name', 'First');
  await hand.onBoard();
  equal((await t.run(seen)).rows, rows, 'sizes from the file of all jobs');
}

/** Every write fails as on a full device: the job stays usable, says so, and is kept when there is room again. */
async function full(t) {
  const hand = new Hand(t, 25);
  const truth = await begun(t, hand);
  t.expected.push(/QuotaExceeded|quota|not in the store/i);
  const sure = await t.run(() => window.scrieve.sure().count);
  await t.run(() => {
    window.plainAdd = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = function add() {
      throw new DOMException('the quota is exceeded', 'QuotaExceededError');
    };
  });
  await hand.length(feature(truth, 'top', 'wing, tip to tip').points);
  await t.waitFor(() => document.querySelector('#kept').dataset.state === 'failed');
  await t.waitForText('#notes', 'no room left');
  await t.screenshot('full');
  equal(await t.run(() => window.scrieve.sure().count), sure, 'facts that are kept for sure');
  equal((await t.run(seen)).rows.length, 2, 'sizes on the board');
  // It can still be saved to a file, and another job isn't begun over it without a word.
  await hand.go('lists');
  const { bytes } = await handedOver(t, 'save-job');
  if (bytes.length < 1000) throw new Error('the job file is empty');
  await t.tapOn('#ledge-keys [data-key="new-job"]');
  await t.waitForText('#refused', 'isn’t kept');
  equal((await t.run(seen)).rows.length, 2, 'sizes on the board after all');
  await t.run(() => {
    IDBObjectStore.prototype.add = window.plainAdd;
  });
  await t.tapOn('[data-key="keep-again"]');
  await t.waitFor(() => document.querySelector('#kept').dataset.state === 'kept');
  const rows = (await t.run(seen)).rows;
  await t.reload();
  await hand.ready();
  await hand.onBoard();
  equal((await t.run(seen)).rows, rows, 'sizes after a reload');
}

/** The core breaks down at a touch, as in a trap: the job is back, that touch isn't, and there is a report of it. */
async function trap(t) {
  const hand = new Hand(t, 26);
  await begun(t, hand);
  t.expected.push(/unreachable|trapped on purpose/);
  const before = await t.run(seen);
  await t.run(async () => {
    const { Door } = await import('/door.js');
    const send = Door.prototype.send;
    Door.prototype.send = function once(...args) {
      Door.prototype.send = send;
      this.desk.intend = () => {
        throw new WebAssembly.RuntimeError('unreachable: trapped on purpose');
      };
      return send.apply(this, args);
    };
  });
  await t.tapOn('#undo');
  await t.waitForText('#refused', 'that last touch wasn’t done');
  equal((await t.run(seen)).rows, before.rows, 'the job after the core broke down');
  const { name, bytes } = await handedOver(t, 'save-report');
  equal(name, 'scrieve-report.jsonl', 'the report');
  const lines = bytes.toString('utf8').trim().split('\n');
  const told = lines.filter((line) => !line.startsWith('#')).map((line) => JSON.parse(line));
  equal([told[0].kind, told.at(-1)], ['add-picture', { kind: 'undo' }], 'the first and last line of the report');
  if (!lines.some((line) => line.startsWith('# version ')) || !lines.some((line) => line.includes('unreachable'))) throw new Error('the report doesn’t say what broke');
  if (bytes.length > 100_000) throw new Error('there is a picture in the report');
  // Work goes on, and is kept.
  await t.tapOn('#undo');
  await kept(t);
  const after = await t.run(seen);
  await t.reload();
  await hand.ready();
  await hand.onBoard();
  equal((await t.run(seen)).rows, after.rows, 'the job after a reload');
}

async function moments(t) {
  const hand = new Hand(t, 27);
  await hand.outlined();
  await kept(t);
  await hand.go('picture');
  await t.run(() => document.querySelector('#moment-name').scrollIntoView());
  await t.run(() => {
    document.querySelector('#moment-name').value = 'at 24 inches';
  });
  await t.tapOn('[data-key="moment-name-ok"]');
  await t.waitForText('#moments', 'at 24 inches');
  await hand.go('lists');
  await handedOver(t, 'pdf');
  await t.waitForText('#printed', 'All sizes are as you last printed them');
  const before = (await t.run(seen)).rows;
  // The body is wanted longer: what that changes is told against what was printed.
  await hand.go('marks');
  await t.tapOn('[data-row="1"] .row-main');
  await t.tapOn('[data-key="build-this"]');
  await hand.type('3', '0');
  await hand.press('take-it');
  await hand.go('lists');
  await t.waitForText('#printed', 'Changed since you last printed');
  await t.waitForText('#since', '1: was 24, is 30 now');
  await t.screenshot('since');
  // Back to the moment that was named: all is as it was, and what was left is a moment itself.
  await hand.go('picture');
  await t.tapOn('[data-key="moment-0"]');
  await t.waitForText('#moments', 'before you went back');
  await kept(t);
  equal((await t.run(seen)).rows, before, 'sizes at that moment');
  await t.reload();
  await hand.ready();
  await hand.onBoard();
  equal((await t.run(seen)).rows, before, 'and after a reload');
  await hand.go('picture');
  await t.tapOn('[data-key="moment-1"]');
  await t.waitFor(() => window.scrieve.scene().rows[0].finished?.figure.text === '30');
}

async function about(t) {
  const hand = new Hand(t, 28);
  await hand.open();
  await t.tapOn('[data-key="about"]');
  await t.waitForText('#about', 'Permission is hereby granted');
  const version = await t.attr('meta[name="version"]', 'content');
  if (!(await t.text('#about')).includes(version)) throw new Error('it doesn’t say which version');
  const known = await readFile('www/licences.txt', 'utf8');
  equal(await t.text('#about .licences'), known, 'the licences');
}

export const tests = [
  { name: 'two windows on one job: one works, the other looks on and can take over', browsers: ['chromium'], quick: true, run: twoWindows },
  { name: 'a job is taken over from a window that sleeps', browsers: ['chromium'], run: asleep },
  { name: 'jobs are copied, renamed, deleted and put back', browsers: ['chromium'], run: listOfJobs },
  { name: 'all jobs as one file, out and in', browsers: ['chromium'], run: allInOne },
  { name: 'no room left: the job stays usable, and is kept once there is', browsers: ALL, run: full },
  // Elsewhere a test gets another copy of the page's modules, and can't break the one that runs.
  { name: 'the core breaks down: the job is back, with a report', browsers: ['chromium'], run: trap },
  { name: 'moments, and what changed since a print', browsers: ['chromium'], run: moments },
  { name: 'about: the version, and whose work is in it', browsers: ['chromium'], run: about },
];
