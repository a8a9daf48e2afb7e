// A person at the board: a hand that lands as roughly as a finger does and then looks where it slides, and an eye
// that reads what the board says. Whole jobs are done with it, in any browser.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
import { random } from '../random.mjs';

export const ALL = ['chromium', 'firefox', 'webkit'];

/** The example that comes with the page: seed 1 of tests/demo/marsh_hen.py in its small edition, and its truth. */
export const HEN = join(ROOT, 'www/examples/marsh-hen.webp');
export const henTruth = async () => JSON.parse(await readFile(join(ROOT, 'tests/demo/marsh-hen.json'), 'utf8'));

/** Pairs of normal numbers from a seed, mean 0 and SD 1 (Box and Muller, 1958). */
export function normal(seed) {
  const next = random(seed);
  return () => {
    const r = Math.sqrt(-2 * Math.log(1 - next()));
    const a = 2 * Math.PI * next();
    return [r * Math.cos(a), r * Math.sin(a)];
  };
}

/** Where a feature of the drawn truth ends, picture px, and how long it is, mm. */
export function feature(truth, view, name) {
  const found = truth.features.find((one) => one.view === view && one.name === name);
  if (!found) throw new Error(`the truth has no ${name} in the ${view} view`);
  return found;
}

/** The body of the drawing, 184 mm there, is wanted this long, mm: 24 in. */
export const BODY = 24 * 25.4;
/** How long a thing drawn `mm` long is then. */
export const built = (mm) => (mm * BODY) / 184;

export function equal(got, expected, what) {
  const [a, b] = [JSON.stringify(got), JSON.stringify(expected)];
  if (a !== b) throw new Error(`${what}: got ${a}, expected ${b}`);
}

/** A bare finger lands within 4 mm 95 times in 100 (Holz & Baudisch, CHI 2011, the far end): its SD each way, CSS px. */
const FINGER = 8.5;
/** It is never more than this off here, CSS px: who sees it land farther off touches again. */
const FARTHEST = 20;
/** How fast a careful hand slides, CSS px per ms: below this it is as fine as the magnified window (www/touch.js). */
const CAREFUL = 0.2;
/** Its slide between two looks, CSS px, at least and at most. */
const STRIDE = [5, 24];
/** A press becomes a slide after this much, CSS px. */
const START = 10;
/** Close enough for an eye at the magnified window, CSS px. */
const CLOSE = 0.55;
/** As far off as an eye sees at the magnified window, CSS px. */
const SEEN = 2;
/** A hand that is no nearer after so many more looks gets nowhere. */
const MOST_LOOKS = 120;

/** Run in the page: what is held and where, after everything asked for (of the pixels, too) has been drawn. */
function look() {
  return new Promise((resolve) => {
    const still = () => requestAnimationFrame(() => (window.scrieve.sought() ? resolve(window.scrieve.scene()) : still()));
    requestAnimationFrame(still);
  });
}

/** Run in the page: where the held end is, drawn and all: a slide is taken in once a frame. */
function heldAt() {
  return new Promise((resolve) => { requestAnimationFrame(() => resolve(window.scrieve.scene().hand.at)); });
}

/** Run in the page: where a place of the picture is on the screen, and what lies there. */
async function placeOf(x, y) {
  await new Promise((resolve) => {
    const still = () => requestAnimationFrame(() => (window.scrieve.sought() ? resolve() : still()));
    requestAnimationFrame(still);
  });
  const [sx, sy] = window.scrieve.toScreen(x, y);
  const top = document.elementFromPoint(sx, sy);
  return { x: sx, y: sy, on: top?.closest('#magnifier') ? 'glass' : top?.id ?? 'nothing' };
}

/** Run in the page: the middle of the magnified window, or of the board where there is none yet. */
function slideFrom(selector, dx, dy) {
  const { left, top, width, height } = document.querySelector(selector).getBoundingClientRect();
  // From its middle, or from as near to that as leaves room on the screen for the whole way.
  const from = (start, size, way, screen) => {
    const room = 30;
    const [least, most] = [room - Math.min(0, way), screen - room - Math.max(0, way)];
    const wanted = Math.min(Math.max(start + size / 2, least), most);
    return Math.round(Math.min(Math.max(wanted, start + room), start + size - room));
  };
  return { x: from(left, width, dx, window.innerWidth), y: from(top, height, dy, window.innerHeight) };
}

/** Waits until all of the page is kept for a visit without a network. */
export const pageKept = (t) => t.waitFor(() => navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller !== null));

/** Pulls the network once all of the page is kept, and loads it anew without. @returns {Promise<number>} requests until then */
export async function unplugged(t, hand) {
  // What a browser says of a fetch that fails; the page itself must not stumble over it.
  t.expected.push(/ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|ERR_FAILED|Failed to load resource/);
  await hand.open();
  await pageKept(t);
  const asked = t.server.requests.length;
  await t.offline(true);
  await t.reload();
  await hand.ready();
  return asked;
}

