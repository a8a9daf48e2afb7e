// Everything that may go wrong with keeping, one after the other. Each gives { tried, survived, note? } or throws, which is a loss.
import { dropDrawing, haveAll, kept, look, markLength, must, onBoard, ready } from './_bench.mjs';

const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

/** The job as it should be found again: what is on the board now, once it is kept, is there after a reload. */
async function outlastsReload(t, what) {
  await kept(t);
  const before = await look(t);
  must(before.state === 'kept', `${what}: it isn’t kept (${before.state})`);
  await t.reload();
  await ready(t);
  await onBoard(t);
  const after = await look(t);
  must(same(before.facts, after.facts), `${what}: ${before.facts.length} facts before a reload, ${after.facts.length} after`);
  must(await haveAll(t, after.pictures), `${what}: a picture is missing`);
}

/** Run before the page's own code: the nth write to the database fails, as on a full device, then all go well. */
const failNth = (nth, late) => `
  window.writes = 0;
  for (const name of ['put', 'add']) {
    const plain = IDBObjectStore.prototype[name];
    IDBObjectStore.prototype[name] = function write(...args) {
      window.writes += 1;
      if (window.writes === ${nth}) {
        if (!${late}) throw new DOMException('the quota is exceeded', 'QuotaExceededError');
        const request = plain.apply(this, args);
        this.transaction.abort();
        return request;
      }
      return plain.apply(this, args);
    };
  }
`;

/** A small job, all of it kept as far as it can be. */
async function twoLengths(t) {
  await dropDrawing(t);
  await markLength(t, 1, 7, 200);
  await markLength(t, 2, 8, 300);
  await kept(t);
}

/** Each write of a first job fails in turn: on the spot, or with the whole transaction. */
export async function fullAtEachWrite(t) {
  let tried = 0;
  for (const late of [false, true]) {
    for (let nth = 1; nth <= 14; nth += 1) {
      await clear(t);
      await t.driver.page.addInitScript(`if (location.pathname === '/') { ${failNth(nth, late)} }`);
      await t.open();
      await ready(t);
      await twoLengths(t);
      const { marks } = await look(t);
      must(marks === 2, `write ${nth}: ${marks} marks on the board`);
      tried += 1;
      const again = async () => (await t.count('[data-key="keep-again"]')) > 0;
      if (await again()) await t.run(() => document.querySelector('[data-key="keep-again"]').click());
      await t.waitFor(() => window.scrieve.sure().state === 'kept');
      const digests = (await look(t)).pictures;
      if (!(await haveAll(t, digests))) {
        // A picture that couldn't be kept is said, and tried again with the same key.
        must((await t.text('#notes')).includes('picture'), `write ${nth}: a picture isn’t kept, and nobody says so`);
        await t.run(() => document.querySelector('[data-key="keep-again"]')?.click());
        await t.waitFor(async () => document.querySelector('#notes').textContent.includes('couldn’t keep the picture') === false);
      }
      await outlastsReload(t, `write ${nth}`);
    }
  }
  return { tried, survived: tried };
}

/** Forgets everything of the site, and init scripts with it: a new page. */
async function clear(t) {
  const { context } = t.driver;
  const page = await context.newPage();
  await t.driver.page.close();
  t.driver.page = page;
  t.driver.cdp = await context.newCDPSession(page);
  await t.driver.cdp.send('Storage.clearDataForOrigin', { origin: new URL(t.url).origin, storageTypes: 'all' });
}

/** The database can't be opened: held back by an older window, made by a newer version, or simply not. */
export async function cannotOpen(t) {
  const ways = {
    'held back': [`
      const plain = IDBFactory.prototype.open;
      IDBFactory.prototype.open = function open(name, version) {
        const request = plain.call(this, name + '-other', version);
        const held = { onsuccess: null, onerror: null, onupgradeneeded: null, onblocked: null, result: undefined, error: null };
        setTimeout(() => held.onblocked?.(new Event('blocked')));
        request.onsuccess = () => request.result.close();
        return held;
      };`, 'Another window holds on'],
    'a newer version': [`
      const plain = IDBFactory.prototype.open;
      IDBFactory.prototype.open = function open(name, version) {
        const held = { onsuccess: null, onerror: null, error: new DOMException('newer', 'VersionError') };
        setTimeout(() => held.onerror?.(new Event('error')));
        return held;
      };`, 'A newer version'],
    'an error': [`
      IDBFactory.prototype.open = function open() {
        const held = { onsuccess: null, onerror: null, error: new DOMException('broken', 'UnknownError') };
        setTimeout(() => held.onerror?.(new Event('error')));
        return held;
      };`, 'no way to keep jobs'],
    'refused at once': ['IDBFactory.prototype.open = () => { throw new DOMException("no", "SecurityError"); };', 'no way to keep jobs'],
  };
  for (const [name, [script, said]] of Object.entries(ways)) {
    await clear(t);
    await t.driver.page.addInitScript(`if (location.pathname === '/') { ${script} }`);
    await t.open();
    await ready(t);
    await t.waitForText('#notes', said);
    await dropDrawing(t);
    await markLength(t, 1, 7, 200);
    const { marks, state } = await look(t);
    must(marks === 1 && state === 'failed', `${name}: ${marks} marks, ${state}`);
  }
  const tried = Object.keys(ways).length;
  return { tried, survived: tried };
}

