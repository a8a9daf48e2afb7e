// What a page test holds: one browser with a profile of its own, one server, and a count of touches. The
// same few verbs in every browser.
import { mkdir, readFile } from 'node:fs/promises';
import { dirname, extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { serveFiles } from '../../scripts/lib/server.mjs';

export const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
export const DIST = join(ROOT, 'dist');
const SCREENS = join(ROOT, 'build/screens');

/** The system's own chooser: touch the file, touch "open". */
const CHOOSER_TOUCHES = 2;

const TYPES = { '.png': 'image/png', '.jpg': 'image/jpeg', '.jpeg': 'image/jpeg', '.webp': 'image/webp', '.gif': 'image/gif' };

/** Run in the page. The middle of an element, scrolled to if need be, and what really lies there. */
function spot(selector) {
  const element = document.querySelector(selector);
  if (!element) return { problem: 'there is no such element' };
  if (element.disabled) return { problem: 'it is disabled' };
  const { top: before } = element.getBoundingClientRect();
  element.scrollIntoView({ block: 'nearest', inline: 'nearest' });
  const box = element.getBoundingClientRect();
  if (box.width === 0 || box.height === 0) return { problem: 'it has no size' };
  const x = box.left + box.width / 2;
  const y = box.top + box.height / 2;
  const top = document.elementFromPoint(x, y);
  const hit = top !== null && (element.contains(top) || top.closest('label')?.control === element);
  const scrolled = Math.abs(box.top - before) > 1;
  return hit ? { x, y, scrolled } : { scrolled, problem: `${top?.outerHTML.slice(0, 80) ?? 'nothing'} lies over it`, passing: true };
}

/** Run in the page. Drops a file where a hand would let it go. */
function drop(selector, name, type, base64) {
  const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  const data = new DataTransfer();
  data.items.add(new File([bytes], name, { type }));
  const target = document.querySelector(selector);
  const box = target.getBoundingClientRect();
  const where = { clientX: box.left + box.width / 2, clientY: box.top + box.height / 2 };
  for (const kind of ['dragenter', 'dragover', 'drop']) {
    target.dispatchEvent(new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer: data, ...where }));
  }
}

export class Context {
  /** Fingers that are down, by number. @type {Map<number, {x: number, y: number}>} */
  #down = new Map();

  /**
   * @param {object} driver chromium.mjs or webdriver.mjs
   * @param {string} name the test's, for its pictures
   */
  constructor(driver, name) {
    this.driver = driver;
    this.browser = driver.browser;
    this.name = name;
    /** Every touch so far, the system's chooser included. */
    this.touches = 0;
    /** The longest that a state is waited for, in ms: never a pause, only where a test gives up. */
    this.patience = 20_000;
    /** Words of console errors that this test provokes on purpose. @type {RegExp[]} */
    this.expected = [];
  }

  /** Starts a server of `dist`, at a port of its own. */
  async serve(dir = DIST) {
    this.server = await serveFiles(dir);
    this.url = this.server.url;
  }

  /** Opens an address: the page itself when none is given. */
  async open(path = '') {
    await this.driver.goto(new URL(path, this.url).href);
  }

  async reload() {
    await this.driver.reload();
  }

  /** Ends the browser and starts it again with the same profile. */
  async restart() {
    await this.driver.restart();
  }

  /** Runs `fn(...args)` in the page; arguments and result go as JSON; promises are awaited. */
  async run(fn, ...args) {
    return this.driver.run(String(fn), args);
  }

  /**
   * Waits until a selector finds something, or a function in the page gives a true value; gives that value.
   * @param {string | Function} wanted
   */
  async waitFor(wanted, ...args) {
    const probe = typeof wanted === 'string' ? (selector) => document.querySelector(selector) !== null : wanted;
    const given = typeof wanted === 'string' ? [wanted] : args;
    const end = Date.now() + this.patience;
    for (;;) {
      let problem = '';
      try {
        const value = await this.run(probe, ...given);
        if (value) return value;
      } catch (error) {
        // While a page is being replaced there is nothing to ask.
        problem = error.message;
      }
      if (Date.now() > end) throw new Error(`waited in vain for ${wanted} ${JSON.stringify(given)} ${problem}`);
      await new Promise((resolve) => setTimeout(resolve, 25));
    }
  }

  /** Waits until an element's text holds `part`; gives the whole text. */
  async waitForText(selector, part) {
    return this.waitFor((s, p) => {
      const text = document.querySelector(s)?.textContent ?? '';
      return text.includes(p) ? text : null;
    }, selector, part);
  }

  async text(selector) {
    return this.run((s) => document.querySelector(s)?.textContent ?? null, selector);
  }