/** Run in the page: screen px per picture px in the magnified window, as www/magnifier.js has it. */
function glassZoom() {
  return Math.max(4 * window.scrieve.zoom(), 3);
}

export class Hand {
  /** @param {import('../browser/context.mjs').Context} t @param {number} seed how its finger lands */
  constructor(t, seed = 1) {
    this.t = t;
    this.lands = normal(seed);
    /** Every sentence and key that had to be read, once each. @type {Set<string>} */
    this.read = new Set();
  }

  scene() {
    return this.t.run(look);
  }

  /** Opens the page; waits for the core. */
  async open() {
    await this.t.open();
    await this.ready();
  }

  async ready() {
    await this.t.waitFor(() => window.scrieve?.ready.then(() => true) ?? false);
  }

  /** Finds a picture by the system's chooser; waits until it is on the board. */
  async find(file) {
    await this.reads('#guide');
    await this.reads('[data-key="find-picture"]');
    await this.t.chooseFile(file, '#file-picture', '[data-key="find-picture"]');
    await this.onBoard();
  }

  /** Drops a picture on the board. */
  async drop(file, name) {
    await this.t.dropFile(file, '#floor', name);
    await this.onBoard();
  }

  /** Waits until a picture lies on the board and nothing is being opened. */
  async onBoard() {
    await this.t.waitFor(() => window.scrieve.scene().picture != null && document.querySelector('#busy').hidden
      && window.scrieve.sought());
  }

  /** Takes in what a person has to read there. @param {string} selector */
  async reads(selector) {
    const text = (await this.t.text(selector))?.trim();
    if (text) this.read.add(text);
  }

  /** How many words have been read. */
  get words() {
    return [...this.read].join(' ').split(/\s+/).filter((word) => /[\p{L}\p{N}]/u.test(word)).length;
  }

  /**
   * One touch at a place of the picture, as exactly as a finger can. Where the magnified window lies over it,
   * a touch first sends that away.
   * @param {[number, number]} place picture px @param {boolean} [rough] as a finger lands
   */
  async tap([x, y], rough = false) {
    let spot = await this.t.run(placeOf, x, y);
    for (let hops = 0; spot.on === 'glass' && hops < 3; hops += 1) {
      await this.t.tap(spot.x, spot.y);
      spot = await this.t.run(placeOf, x, y);
    }
    if (spot.on !== 'board') throw new Error(`can't touch ${x}, ${y}: ${spot.on} lies there`);
    const [dx, dy] = rough ? this.off() : [0, 0];
    await this.t.tap(spot.x + dx, spot.y + dy);
  }

  /** How far off the finger lands, CSS px. */
  off() {
    const [a, b] = this.lands();
    const far = Math.hypot(a, b) * FINGER;
    const k = Math.min(1, FARTHEST / far) * FINGER;
    return [a * k, b * k];
  }

  /**
   * Slides the held end to its true place in one slow touch on the magnified window, looking at every frame.
   * @param {[number, number]} place picture px
   */
  async slideTo(place) {
    const { t } = this;
    await t.waitFor(() => !document.querySelector('#magnifier').hidden && window.scrieve.sought());
    const zoom = await t.run(glassZoom);
    const left = async () => {
      const at = await t.run(heldAt);
      return [(place[0] - at[0]) * zoom, (place[1] - at[1]) * zoom];
    };
    let [dx, dy] = await left();
    const from = await t.run(slideFrom, '#magnifier', dx, dy);
    const finger = await t.finger(from);
    const go = Math.max(1, Math.hypot(dx, dy));
    // An end that is right already is taken in hand as well: only what was seen to counts as seen.
    const way = dx === 0 && dy === 0 ? [1, 0] : [dx / Math.hypot(dx, dy), dy / Math.hypot(dx, dy)];
    const at = { x: from.x + Math.round(START * way[0]), y: from.y + Math.round(START * way[1]) };
    await finger.slide({ ...at });
    let moved = performance.now();
    let nearest = Infinity;
    for (let looks = 0; ; looks += 1) {
      [dx, dy] = await left();
      const far = Math.hypot(dx, dy);
      if (far <= CLOSE || (Math.abs(dx) <= 0.5 && Math.abs(dy) <= 0.5)) break;
      if (far < nearest) [nearest, looks] = [far, 0];
      if (looks > MOST_LOOKS) throw new Error(`the end is still ${far} screen px from its place`);
      const now = performance.now();
      const stride = Math.min(STRIDE[1], Math.max(STRIDE[0], CAREFUL * (now - moved)));
      moved = now;
      const k = Math.min(1, stride / far);
      // A browser's driver knows whole px only: the nearest.
      at.x += Math.round(dx * k);
      at.y += Math.round(dy * k);
      await finger.slide({ ...at });
    }
    await finger.lift();
    await this.scene();
  }