/** Run in the page: does something to what stands in the database. */
function spoil(how, job) {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open('scrieve');
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const database = request.result;
      const all = database.transaction(['facts', 'jobs', 'previews'], 'readwrite');
      const facts = all.objectStore('facts');
      if (how === 'a fact is a number') facts.put(7, [job, 2]);
      if (how === 'a fact is no JSON') facts.put('{"kind":"pla', [job, 2]);
      if (how === 'a fact is of a newer version') facts.put('{"kind":"something-new","x":1}', [job, 2]);
      if (how === 'a fact makes no sense') facts.put('{"kind":"delete-mark","mark":77}', [job, 2]);
      if (how === 'a fact is missing') facts.delete([job, 2]);
      if (how === 'the entry is rubbish') all.objectStore('jobs').put({ id: job, name: { a: 1 }, when: 'never', turn: NaN, deleted: undefined });
      if (how === 'the entry is gone') all.objectStore('jobs').delete(job);
      if (how === 'the preview is rubbish') all.objectStore('previews').put('rubbish', job);
      all.oncomplete = () => {
        database.close();
        resolve(true);
      };
      all.onabort = () => reject(all.error);
    };
  });
}

/** A record is damaged: what can be read is laid on the board, in a copy where something is left out, and what stands there stays. */
export async function corrupted(t) {
  const ways = ['a fact is a number', 'a fact is no JSON', 'a fact is of a newer version', 'a fact makes no sense', 'a fact is missing',
    'the entry is rubbish', 'the preview is rubbish'];
  for (const how of ways) {
    await clear(t);
    await t.open();
    await ready(t);
    await twoLengths(t);
    const before = await look(t);
    await t.run(spoil, how, before.job);
    await t.reload();
    await ready(t);
    await onBoard(t);
    const after = await look(t);
    const whole = how.startsWith('the ');
    const expected = before.facts.slice(0, whole ? undefined : 2);
    must(same(after.facts, expected), `${how}: ${after.facts.length} facts of ${before.facts.length}`);
    must((after.job === before.job) === whole, `${how}: ${whole ? 'a copy was made' : 'no copy was made'}`);
    if (!whole) must((await t.text('#notes')).includes('can’t be read'), `${how}: nobody says so`);
    await outlastsReload(t, how);
  }
  return { tried: ways.length, survived: ways.length };
}

/** Run before the page's own code: keeps hold of every Worker. */
const HOLD_WORKERS = `
  window.workers = [];
  const Plain = window.Worker;
  window.Worker = class extends Plain {
    constructor(...args) { super(...args); window.workers.push({ worker: this, name: args[1]?.name }); }
  };
`;
/** Run in the page: ends the Workers of a name, as a system does that needs their memory. */
function endWorkers(name) {
  const these = window.workers.filter((one) => one.name === name);
  for (const { worker } of these) {
    worker.terminate();
    worker.dispatchEvent(new ErrorEvent('error', { message: 'killed' }));
  }
  window.workers = window.workers.filter((one) => one.name !== name);
  return these.length;
}

