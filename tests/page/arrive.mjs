// Files that come from outside the page: shared by another app (which posts them to the service worker), opened with it, pasted; and
// what the shortcuts of its icon ask for.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { DIST } from '../browser/context.mjs';
import { HEN, Hand, equal, pageKept } from './_hand.mjs';
import { greyPng } from './_png.mjs';

/** A page elsewhere with a form as a system posts it when something is shared: nothing of ours. */
async function elsewhere(action, run) {
  const html = `<form method="post" enctype="multipart/form-data" action="${action}"><input type="file" name="files" multiple><button>go</button></form>`;
  const server = createServer((_, response) => response.writeHead(200, { 'Content-Type': 'text/html; charset=utf-8' }).end(html));
  await new Promise((done) => { server.listen(0, '127.0.0.1', done); });
  try {
    return await run(`http://localhost:${server.address().port}/`);
  } finally {
    server.closeAllConnections();
    server.close();
  }
}

/** Run in a page elsewhere: puts files in its form. Names go as they are, whatever the device's own disk can hold. */
function fill(files) {
  const data = new DataTransfer();
  for (const [name, type, base64] of files) data.items.add(new File([Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0))], name, { type }));
  document.querySelector('input').files = data.files;
}

/** Shares files with the page. @param {[string, string, Buffer][]} files each name, kind and bytes */
async function share(t, files) {
  const { page } = t.driver;
  await elsewhere(new URL('share', t.url).href, async (form) => {
    await page.goto(form);
    await t.run(fill, files.map(([name, type, bytes]) => [name, type, bytes.toString('base64')]));
    await Promise.all([page.waitForURL((url) => url.href.startsWith(t.url)), page.click('button')]);
  });
  await t.waitFor(() => window.scrieve?.ready.then(() => true) ?? false);
}

const waiting = (t) => t.run(async () => (await (await caches.open('shared-with-scrieve')).keys()).length);

/** A picture that is shared lies on the empty board; a second one in a job of its own; what is shared doesn't reach the host. */
async function shared(t) {
  const hand = new Hand(t, 3);
  await hand.open();
  await pageKept(t);
  await share(t, [['marsh-hen.webp', 'image/webp', await readFile(HEN)]]);
  await hand.onBoard();
  const { pictures } = await hand.scene();
  equal(pictures.map((one) => one.name), ['marsh-hen.webp'], 'what lies on the board');
  equal([await t.run(() => location.href), await waiting(t)], [t.url, 0], 'the address, and what still waits');
  equal(t.server.requests.filter(({ method }) => method !== 'GET'), [], 'what was posted to the host');
  await hand.tap([628, 110]);
  const name = 'grün & schön.png';
  await share(t, [[name, 'image/png', greyPng(300, 200, (x) => (x < 150 ? 40 : 220))]]);
  await t.waitFor('[data-note="arrived"]');
  equal((await hand.scene()).pictures.map((one) => one.name), [name], 'a job of its own');
  await hand.go('picture');
  await t.waitFor(() => document.querySelectorAll('#job-list .job').length === 2);
  // The first is as it was.
  await t.tapOn('#job-list .job:nth-child(2) .job-open');
  await t.waitFor(() => window.scrieve.scene().pictures[0]?.name === 'marsh-hen.webp');
  // After a reload nothing comes in a second time.
  await t.reload();
  await hand.ready();
  await t.waitFor(() => document.querySelectorAll('#job-list .job').length === 2);
}

/** A form without a file, and one with something that is no picture. */
async function nothing(t) {
  const hand = new Hand(t, 3);
  await hand.open();
  await pageKept(t);
  await share(t, []);
  await t.waitForText('#refused', 'didn’t come through');
  await share(t, [['words.txt', 'text/plain', Buffer.from('no picture')]]);
  await t.waitFor(() => !document.querySelector('#refused').hidden && document.querySelector('#busy').hidden);
  equal([(await hand.scene()).pictures, await waiting(t)], [[], 0], 'what came in');
}

/** Opened with the page: the system's own queue is played by hand, since no browser fills it under a driver. */
async function opened(t) {
  await t.driver.page.addInitScript(() => {
    Object.defineProperty(window, 'launchQueue', { value: { setConsumer: (take) => { window.launch = take; } } });
  });
  const hand = new Hand(t, 3);
  await hand.open();
  await t.run((base64) => {
    const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
    window.launch({ files: [{ getFile: async () => new File([bytes], 'opened.webp', { type: 'image/webp' }) }] });
  }, (await readFile(HEN)).toString('base64'));
  await hand.onBoard();
  equal((await hand.scene()).pictures.map((one) => one.name), ['opened.webp'], 'what was opened');
  // Opened without a file, as by its icon.
  await t.run(() => window.launch({ files: [] }));
  equal((await hand.scene()).pictures.length, 1, 'pictures');
}