  /** One end: a touch as a finger lands, and a slide to its true place. */
  async end(place) {
    await this.tap(place, true);
    await this.t.waitFor(() => window.scrieve.scene().hand != null);
    await this.slideTo(place);
  }

  /**
   * One end as whoever counts touches puts it: a touch, and only where the magnified window then shows it somewhere else a
   * slide; what it has caught there but wasn't meant for is let go.
   * @param {[number, number]} place picture px @param {boolean} [edge] anywhere along the edge that runs there will do
   */
  async aim(place, edge = false) {
    await this.tap(place, true);
    await this.t.waitFor(() => window.scrieve.scene().hand != null && window.scrieve.sought());
    /** How far off it is seen to be, CSS px; along what it holds, an end stays where it was put. */
    const off = async (/** @type {boolean} */ along) => {
      const { hold, at } = (await this.scene()).hand;
      const [dx, dy] = [at[0] - place[0], at[1] - place[1]];
      const far = hold?.along && along ? Math.abs(dx * hold.along[1] - dy * hold.along[0]) : Math.hypot(dx, dy);
      return { far: far * await this.t.run(glassZoom), held: hold != null };
    };
    const first = await off(edge);
    if (first.held && first.far <= SEEN) return;
    await this.slideTo(place);
    const { far, held } = await off(true);
    if (!held || far <= SEEN) return;
    // What was asked of a last corner comes too early.
    const asked = (await this.scene()).entry != null;
    if (asked) await this.t.tapOn('#entry-ways [data-key="dismiss"]');
    await this.press('loosen');
    if (asked) await this.press('give-size');
  }

  /** Both ends of one thing. @param {[number, number][]} ends picture px */
  async length([a, b]) {
    await this.end(a);
    await this.reads('#guide');
    await this.end(b);
  }

  /** Types on the keypad, a touch a key. @param {string[]} keys */
  async type(...keys) {
    await this.reads('#entry-title');
    for (const key of keys) await this.t.tapOn(`[data-pad="${key}"]`);
  }

  /** Touches a key by its steady name. */
  async press(key) {
    await this.reads(`[data-key="${key}"] .key-label`);
    await this.t.tapOn(`[data-key="${key}"]`);
  }

  /** The body of the drawing on the board is touched, and wanted 24 in long. */
  async wantBody(truth) {
    await this.length(feature(truth, 'top', 'body, nose to tail').points);
    await this.type('2', '4');
    await this.press('i-want-it');
  }

  /** From an empty page, by the chooser, to the last step: the outlines of all views are taken, the body is to be 24 in long. */
  async outlined() {
    await this.open();
    const truth = await henTruth();
    await this.find(HEN);
    await this.wantBody(truth);
    await this.press('tool-outline');
    await this.press('take-outlines');
    await this.go('lists');
    return truth;
  }

  /** From an empty page to a body that is wanted so long. @returns {Promise<any>} the drawing's truth */
  async begin() {
    const truth = await henTruth();
    await this.open();
    await this.drop(HEN);
    await this.wantBody(truth);
    return truth;
  }

  /** Opens one of the five steps. @param {string} step its steady name */
  async go(step) {
    await this.t.tapOn(`#steps [data-step="${step}"]`);
    // The first time it may have to wait for the whole core.
    await this.t.waitFor((wanted) => window.scrieve.scene().step === wanted, step);
  }

  /** A row of the size board as it is, and as it stands on the screen. @param {number} id */
  async row(id) {
    const row = (await this.scene()).rows.find((one) => one.id === id);
    if (!row) throw new Error(`there is no row ${id}`);
    const pm = await this.t.text(`[data-row="${id}"] .row-pm`);
    const figure = await this.t.attr(`[data-row="${id}"] .row-figure`, 'data-text');
    return { ...row, shown: { pm, figure } };
  }

  /** The id of the newest mark. */
  async newest() {
    return (await this.scene()).rows.at(-1).id;
  }
}

/**
 * A size is right when the truth lies within the ± that stands beside it.
 * @param {{value: number, minus: number, plus: number, pm: string, unrounded: string}} size
 * @param {number} truth mm
 */
export function within(size, truth, what) {
  const off = truth - size.value;
  if (!(size.plus > 0 && size.minus > 0) || !(off <= size.plus && -off <= size.minus)) {
    throw new Error(`${what}: ${size.unrounded} ${size.pm}, but the truth is ${truth} mm (${off.toFixed(4)} mm more; −${size.minus} +${size.plus})`);
  }
}
