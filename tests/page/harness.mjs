// The harness itself: that its verbs reach a page as a person's would, and that it notices what it should.
// They run on a page of their own, made here, so that they say nothing about Scrieve's.
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const ALL = ['chromium', 'firefox', 'webkit'];

const PAGE = `<!doctype html><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'self'; style-src 'self'; img-src data:; connect-src 'self'">
<link rel="icon" href="data:,"><link rel="stylesheet" href="page.css">
<div id="board"></div><input id="file" type="file"><button id="cover">under</button><div id="lid"></div>
<script type="module" src="page.js"></script>`;
const CSS = `body { margin: 0 } #board { width: 600px; height: 300px; touch-action: none }
#cover { position: absolute; left: 0; top: 350px; width: 90px; height: 90px }
#lid { position: absolute; left: 0; top: 350px; width: 90px; height: 90px }`;
const SCRIPT = `window.seen = [];
for (const kind of ['pointerdown', 'pointermove', 'pointerup'])
  document.querySelector('#board').addEventListener(kind, (e) => seen.push([kind, e.pointerType, Math.round(e.clientX), Math.round(e.clientY), e.isPrimary]));
addEventListener('keydown', (e) => seen.push([e.key, e.shiftKey, e.ctrlKey]));
document.querySelector('#file').addEventListener('change', async (e) => seen.push([e.target.files[0].name, await e.target.files[0].text()]));
document.querySelector('#board').addEventListener('drop', async (e) => { const f = e.dataTransfer.files[0]; seen.push(['drop', f.name, f.type, await f.text()]); });`;

