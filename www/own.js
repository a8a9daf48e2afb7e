// How the page gets at its own code: another instance of the core, a Worker, a style sheet that comes late. The one-file edition has its own way
// (scripts/lib/one.js stands in this file's place there).

/** @typedef {import('./types/page').Core} Core */

/** How many times a core's module has been asked for; each is an instance of its own. */
let instances = 0;

/**
 * A new instance of the core. The glue keeps one instance a module, and modules are told apart by their
 * whole address, so a fragment gives a fresh one from the same cached file.
 * @param {'desk' | 'whole'} kind the one that a page begins with, or the one with all there is
 * @returns {Promise<Core>}
 */
export async function freshCore(kind) {
  const address = instances === 0 ? `./core/${kind}.js` : `./core/${kind}.js#${instances}`;
  instances += 1;
  // Both are asked for at once: neither is of use without the other.
  const bytes = fetch(new URL(`./core/${kind}_bg.wasm`, import.meta.url));
  bytes.catch(() => {});
  const core = /** @type {Core} */ (await import(address));
  await core.default({ module_or_path: bytes });
  return core;
}

/** @type {{ createScriptURL: (url: string) => string } | undefined} */
const policy = /** @type {any} */ (globalThis).trustedTypes?.createPolicy('scrieve', {
  /** Scripts are only ever what the page has made itself, and its service worker. @param {string} url */
  createScriptURL(url) {
    if (url.startsWith('blob:') || url === './sw.js') return url;
    throw new TypeError('not a script of this page');
  },
});

/** An address that a browser takes for a script's where it asks for more than text (Trusted Types). @param {string} url @returns {string} */
export const ownScript = (url) => policy?.createScriptURL(url) ?? url;

/** A style sheet that is fetched when it is first needed. @param {string} href @returns {Promise<void>} */
export function dressed(href) {
  if (document.querySelector(`link[href="${href}"]`)) return Promise.resolve();
  const link = document.createElement('link');
  link.rel = 'stylesheet';
  link.href = href;
  return new Promise((resolve) => {
    link.onload = link.onerror = () => resolve();
    document.head.append(link);
  });
}

/**
 * A page's `<meta>` policy doesn't reach a Worker that is fetched from a server, but it is inherited by one
 * that is made from a blob: so the Worker begins as a blob that does nothing but import the real thing. It imports
 * while it runs: what such a blob imports before, Firefox fetches past the service worker, and without a network
 * not at all. What is asked meanwhile waits.
 * @param {string} file @param {string} name
 */
export function startWorker(file, name) {
  const real = JSON.stringify(String(new URL(file, import.meta.url)));
  const source = `
    const early = [];
    self.onmessage = (event) => early.push(event);
    import(${real}).then(
      () => early.splice(0).forEach((event) => self.onmessage(event)),
      (reason) => setTimeout(() => { throw reason; }),
    );`;
  const url = URL.createObjectURL(new Blob([source], { type: 'text/javascript' }));
  const worker = new Worker(ownScript(url), { type: 'module', name });
  // Some browsers fetch the blob later than this line; a minute is plenty, and a blob of 60 bytes is nothing.
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
  return worker;
}
