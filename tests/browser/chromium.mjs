// Chromium through playwright-core: touches go in as the browser's own touch events.
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { which } from './which.mjs';

const FLAGS = [
  '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
  '--disable-component-update', '--disable-sync',
];

/** Run in the page: keeps a promise of the next touch that is taken away, kept once every listener has heard of it. */
function hearCancel() {
  window.cancelHeard = new Promise((heard) => {
    addEventListener('pointercancel', () => setTimeout(heard), { capture: true, once: true });
  });
}

class Chromium {
  browser = 'chromium';
  #errors = [];
  /** Fingers that are down. */
  #down = [];

  constructor(options) {
    this.options = options;
  }

  async start() {
    this.profile = await mkdtemp(join(tmpdir(), 'scrieve-chromium-'));
    await this.#launch();
  }

  async #launch() {
    const { width, height, scale } = this.options;
    this.context = await chromium.launchPersistentContext(this.profile, {
      executablePath: await which('chromium', 'chromium-browser', 'google-chrome'),
      args: [...FLAGS, ...(this.options.flags ?? [])],
      headless: true,
      hasTouch: true,
      viewport: { width, height },
      deviceScaleFactor: scale,
      acceptDownloads: true,
    });
    this.page = this.context.pages()[0] ?? (await this.context.newPage());
    this.page.on('pageerror', (error) => this.#errors.push(`uncaught: ${error.message}`));
    this.page.on('console', (line) => {
      if (line.type() === 'error') this.#errors.push(`console: ${line.text()} ${line.location().url ?? ''}`);
    });
    // Choosers are caught from the start: a listener that comes just before the touch may come too late.
    this.page.on('filechooser', () => {});
    this.page.on('crash', () => this.#errors.push('the page crashed'));
    this.cdp = await this.context.newCDPSession(this.page);
  }

  async goto(url) {
    await this.page.goto(url, { waitUntil: 'load' });
    this.url = url;
  }

  async reload() {
    await this.page.reload({ waitUntil: 'load' });
  }

  async restart() {
    await this.context.close();
    await this.#launch();
  }

  async run(source, args) {
    // Not page.evaluate: the page's own policy forbids eval, which that uses.
    const { result, exceptionDetails } = await this.cdp.send('Runtime.evaluate', {
      expression: `(${source})(...${JSON.stringify(args)})`,
      awaitPromise: true,
      returnByValue: true,
      userGesture: true,
    });
    if (exceptionDetails) throw new Error(exceptionDetails.exception?.description ?? exceptionDetails.text);
    return result.value;
  }

  /** @param {{x: number, y: number}[][]} paths one for each finger, all of one length */
  async touch(paths) {
    const send = (type, step) =>
      this.cdp.send('Input.dispatchTouchEvent', {
        type,
        touchPoints: step === null ? [] : paths.map((places, id) => ({ ...places[step], id, radiusX: 8, radiusY: 8, force: 0.5 })),
      });
    await send('touchStart', 0);
    for (let step = 1; step < paths[0].length; step += 1) await send('touchMove', step);
    await send('touchEnd', null);
  }

  /**
   * Fingers that stay down between two calls: all that are down now. Those that weren't come down, those that
   * are missing are lifted.
   * @param {{id: number, x: number, y: number}[]} down
   * @param {boolean} [cancelled] the system takes them all away
   */
  async fingers(down, cancelled = false) {
    const before = this.#down;
    this.#down = down;
    const touchPoints = down.map((finger) => ({ ...finger, radiusX: 8, radiusY: 8, force: 0.5 }));
    const type = cancelled ? 'touchCancel' : down.length === 0 ? 'touchEnd' : down.length > before.length ? 'touchStart' : 'touchMove';
    if (cancelled) await this.run(hearCancel, []);
    await this.cdp.send('Input.dispatchTouchEvent', { type, touchPoints });
    // Nobody can refuse to have a touch taken away, so the browser calls it done before the page has heard of it.
    if (cancelled) await this.run(() => window.cancelHeard, []);
  }

  async mouse(places) {
    await this.page.mouse.move(places[0].x, places[0].y);
    await this.page.mouse.down();
    for (const { x, y } of places.slice(1)) await this.page.mouse.move(x, y);
    await this.page.mouse.up();
  }

  async wheel(x, y, deltaY) {
    await this.page.mouse.move(x, y);
    await this.page.mouse.wheel(0, deltaY);
  }

  async key(names) {
    await this.page.keyboard.press(names.join('+'));
  }

  async chooseFile(file, input, place) {
    if (!place) return this.page.setInputFiles(input, file);
    const chooser = this.page.waitForEvent('filechooser');
    await this.touch([[place]]);
    await (await chooser).setFiles(file);
  }

  /** Tells the page alone: a service worker that is about to stop never answers, and the context's own word waits for all of them. */
  async setOffline(on) {
    await this.cdp.send('Network.enable');
    await this.cdp.send('Network.emulateNetworkConditions', { offline: on, latency: 0, downloadThroughput: -1, uploadThroughput: -1 });
  }

  /** Slows the processor `factor` times. */
  async throttle(factor) {
    await this.cdp.send('Emulation.setCPUThrottlingRate', { rate: factor });
  }

  async screenshot(file) {
    await this.page.screenshot({ path: file });
  }

  async errors() {
    return this.#errors;
  }

  async stop() {
    await this.context?.close();
    await rm(this.profile, { recursive: true, force: true });
  }
}

/** @param {{width: number, height: number, scale: number, flags?: string[]}} options */
export async function startChromium(options) {
  const driver = new Chromium(options);
  await driver.start();
  return driver;
}