/** Serves the page above instead of Scrieve, while `run` uses it. */
async function onOwnPage(t, run) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-page-'));
  try {
    for (const [name, text] of [['index.html', PAGE], ['page.css', CSS], ['page.js', SCRIPT], ['a.png', 'not a picture']]) {
      await writeFile(join(dir, name), text);
    }
    t.server.dir = dir;
    await t.open();
    await run(dir);
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

function equal(got, expected) {
  const [a, b] = [JSON.stringify(got), JSON.stringify(expected)];
  if (a !== b) throw new Error(`got ${a}, expected ${b}`);
}

async function rejects(promise, pattern) {
  const problem = await promise.then(() => 'it went well', (error) => error.message);
  if (!pattern.test(problem)) throw new Error(`expected ${pattern}, got: ${problem}`);
}

const seen = (t, n) => t.waitFor((count) => (window.seen.length >= count ? window.seen : null), n);

export const tests = [
  {
    name: 'a touch is a touch, where it was put',
    browsers: ALL,
    run: (t) => onOwnPage(t, async () => {
      // WebKitGTK has no other: see tests/browser/webdriver.mjs.
      const kind = t.browser === 'webkit' ? 'mouse' : 'touch';
      await t.tap(120, 80);
      equal((await seen(t, 2)).filter(([name]) => name !== 'pointermove'), [
        ['pointerdown', kind, 120, 80, true],
        ['pointerup', kind, 120, 80, true],
      ]);
      await t.drag({ x: 200, y: 100 }, { x: 300, y: 150 }, 5);
      const all = await t.waitFor(() => (window.seen.filter(([kind]) => kind === 'pointerup').length === 2 ? window.seen : null));
      equal(all.at(-1), ['pointerup', kind, 300, 150, true]);
      equal(all.some(([name, , x]) => name === 'pointermove' && x > 200 && x < 300), true);
      equal(t.touches, 2);
    }),
  },
  {
    name: 'two fingers are two pointers',
    browsers: ['chromium', 'firefox'],
    run: (t) => onOwnPage(t, async () => {
      await t.pinch({ from: { x: 200, y: 100 }, to: { x: 100, y: 100 } }, { from: { x: 260, y: 100 }, to: { x: 360, y: 100 } });
      const all = await t.waitFor(() => (window.seen.filter(([kind]) => kind === 'pointerup').length === 2 ? window.seen : null));
      equal(all.filter(([kind, type]) => kind === 'pointerdown' && type === 'touch').map((event) => event[4]).sort(), [false, true]);
    }),
  },
  {
    name: 'mouse and keys',
    browsers: ALL,
    run: (t) => onOwnPage(t, async () => {
      await t.mouseDrag({ x: 30, y: 40 }, { x: 60, y: 70 });
      const all = await t.waitFor(() => (window.seen.some(([kind]) => kind === 'pointerup') ? window.seen : null));
      equal(all.find(([kind]) => kind === 'pointerdown').slice(1, 4), ['mouse', 30, 40]);
      equal(all.at(-1).slice(0, 4), ['pointerup', 'mouse', 60, 70]);
      await t.run(() => { window.seen.length = 0; });
      await t.key('Shift+ArrowLeft');
      await t.key('Control+z');
      const keys = (await t.waitFor(() => (window.seen.some(([key]) => key === 'z') ? window.seen : null)))
        .filter(([key]) => key !== 'Shift' && key !== 'Control');
      equal(keys, [['ArrowLeft', true, false], ['z', false, true]]);
    }),
  },
  {
    name: 'files come in by the chooser and by dropping',
    browsers: ALL,
    run: (t) => onOwnPage(t, async (dir) => {
      await t.chooseFile(join(dir, 'a.png'), '#file');
      equal(await seen(t, 1), [['a.png', 'not a picture']]);
      await t.dropFile(join(dir, 'a.png'), '#board', 'b.png');
      equal((await seen(t, 2)).at(-1), ['drop', 'b.png', 'image/png', 'not a picture']);
      equal(t.touches, 3);
    }),
  },
  {
    name: 'what lies under something else can not be touched',
    browsers: ALL,
    run: (t) => onOwnPage(t, async () => {
      t.patience = 300;
      await rejects(t.tapOn('#cover'), /can't touch #cover: .*lid.* lies over it/);
      equal(t.touches, 0);
      await t.run(() => document.querySelector('#lid').remove());
      await t.tapOn('#cover');
      equal(t.touches, 1);
    }),
  },
  {
    name: 'complaints of the page are noticed',
    browsers: ALL,
    run: (t) => onOwnPage(t, async () => {
      equal(await t.errors(), []);
      await t.run(() => { setTimeout(() => { throw new Error('planted in time'); }, 0); });
      await t.run(() => new Promise((resolve) => { setTimeout(resolve, 0); }));
      await t.run(() => { console.error('planted in words'); });
      const errors = (await t.errors()).join('\n');
      for (const part of ['planted in time', 'planted in words']) {
        if (!errors.includes(part)) throw new Error(`unnoticed: ${part}; got ${errors}`);
      }
      t.expected.push(/planted/);
    }),
  },
  {
    name: 'a page that fails while it loads is noticed',
    browsers: ['chromium', 'firefox'],
    run: (t) => onOwnPage(t, async (dir) => {
      await writeFile(join(dir, 'page.js'), 'throw new Error("planted while loading");');
      await t.reload();
      t.expected.push(/planted while loading/);
      const end = Date.now() + 5000;
      while (!(await t.driver.errors()).some((text) => /planted while loading/.test(text))) {
        if (Date.now() > end) throw new Error('nobody noticed');
        await new Promise((resolve) => setTimeout(resolve, 50));
      }
    }),
  },
  {
    name: 'a wait in vain says for what',
    browsers: ALL,
    run: (t) => onOwnPage(t, async () => {
      t.patience = 100;
      await rejects(t.waitFor('#nowhere'), /waited in vain for #nowhere/);
      await rejects(t.waitForText('#cover', 'over'), /waited in vain .*"#cover","over"/s);
    }),
  },
  {
    name: 'with the network pulled nothing comes through',
    browsers: ALL,
    run: (t) => onOwnPage(t, async () => {
      const get = () => t.run(() => fetch('page.css', { cache: 'no-store' }).then(() => 'through', () => 'cut off'));
      equal(await get(), 'through');
      await t.offline(true);
      equal(await get(), 'cut off');
      await t.offline(false);
      equal(await get(), 'through');
      t.expected.push(/ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|Failed to load resource|access control checks/);
    }),
  },
];
