// The one script of the one-file edition. `modules` and `files` are filled in by scripts/lib/one.mjs; `start` runs the page, or in a
// Worker what the Worker's name says.
(() => {
  'use strict';
  const modules = { /*modules*/ };
  /** Each file: its kind, and its bytes in base64. */
  const files = { /*files*/ };
  const BASE = 'one:/';
  const made = new Map();

  const pathOf = (address) => String(new URL(address, BASE)).slice(BASE.length);

  function fetchOwn(address) {
    const found = files[pathOf(address instanceof Request ? address.url : address).split(/[?#]/)[0]];
    if (!found) return Promise.reject(new TypeError(`there is no ${address}`));
    const bytes = Uint8Array.from(atob(found[1]), (letter) => letter.charCodeAt(0));
    return Promise.resolve(new Response(bytes, { headers: { 'Content-Type': found[0] } }));
  }

  /** A module, made once; one whose address ends in `#…` is an instance of its own. */
  function take(address, from = BASE) {
    const path = String(new URL(address, from)).slice(BASE.length);
    const kept = made.get(path);
    if (kept) return kept.exports;
    const module = { exports: {} };
    made.set(path, module);
    const own = path.split('#')[0];
    if (!modules[own]) throw new Error(`there is no module ${own}`);
    modules[own](module, module.exports, (other) => take(other, `${BASE}${own}`), fetchOwn, `${BASE}${own}`);
    return module.exports;
  }

  take(typeof document === 'undefined' ? self.name.split(' ')[0] : './main.js');
})();
