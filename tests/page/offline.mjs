// With no network; with a new version; and what is asked of the network at all.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { DIST } from '../browser/context.mjs';
import { serveFiles } from '../../scripts/lib/server.mjs';
import { versionOf, withNewVersion } from './_versions.mjs';

const ALL = ['chromium', 'firefox', 'webkit'];

/** Chromium reports a script's failed fetch as an error of the page. */
const CUT_OFF = /ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|ERR_FAILED|Failed to load resource/;

const ready = (t) => t.waitFor(() => window.scrieve?.ready.then(() => true) ?? false);
/** The worker holds every file, and serves this page. */
const kept = (t) => t.waitFor(() => navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller !== null));

/** What the worker was told to keep, from the very file that is served. */
async function release(dir = DIST) {
  const text = await readFile(join(dir, 'sw.js'), 'utf8');
  return JSON.parse(text.match(/RELEASE = ({[^]*?});/)[1]);
}

/** Run in the page: has a new version been fetched, and does it wait? */
const waits = () => navigator.serviceWorker.getRegistration().then((r) => Boolean(r?.waiting));

export const tests = [
  {
    name: 'a second visit works with the network pulled',
    browsers: ALL,
    quick: true,
    run: async (t) => {
      await t.open();
      await ready(t);
      await kept(t);
      const version = await versionOf(t);
      await t.offline(true);
      t.expected.push(CUT_OFF);
      await t.reload();
      await ready(t);
      assert.equal(await versionOf(t), version);
      await t.screenshot('offline');
    },
  },
  {
    name: 'what the host says of its files still holds with no network',
    browsers: ['chromium'],
    run: async (t) => {
      const said = { 'Cross-Origin-Opener-Policy': 'same-origin', 'Cross-Origin-Embedder-Policy': 'require-corp' };
      const host = await serveFiles(DIST, { headers: said });
      try {
        await t.open(host.url);
        await ready(t);
        await kept(t);
        await t.reload();
        await ready(t);
        const got = await t.run(async () => {
          const { headers } = await fetch('./index.html');
          return [crossOriginIsolated, headers.get('Cross-Origin-Opener-Policy'), headers.get('Cross-Origin-Embedder-Policy')];
        });
        assert.deepEqual(got, [true, 'same-origin', 'require-corp']);
      } finally {
        await host.stop();
      }
    },
  },
  {
    name: 'and after the browser was closed in between',
    browsers: ['chromium', 'firefox'],
    run: async (t) => {
      await t.open();
      await ready(t);
      await kept(t);
      await t.restart();
      await t.offline(true);
      t.expected.push(CUT_OFF);
      await t.open();
      await ready(t);
    },
  },
  {
    name: 'every file is kept under its hash, and answers with the right bytes',
    browsers: ['chromium'],
    run: async (t) => {
      await t.open();
      await ready(t);
      await kept(t);
      await t.offline(true);
      t.expected.push(CUT_OFF);
      const { files } = await release();
      // The build of the mill that this browser has no use for isn't kept.
      assert.ok(delete files['core/mill_plain_bg.wasm']);
      const needless = await t.run(() => fetch('core/mill_plain_bg.wasm').then(() => 'kept', () => 'not kept'));
      assert.equal(needless, 'not kept');
      const got = await t.run(async (names) => {
        const hash = async (name) => {
          const digest = await crypto.subtle.digest('SHA-256', await (await fetch(name)).arrayBuffer());
          return Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, '0')).join('');
        };
        return Object.fromEntries(await Promise.all(names.map(async (name) => [name, await hash(name)])));
      }, Object.keys(files));
      assert.ok(Object.keys(files).length > 8);
      assert.deepEqual(got, files);
    },
  },
  {
    name: 'a new version waits until it is taken, and is then whole',
    browsers: ['chromium', 'firefox'],
    run: (t) => withNewVersion(async (dir) => {
      await t.open();
      await ready(t);
      await kept(t);
      const old = await versionOf(t);
      t.server.dir = dir;
      await t.run(() => navigator.serviceWorker.getRegistration().then((r) => r.update()).then(() => true));
      await t.waitFor(waits);
      // Not forced: the open page, and one loaded afresh, are of the old version still.
      await t.reload();
      await ready(t);
      assert.equal(await versionOf(t), old);
      assert.equal(await t.waitFor(waits), true);
      // Taken when the person says so: as the page does it.
      await t.run(async () => {
        const { waiting } = await navigator.serviceWorker.getRegistration();
        const { port1, port2 } = new MessageChannel();
        const answer = new Promise((resolve) => { port1.onmessage = (event) => resolve(event.data); });
        waiting.postMessage({ kind: 'take-over' }, [port2]);
        return answer;
      });
      await t.waitFor(() => navigator.serviceWorker.getRegistration().then((r) => !r.waiting && r.active?.state === 'activated'));
      await t.reload();
      await ready(t);
      const { version } = await release(dir);
      assert.notEqual(version, old);
      assert.equal(await versionOf(t), version);
      assert.deepEqual(await t.waitFor(() => caches.keys().then((names) => (names.length === 1 ? names : null))), [`scrieve-${version}`]);
    }),
  },
  {
    name: 'while another window is open, no version is changed under it',
    browsers: ['chromium'],
    run: (t) => withNewVersion(async (dir) => {
      await t.open();
      await ready(t);
      await kept(t);
      const other = await t.driver.context.newPage();
      await other.goto(t.url);
      t.server.dir = dir;
      await t.run(() => navigator.serviceWorker.getRegistration().then((r) => r.update()).then(() => true));
      await t.waitFor(waits);
      const answer = await t.run(async () => {
        const { waiting } = await navigator.serviceWorker.getRegistration();
        const { port1, port2 } = new MessageChannel();
        const told = new Promise((resolve) => { port1.onmessage = (event) => resolve(event.data); });
        waiting.postMessage({ kind: 'take-over' }, [port2]);
        return told;
      });
      assert.deepEqual(answer, { ok: false });
      assert.equal(await t.run(waits), true);
    }),
  },
  {
    name: 'files of two versions are never mixed in one cache',
    browsers: ['chromium'],
    run: (t) => withNewVersion(async (dir) => {
      // A host in the middle of an upload: the new worker, but the page's old index.html.
      await t.open();
      await ready(t);
      await kept(t);
      const old = await versionOf(t);
      t.server.dir = dir;
      const { cp } = await import('node:fs/promises');
      await cp(join(DIST, 'index.html'), join(dir, 'index.html'));
      const state = await t.run(async () => {
        const registration = await navigator.serviceWorker.getRegistration();
        const found = new Promise((resolve) => registration.addEventListener('updatefound', () => resolve(registration.installing), { once: true }));
        registration.update();
        const worker = await found;
        if (worker.state === 'installing') await new Promise((resolve) => worker.addEventListener('statechange', resolve, { once: true }));
        return worker.state;
      });
      assert.equal(state, 'redundant');
      await t.reload();
      await ready(t);
      assert.equal(await versionOf(t), old);
    }),
  },
  {
    name: 'only the page\'s own files are asked for, once each',
    browsers: ['chromium'],
    quick: true,
    run: async (t) => {
      const asked = [];
      t.driver.context.on('request', (request) => asked.push(request.url()));
      await t.open();
      await ready(t);
      await kept(t);
      const { files } = await release();
      const own = new Set([...Object.keys(files), 'sw.js', '']);
      const strange = asked.filter((url) => !/^(blob|data):/.test(url) && !(url.startsWith(t.url) && own.has(url.slice(t.url.length))));
      assert.deepEqual(strange, []);
      assert.deepEqual(t.server.requests.filter(({ method, url }) => method !== 'GET' || !own.has(url.slice(1))), []);
      // Nothing of the person's travels with them: no query, no body.
      assert.deepEqual(t.requests().filter((url) => url.includes('?')), []);
    },
  },
];

