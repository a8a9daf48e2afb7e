// @ts-check
// Keeps the whole page on the device, so that it works with no network.
//
// One version, one cache, named by the hash of all the bytes; a file enters only when its own hash is right, so
// that a page is never made of two versions. A new version is fetched and then waits until the page asks for
// it or every window has been closed. Only this page's own files are ever asked for.

/** Filled in by scripts/build: each file of this version, with the SHA-256 of its bytes. */
/** @type {{version: string, files: Record<string, string>}} */
const RELEASE = /*release*/ { version: 'none', files: {} } /*release*/;

/** The same as in mill.js: a module with vector instructions, to see whether this browser runs them. */
const VECTORS = Uint8Array.of(
  0, 97, 115, 109, 1, 0, 0, 0, 1, 4, 1, 96, 0, 0, 3, 2, 1, 0, 10, 15, 1, 13, 0, 65, 0, 253, 15, 65, 1, 253, 15,
  253, 110, 26, 11,
);
/** The build of the mill that this browser has no use for. */
const NEEDLESS = WebAssembly.validate(VECTORS) ? 'core/mill_plain_bg.wasm' : 'core/mill_bg.wasm';

const PREFIX = 'scrieve-';
const CACHE = PREFIX + RELEASE.version;
const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const SCOPE = new URL('./', worker.location.href);

/** The file of this version that `url` names, or null when it names none. @param {string} url */
function fileOf(url) {
  const { origin, pathname } = new URL(url);
  if (origin !== SCOPE.origin || !pathname.startsWith(SCOPE.pathname)) return null;
  const path = decodeURIComponent(pathname.slice(SCOPE.pathname.length)) || 'index.html';
  return path in RELEASE.files ? path : null;
}

/** What a file is kept under: its hash is part of it. @param {string} path */
function keyOf(path) {
  return `${SCOPE.href}${path}?sha256=${RELEASE.files[path]}`;
}

/** @param {ArrayBuffer} bytes */
async function sha256(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** Fetches one file and checks it. @param {string} path @returns {Promise<Response>} */
async function fetchFile(path) {
  const response = await fetch(`${SCOPE.href}${path}`, { cache: 'no-cache', credentials: 'omit' });
  if (!response.ok) throw new Error(`${path}: ${response.status}`);
  const bytes = await response.arrayBuffer();
  if ((await sha256(bytes)) !== RELEASE.files[path]) throw new Error(`${path} is of another version`);
  // What the host says of a file (its policy, how it may be framed) goes with it; not how it came over the wire.
  const headers = new Headers(response.headers);
  for (const name of ['Content-Encoding', 'Content-Length', 'Transfer-Encoding', 'Vary']) headers.delete(name);
  return new Response(bytes, { headers });
}

/** All files of use here, from an older version's cache where the hash is the same. */
async function install() {
  const cache = await caches.open(CACHE);
  for (const path of Object.keys(RELEASE.files)) {
    if (path === NEEDLESS) continue;
    const key = keyOf(path);
    if (await cache.match(key)) continue;
    await cache.put(key, (await caches.match(key)) ?? (await fetchFile(path)));
  }
}

/** Throws away the versions before this one. */
async function activate() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== CACHE).map((name) => caches.delete(name)));
}

/** This version's cache, opened once for as long as the worker runs. @type {Promise<Cache> | null} */
let opened = null;

/** @param {string} path @returns {Promise<Response>} */
async function serve(path) {
  opened ??= caches.open(CACHE);
  const cache = await opened;
  const kept = await cache.match(keyOf(path));
  if (kept) return kept;
  // The browser has thrown the cache away: fetch again what is of this version, and nothing else.
  const response = await fetchFile(path);
  await cache.put(keyOf(path), response.clone());
  return response;
}

/**
 * What the page may ask, by `{kind}`, with a port to answer on:
 * - `take-over`: use this version now. Answers `{ok}`; not while another window is open, whose page is of the old one.
 * - `claim`: serve the page that has just loaded, when it is of this very version (`version`).
 * @param {{kind?: string, version?: string} | null} message
 * @returns {Promise<{ok: boolean}>}
 */
async function obey(message) {
  if (message?.kind === 'take-over') {
    const windows = await worker.clients.matchAll({ type: 'window', includeUncontrolled: true });
    if (windows.length > 1) return { ok: false };
    await worker.skipWaiting();
    return { ok: true };
  }
  if (message?.kind === 'claim' && message.version === RELEASE.version && worker.registration.active) {
    await worker.clients.claim();
    return { ok: true };
  }
  return { ok: false };
}

/** Where what was shared waits until a page takes it (arrive.js); no version's, so that a new one leaves it alone. */
const SHARED = 'shared-with-scrieve';

/**
 * Pictures and job files that another app hands on (`share_target` of the manifest): the page is opened and finds them. A host of
 * static files could do nothing with them, and they never get there.
 * @param {Request} request
 */
async function takeShared(request) {
  try {
    const cache = await caches.open(SHARED);
    const fields = (await request.formData()).getAll('files');
    const files = /** @type {File[]} */ (fields.filter((one) => one instanceof File && (one.size > 0 || one.name !== '')));
    for (const [i, file] of files.entries()) {
      const headers = { 'Content-Type': file.type, 'X-Name': encodeURIComponent(file.name) };
      await cache.put(`${SCOPE.href}share/${Date.now()}-${i}`, new Response(file, { headers }));
    }
  } catch {
    // The page finds nothing, and says so.
  }
  return Response.redirect(`${SCOPE.href}#shared`, 303);
}

worker.addEventListener('install', (event) => event.waitUntil(install()));
worker.addEventListener('activate', (event) => event.waitUntil(activate()));
worker.addEventListener('message', (event) => {
  event.waitUntil(obey(event.data).then((answer) => event.ports[0]?.postMessage(answer)));
});
worker.addEventListener('fetch', (event) => {
  const { method, url } = event.request;
  if (method === 'POST' && url === `${SCOPE.href}share`) event.respondWith(takeShared(event.request));
  if (method !== 'GET') return;
  const path = fileOf(url);
  if (path !== null) event.respondWith(serve(path));
});