/** The Workers are killed while they have something to do: the job is as it was, and the work can be done again. */
export async function workersKilled(t) {
  await clear(t);
  await t.driver.page.addInitScript(HOLD_WORKERS);
  await t.open();
  await ready(t);
  // While a picture is opened: it is refused or it opens, and either way it can be opened again.
  await dropDrawing(t, false);
  await t.waitFor(() => window.workers.length > 0);
  await t.run(endWorkers, 'mill');
  await t.waitFor(() => document.querySelector('#busy').hidden);
  if ((await look(t)).pictures.length === 0) await dropDrawing(t);
  await onBoard(t);
  // While an end looks for an edge.
  await markLength(t, 1, 7, 200);
  await t.run(endWorkers, 'mill');
  await t.waitFor(() => window.scrieve.sought());
  await markLength(t, 2, 8, 300);
  await t.waitFor(() => window.scrieve.scene().marks.length === 2 && window.scrieve.sought());
  // While an outline is traced.
  await t.run(() => document.querySelector('[data-key="tool-outline"]')?.click());
  await t.run(endWorkers, 'mill');
  await t.waitFor(() => window.scrieve.sought());
  // While sheets are made.
  await t.tapOn('#steps [data-step="lists"]');
  await t.waitFor('[data-key="test-sheet"]');
  await t.run(() => document.querySelector('[data-key="test-sheet"]').click());
  await t.waitFor(() => window.workers.some((one) => one.name === 'press'));
  must((await t.run(endWorkers, 'press')) > 0, 'there is no press to kill');
  await t.waitFor(() => document.querySelector('#making').hidden);
  const download = t.driver.page.waitForEvent('download');
  await t.run(() => document.querySelector('[data-key="test-sheet"]').click());
  await download;
  await outlastsReload(t, 'Workers killed');
  return { tried: 4, survived: 4 };
}

/** The network is cut during the first load, after so many files; during an update; and for ever after. */
export async function networkCut(t) {
  let tried = 0;
  for (const after of [1, 5, 12, 30, 45]) {
    await clear(t);
    const { requests } = t.server;
    const from = requests.length;
    const cut = (async () => {
      while (requests.length - from < after) await new Promise((resolve) => setTimeout(resolve, 2));
      await t.server.stop();
    })();
    const { page } = t.driver;
    const reached = await page.goto(t.url, { waitUntil: 'commit' }).then(() => true, () => false);
    // The browser puts up a page of its own then, which would be in the way of the next visit.
    if (!reached) await page.waitForURL((url) => url.protocol === 'chrome-error:');
    await Promise.race([cut, ready(t).catch(() => {})]);
    await t.server.stop();
    await t.server.start();
    await t.open();
    await ready(t);
    tried += 1;
  }
  // Kept whole, then never a network again: a whole small job, twice reloaded.
  await t.waitFor(() => navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller !== null));
  await t.offline(true);
  await t.reload();
  await ready(t);
  await dropDrawing(t);
  await markLength(t, 1, 7, 200);
  await outlastsReload(t, 'no network');
  await outlastsReload(t, 'no network still');
  await t.offline(false);
  return { tried: tried + 1, survived: tried + 1 };
}

/** The clock is set back by years between visits: the job that was worked on last is on the board, and deleted ones keep their days. */
export async function clockBackwards(t) {
  await clear(t);
  const at = (year) => `{ const plain = Date.now.bind(Date); const by = new Date('${year}-01-01') - plain(); Date.now = () => plain() + by; }`;
  const ids = [];
  for (const year of [2031, 2025, 1970]) {
    await t.driver.page.addInitScript(`if (location.pathname === '/') ${at(year)}`);
    await t.open();
    await ready(t);
    if (ids.length > 0) {
      must((await look(t)).job === ids.at(-1), `in ${year} another job is on the board`);
      await onBoard(t);
      await t.run(() => document.querySelector('[data-key="new-job"]').click());
      await t.waitFor(() => window.scrieve.scene().pictures.length === 0);
    }
    await dropDrawing(t);
    await markLength(t, 1, 7, 200);
    await kept(t);
    ids.push((await look(t)).job);
  }
  // One is deleted in 1970; then the clock is right again, and later still far too late for a while.
  const left = async () => t.run(async (id) => {
    const { openStore } = await import('/store.js');
    const store = await openStore();
    const job = (await store.jobs()).find((one) => one.id === id);
    store.close();
    return job?.deleted?.left ?? null;
  }, ids[0]);
  await t.run(async (id) => {
    const { openStore } = await import('/store.js');
    const store = await openStore();
    await store.deleteJob(id);
    store.close();
  }, ids[0]);
  for (const year of [2026, 2090, 1999]) {
    await t.driver.page.addInitScript(`if (location.pathname === '/') ${at(year)}`);
    await t.open();
    await ready(t);
    must((await left()) > 10, `in ${year} ${await left()} days are left of 30`);
  }
  return { tried: 6, survived: 6 };
}

