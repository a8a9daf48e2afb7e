// Stands in the place of www/own.js in the one-file edition. There are no files to import from a disk: every module stands in the
// page's one script, and a Worker is begun with that very script, as text, which is why it is a classic one.

let instances = 0;

/** As in www/own.js; everything is here already, so that the whole core is the only one. */
export async function freshCore() {
  instances += 1;
  const core = await import(`./core/whole.js#${instances}`);
  await core.default({ module_or_path: new URL('./core/whole_bg.wasm', import.meta.url) });
  return core;
}

const policy = globalThis.trustedTypes?.createPolicy('scrieve', {
  createScriptURL(url) {
    if (url.startsWith('blob:')) return url;
    throw new TypeError('not a script of this page');
  },
});

/** As in www/own.js; there is no service worker, since no browser has one for a file on a disk. */
export const ownScript = (url) => policy?.createScriptURL(url) ?? url;

/** As in www/own.js; here all style sheets stand in the page. */
export const dressed = () => Promise.resolve();

let address = '';

/** As in www/own.js. */
export function startWorker(file, name) {
  // A worker's name says what it is to run: nothing else is handed to it before it begins.
  address ||= URL.createObjectURL(new Blob([document.getElementById('whole').textContent], { type: 'text/javascript' }));
  return new Worker(ownScript(address), { name: `${file} ${name}` });
}