/** What the icon's shortcuts ask for, on a page that is open already and on one that is loaded. */
async function shortcuts(t) {
  const { shortcuts: all } = JSON.parse(await readFile(`${DIST}/manifest.webmanifest`, 'utf8'));
  const hand = new Hand(t, 3);
  await hand.open();
  await hand.drop(HEN);
  await t.run(() => window.scrieve.kept().then(() => true));
  assert.deepEqual(all.map(({ url }) => url), ['./#new-job', './#help-first']);
  await t.open('#new-job');
  await t.waitFor(() => window.scrieve.scene()?.pictures.length === 0 && location.hash === '');
  await t.waitFor(() => document.querySelectorAll('#job-list .job').length > 0);
  await t.open('#help-first');
  await t.waitFor('.help[open]');
  await t.reload();
  await hand.ready();
  equal(await t.count('.help'), 0, 'pages of help after a reload');
}

/** What the manifest promises is there, and its icons are as large as it says. */
async function manifest(t) {
  await t.open();
  const found = await t.run(async () => {
    const told = await (await fetch('./manifest.webmanifest')).json();
    const sizes = [];
    for (const { src, sizes: said, purpose } of [...told.icons, ...told.shortcuts.flatMap((one) => one.icons)]) {
      const image = new Image();
      image.src = src;
      await image.decode();
      const canvas = Object.assign(document.createElement('canvas'), { width: 100, height: 100 });
      const brush = canvas.getContext('2d');
      brush.drawImage(image, 0, 0, 100, 100);
      const { data } = brush.getImageData(0, 0, 100, 100);
      // How far from the middle the farthest ink lies, as a share of the width.
      let far = 0;
      for (let y = 0; y < 100; y += 1) for (let x = 0; x < 100; x += 1) if (data[4 * (100 * y + x)] < 128) far = Math.max(far, Math.hypot(x - 49.5, y - 49.5) / 100);
      sizes.push([said === 'any' || said === `${image.naturalWidth}x${image.naturalHeight}`, purpose ?? 'any', far]);
    }
    return { sizes, icon: document.querySelector('link[rel="apple-touch-icon"]').getAttribute('href'), id: told.id };
  });
  for (const [right, purpose, far] of found.sizes) {
    equal(right, true, 'an icon’s size');
    // The safe zone of a maskable icon: a circle of 0.4 of its width.
    if (purpose === 'maskable' && far > 0.4) throw new Error(`ink ${far} from the middle of a maskable icon`);
    if (far < 0.2) throw new Error('an icon without ink');
  }
  equal([found.icon, found.id], ['icons/icon-180.png', './'], 'the home screen’s icon, the id');
  // Chromium's own opinion of it.
  const { errors } = await t.driver.cdp.send('Page.getAppManifest');
  equal(errors, [], 'errors in the manifest');
  const { installabilityErrors } = await t.driver.cdp.send('Page.getInstallabilityErrors');
  equal(installabilityErrors.map((one) => one.errorId), [], 'why it couldn’t be installed');
}

/** A paste of something that is no picture, words or a file, changes nothing and is told. */
async function pasted(t) {
  const hand = new Hand(t, 3);
  await hand.open();
  await hand.drop(HEN);
  const before = (await hand.scene()).undo;
  const paste = (kind) => t.run((what) => {
    const data = new DataTransfer();
    if (what === 'words') data.setData('text/plain', '24 in');
    else data.items.add(new File(['24 in'], 'words.txt', { type: 'text/plain' }));
    document.body.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true }));
  }, kind);
  await paste('words');
  await paste('file');
  await t.waitFor(() => !document.querySelector('#refused').hidden && document.querySelector('#busy').hidden);
  const after = await hand.scene();
  equal([after.undo, after.pictures.length, after.entry ?? null], [before, 1, null], 'the job after a paste');
}

export const tests = [
  { name: 'a picture that is shared lies on the board', browsers: ['chromium'], run: shared },
  { name: 'shared, but nothing came, or no picture', browsers: ['chromium'], run: nothing },
  { name: 'a file that is opened with the page', browsers: ['chromium'], run: opened },
  { name: 'the shortcuts of its icon', browsers: ['chromium'], run: shortcuts },
  { name: 'the manifest, and its icons', browsers: ['chromium'], run: manifest },
  { name: 'a paste of no picture', browsers: ['chromium'], run: pasted },
];