  async attr(selector, name) {
    return this.run((s, n) => document.querySelector(s)?.getAttribute(n) ?? null, selector, name);
  }

  async count(selector) {
    return this.run((s) => document.querySelectorAll(s).length, selector);
  }

  /** One touch with one finger, at a place in CSS px. */
  async tap(x, y) {
    this.touches += 1;
    await this.driver.touch([[{ x, y }]]);
  }

  /** One touch that travels, through `steps` places on the way. @param {{x: number, y: number}} from */
  async drag(from, to, steps = 8) {
    this.touches += 1;
    await this.driver.touch([path(from, to, steps)]);
  }

  /** Two fingers at once, each from one place to another: counts as one touch. */
  async pinch(first, second, steps = 8) {
    this.touches += 1;
    await this.driver.touch([path(first.from, first.to, steps), path(second.from, second.to, steps)]);
  }

  /**
   * A finger that comes down and stays until it is told to go: one touch, for a hand that looks where it slides.
   * @param {{x: number, y: number}} place
   */
  async finger(place) {
    this.touches += 1;
    let id = 0;
    while (this.#down.has(id)) id += 1;
    const tell = (cancelled) => this.driver.fingers([...this.#down].map(([one, at]) => ({ id: one, ...at })), cancelled);
    const put = async (at) => {
      this.#down.set(id, at);
      await tell();
    };
    await put(place);
    return {
      slide: put,
      lift: async () => {
        this.#down.delete(id);
        await tell();
      },
      /** The system takes every touch away. */
      cancel: async () => {
        this.#down.clear();
        await tell(true);
      },
    };
  }

  /** Touches the middle of an element, when it is there and nothing lies over it; scrolling to it is a touch more. */
  async tapOn(selector) {
    const end = Date.now() + this.patience;
    let scrolled = false;
    for (;;) {
      const found = await this.run(spot, selector);
      if (found.scrolled && !scrolled) this.touches += 1;
      scrolled ||= found.scrolled;
      if (!found.problem) return this.tap(found.x, found.y);
      if (Date.now() > end) throw new Error(`can't touch ${selector}: ${found.problem}`);
      await new Promise((resolve) => setTimeout(resolve, 25));
    }
  }

  /** Presses and lets go a mouse key. */
  async click(x, y) {
    await this.driver.mouse([{ x, y }]);
  }

  /** Presses the mouse at one place and lets go at another. */
  async mouseDrag(from, to, steps = 8) {
    await this.driver.mouse(path(from, to, steps));
  }

  /** One key by its DOM name, such as `Enter`, `a`, `Shift+ArrowLeft`, `Control+z`. */
  async key(name) {
    await this.driver.key(name.length > 1 ? name.split(/\+(?=.)/) : [name]);
  }

  /** Drops a file of this machine on an element, as if it came from a file window. */
  async dropFile(file, selector = 'body', name = file.split('/').at(-1)) {
    this.touches += 1;
    const bytes = await readFile(file);
    await this.run(drop, selector, name, TYPES[extname(name).toLowerCase()] ?? '', bytes.toString('base64'));
  }

  /**
   * Chooses a file through the system's chooser.
   * @param {string} file
   * @param {string} input the file input
   * @param {string} [key] what a person touches to get the chooser; the input itself when none is given
   */
  async chooseFile(file, input, key) {
    this.touches += CHOOSER_TOUCHES;
    const found = key === undefined ? null : await this.run(spot, key);
    if (found?.problem) throw new Error(`can't touch ${key}: ${found.problem}`);
    if (found) this.touches += 1;
    await this.driver.chooseFile(file, input, found);
  }

  /** Pulls the network, or puts it back: the server is gone, and where it can be the browser is told so. */
  async offline(on) {
    if (on) await this.server.stop();
    else await this.server.start();
    await this.driver.setOffline?.(on);
  }

  /** Keeps a picture of the page under build/screens/. */
  async screenshot(label = '') {
    await mkdir(SCREENS, { recursive: true });
    const name = [this.browser, this.name, label].filter(Boolean).join('-').replace(/[^\w.-]+/g, '_');
    const file = join(SCREENS, `${name}.png`);
    await this.driver.screenshot(file);
    return file;
  }

  /** What the page complained about so far, less what the test expects. */
  async errors() {
    const all = await this.driver.errors();
    return all.filter((text) => !this.expected.some((pattern) => pattern.test(text)));
  }

  /** Requests that reached the server, by path. */
  requests() {
    return this.server.requests.map((request) => request.url);
  }
}

function path(from, to, steps) {
  const at = (i) => ({ x: from.x + ((to.x - from.x) * i) / steps, y: from.y + ((to.y - from.y) * i) / steps });
  return Array.from({ length: steps + 1 }, (_, i) => at(i));
}