/** Run in the page: so many jobs, each of a few facts, straight into the database. */
async function fill(jobs, facts) {
  const { openStore } = await import('/store.js');
  const store = await openStore();
  for (let i = 0; i < jobs; i += 1) await store.addJob({ id: `job-${i}`, name: `Job ${i}`, bytes: 900 }, facts, null);
  store.close();
}

/** A thousand jobs: the page opens, the list shows them bit by bit, any of them opens. */
export async function thousandJobs(t) {
  await clear(t);
  await t.open();
  await ready(t);
  const facts = [
    '{"kind":"add-picture","name":"a.png","width":1200,"height":900,"digest":"none"}',
    '{"kind":"place","picture":1,"mark":"length","points":[[100,200],[700,200]],"zoom":1,"seen":true}',
  ];
  await t.run(fill, 1000, facts);
  const begun = Date.now();
  await t.reload();
  await ready(t);
  const took = Date.now() - begun;
  await t.waitFor(() => document.querySelectorAll('#job-list .job').length > 5);
  must((await t.count('#job-list .job')) < 50, 'all are drawn at once');
  must((await look(t)).marks === 1, 'the last one isn’t on the board');
  const found = await t.run(() => window.scrieve.sure().job);
  must(found.startsWith('job-'), 'another job is on the board');
  for (let i = 0; i < 100 && !(await t.count('[data-job="job-500"]')); i += 1) {
    await t.run(() => document.querySelector('[data-key="more-jobs"]').click());
  }
  await t.run(() => document.querySelector('[data-job="job-500"]').click());
  await t.waitFor(() => window.scrieve.sure().job === 'job-500');
  must((await look(t)).marks === 1, 'job 500 isn’t whole');
  return { tried: 1000, survived: 1000, note: `${took} ms until the page is ready` };
}

/** A job of three hundred steps and more: undone to the first, redone to the last, with reloads in between. */
export async function longUndo(t) {
  await clear(t);
  await t.open();
  await ready(t);
  await dropDrawing(t);
  await markLength(t, 1, 7, 200);
  await kept(t);
  const { job, facts } = await look(t);
  const more = Array.from({ length: 1500 }, (_, i) => `{"kind":"name-mark","mark":1,"name":"step ${i}"}`);
  await t.run(async (id, from, list) => {
    const { openStore } = await import('/store.js');
    const store = await openStore();
    for (let i = 0; i < list.length; i += 500) await store.append(id, from + i, list.slice(i, i + 500));
    store.close();
  }, job, facts.length, more);
  await t.reload();
  await ready(t);
  await onBoard(t);
  const name = () => t.run(() => window.scrieve.scene().marks.length && window.scrieve.scene().rows[0].name);
  must((await name()) === 'step 1499', `it is called ${await name()}`);
  const press = async (selector, times) => {
    for (let i = 0; i < times; i += 30) {
      await t.run((s) => {
        for (let k = 0; k < 30; k += 1) document.querySelector(s).click();
      }, selector);
    }
  };
  await press('#undo', 300);
  must((await name()) === 'step 1199', `after 300 steps back it is called ${await name()}`);
  await outlastsReload(t, 'undone');
  await press('#redo', 300);
  must((await name()) === 'step 1499', `after 300 steps forward it is called ${await name()}`);
  await outlastsReload(t, 'redone');
  return { tried: 600, survived: 600, note: 'in a job of 1,500 facts' };
}

/** A database of the first version, with a job whose entry was never written: all of it is there in this version. */
export async function oldDatabase(t) {
  await clear(t);
  t.expected.push(/favicon/);
  await t.open('version.txt');
  await t.run(() => new Promise((resolve, reject) => {
    const request = indexedDB.open('scrieve', 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore('jobs', { keyPath: 'id' });
      request.result.createObjectStore('facts');
      request.result.createObjectStore('pictures');
    };
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const all = request.result.transaction(['jobs', 'facts'], 'readwrite');
      const facts = ['{"kind":"add-picture","name":"a.png","width":1200,"height":900,"digest":"none"}', '{"kind":"name-job","name":"old"}'];
      all.objectStore('jobs').put({ id: 'known', name: 'old', when: 5 });
      for (const id of ['known', 'orphan']) facts.forEach((fact, seq) => all.objectStore('facts').add(fact, [id, seq]));
      all.oncomplete = () => {
        request.result.close();
        resolve(true);
      };
    };
  }));
  await t.open();
  await ready(t);
  await t.waitFor(() => document.querySelectorAll('#job-list .job').length === 2);
  must((await look(t)).name === 'old', 'the old job isn’t on the board');
  return { tried: 2, survived: 2 };
}
