// The press: a Worker with the part of the core that makes sheets and shapes. It is started when it is first needed,
// and ended to stop it.

import { later, reply } from './work.js';

/** @typedef {import('./types/press').Ask} Ask */
/** @typedef {import('./types/press').PressCore} PressCore */
/** @typedef {import('./types/press').PressWork} PressWork */

/** @type {Promise<PressCore>} */
const core = import(String(new URL('./core/press.js', import.meta.url))).then(async (module) => {
  await module.default({ module_or_path: new URL('./core/press_bg.wasm', import.meta.url) });
  return module;
});

/** @param {string} name */
async function typeOf(name) {
  const response = await fetch(new URL(`./fonts/${name}`, import.meta.url));
  if (!response.ok) throw new Error(`${name}: ${response.status}`);
  return new Uint8Array(await response.arrayBuffer());
}

/** The type that sheets are set in, once it is needed. @type {Promise<Uint8Array[]> | null} */
let type = null;

/** @typedef {import('./types/press').Given} Given */

/** Handed what was asked for. @type {(given: Given | null) => void} */
let taken = () => {};

/** @param {string} order @returns {Promise<PressWork>} */
async function begin(order) {
  const door = await core;
  type ??= Promise.all([typeOf('sheet-400.type'), typeOf('sheet-600.type')]);
  const [regular, bold] = await type;
  return new door.Press(order, regular, bold);
}

/** Boards are laid out well enough. */
let enough = false;

/** Lays boards out until no more is to be won, or the person has had enough. @param {string} order */
async function boards(order) {
  const work = new (await core).Boards(order);
  enough = false;
  try {
    for (;;) {
      const [done, of] = work.step();
      self.postMessage({ done, of, boards: true });
      if (done >= of || enough) return work.shown();
      await later();
    }
  } finally {
    work.free();
  }
}

/** What the page has of a picture. @param {import('./types/press').Window} wants @returns {Promise<Given | null>} */
function asked(wants) {
  /** @type {Promise<Given | null>} */
  const given = new Promise((resolve) => {
    taken = resolve;
  });
  self.postMessage({ wants });
  return given;
}

/** Makes what takes time; to stop it the Worker is ended, so it need not give way in between. @param {PressWork} work */
async function run(work) {
  for (;;) {
    const [picture, x, y, width, height] = work.wants();
    if (width > 0) {
      const given = await asked({ picture, x, y, width, height });
      if (!given) throw { key: 'sheet.no-picture', args: [] };
      work.give(given.pixels);
    }
    const [done, of] = work.step();
    self.postMessage({ done, of });
    if (done >= of) return;
  }
}

/** Pictures' own files go into a PDF as they are where they can. @param {PressWork} work */
async function reuse(work) {
  for (const picture of work.reusable()) {
    const file = await asked({ picture, x: 0, y: 0, width: 0, height: 0 });
    if (file?.pixels.length) work.reuse(picture, file.pixels, file.orientation ?? 1);
  }
}

/** @param {Ask} ask @returns {Promise<any>} */
async function answer(ask) {
  if (ask.kind === 'shape') return (await core).shape(ask.ask);
  if (ask.kind === 'boards') return boards(ask.order);
  const work = await begin(ask.order);
  try {
    if (ask.kind === 'plan') return work.plan();
    if (ask.kind === 'svg') return work.svg(ask.piece);
    if (ask.kind === 'pdf') await reuse(work);
    await run(work);
    if (ask.kind === 'print') return work.plan().sheets.map(({ size }, i) => ({ size, svg: work.sheet(i) }));
    return work.pdf();
  } finally {
    work.free();
  }
}

/** @param {unknown} made @returns {Transferable[]} */
const movable = (made) => (made instanceof Uint8Array ? [made.buffer] : []);

self.onmessage = (/** @type {MessageEvent<import('./types/press').ToPress>} */ { data }) => {
  if ('enough' in data) enough = true;
  else if ('pixels' in data) taken(data.pixels && data);
  else void reply(data, answer, movable);
};