/** Run in a Worker made as the page's own are, from a blob: does a fetch get through to `url`? */
async function fromWorker(url) {
  const { ownScript } = await import('/own.js');
  const source = 'onmessage = (event) => fetch(event.data).then(() => postMessage("through"), (error) => postMessage(`refused: ${error.message}`));';
  const worker = new Worker(ownScript(URL.createObjectURL(new Blob([source], { type: 'text/javascript' }))));
  const answer = new Promise((resolve) => { worker.onmessage = (event) => resolve(event.data); });
  worker.postMessage(url);
  return answer.finally(() => worker.terminate());
}

/** A second server, which would gladly answer anyone. */
async function stranger() {
  return serveFiles(DIST, { headers: { 'Access-Control-Allow-Origin': '*' } });
}

tests.push(
  {
    name: 'nothing gets out: neither from the page nor from a Worker',
    browsers: ALL,
    quick: true,
    run: async (t) => {
      const other = await stranger();
      t.expected.push(/Content[ -]Security[ -]Policy|violates|Refused to|access control checks|NetworkError|favicon\.ico/i);
      try {
        await t.open();
        await ready(t);
        const target = `${other.url}version.txt`;
        assert.match(await t.run(fromWorker, target), /^refused/);
        const ways = await t.run(async (url) => {
          const image = () => new Promise((resolve) => {
            const picture = new Image();
            picture.onload = () => resolve('through');
            picture.onerror = () => resolve('refused');
            picture.src = `${url}?image`;
          });
          const form = () => {
            const element = document.createElement('form');
            element.action = url;
            element.target = '_blank';
            document.body.append(element);
            element.requestSubmit();
            element.remove();
            return 'sent off';
          };
          return [
            await fetch(url).then(() => 'through', () => 'refused'),
            await image(),
            await import(`${url}?module`).then(() => 'through', () => 'refused'),
            navigator.sendBeacon ? (navigator.sendBeacon(`${url}?beacon`, 'x'), 'asked') : 'asked',
            form(),
          ];
        }, target);
        assert.deepEqual(ways, ['refused', 'refused', 'refused', 'asked', 'sent off']);
        // A fetch of the page's own shows that time enough has passed for the others.
        await t.run(() => fetch('./index.html').then((answer) => answer.status));
        assert.deepEqual(other.requests, []);
        // And the very same Worker gets through where no policy holds it, so the test can fail.
        await t.open(`${other.url}version.txt`);
        assert.equal(await t.run(fromWorker, `${other.url}version.txt`), 'through');
      } finally {
        await other.stop();
      }
    },
  },
  {
    name: 'the page carries the whole policy',
    browsers: ['chromium'],
    quick: true,
    run: async (t) => {
      await t.open();
      const policy = (text) => Object.fromEntries(text.split(';').map((part) => part.trim().split(/\s+/)).filter(([name]) => name)
        .map(([name, ...sources]) => [name, sources.sort().join(' ')]));
      const own = policy(await t.attr('meta[http-equiv="Content-Security-Policy"]', 'content'));
      // From a reading of CSP Level 3; 'wasm-unsafe-eval' is the only way to start WebAssembly under it.
      assert.deepEqual(own, policy("default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; "
        + "font-src 'self'; connect-src 'self'; worker-src 'self' blob:; manifest-src 'self'; base-uri 'none'; form-action 'none'; "
        + "require-trusted-types-for 'script'; trusted-types scrieve"));
      const headers = await readFile(join(DIST, '_headers'), 'utf8');
      const hosts = policy(headers.match(/Content-Security-Policy: (.*)/)[1]);
      assert.deepEqual(hosts, { ...own, 'frame-ancestors': "'none'" });
    },
  },
);
