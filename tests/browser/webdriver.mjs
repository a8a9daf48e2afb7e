// Firefox and WebKit (the engine of every iPad browser) through the W3C WebDriver protocol, spoken directly:
// it is a handful of JSON requests. https://www.w3.org/TR/webdriver2/
import { spawn } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { freePort, which } from './which.mjs';

const ELEMENT = 'element-6066-11e4-a52e-4f735466cecf';
const START_MS = 30_000;

/** Keys by their DOM names, as code points. https://www.w3.org/TR/webdriver2/#keyboard-actions */
const KEYS = {
  Backspace: '\uE003', Tab: '\uE004', Enter: '\uE007', Shift: '\uE008', Control: '\uE009', Alt: '\uE00A',
  Escape: '\uE00C', Space: ' ', PageUp: '\uE00E', PageDown: '\uE00F', End: '\uE010', Home: '\uE011',
  ArrowLeft: '\uE012', ArrowUp: '\uE013', ArrowRight: '\uE014', ArrowDown: '\uE015', Delete: '\uE017', Meta: '\uE03D',
};

/** Run in the page: from here on complaints are kept where the test can read them. */
function listen() {
  if (window.scrieveErrors) return;
  const kept = (window.scrieveErrors = []);
  window.addEventListener('error', (event) => kept.push(`uncaught: ${event.message}`));
  window.addEventListener('unhandledrejection', (event) => kept.push(`uncaught: ${event.reason}`));
  const plain = console.error;
  console.error = (...words) => {
    kept.push(`console: ${words.join(' ')}`);
    plain.apply(console, words);
  };
}

class WebDriver {
  #errors = [];
  #children = [];
  /** Fingers that are down. */
  #down = [];

  constructor(browser, options, kind) {
    this.browser = browser;
    this.options = options;
    this.kind = kind;
  }

  /** Starts a program of this test's own; its output is kept to be shown when it fails to start. */
  #spawn(file, args, env = {}) {
    const child = spawn(file, args, { env: { ...process.env, ...env }, stdio: ['ignore', 'pipe', 'pipe'], detached: true });
    child.output = '';
    const keep = (data) => {
      const text = String(data);
      child.output = (child.output + text).slice(-20_000);
      for (const line of text.split('\n')) {
        if (this.kind.complaint?.test(line)) this.#errors.push(line.trim());
      }
    };
    child.stdout.on('data', keep);
    child.stderr.on('data', keep);
    this.#children.push(child);
    return child;
  }

  async start() {
    this.home = await mkdtemp(join(tmpdir(), `scrieve-${this.browser}-`));
    const port = await freePort();
    this.base = `http://127.0.0.1:${port}`;
    await this.kind.start(this, port, (...args) => this.#spawn(...args));
    await this.#ready();
    await this.#session();
  }

  async #ready() {
    const end = Date.now() + START_MS;
    for (;;) {
      const status = await fetch(`${this.base}/status`).then((answer) => answer.json(), () => null);
      if (status?.value?.ready) return;
      if (Date.now() > end) throw new Error(`${this.browser}'s driver doesn't start:\n${this.#children.map((c) => c.output).join('\n')}`);
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
  }

  async #session() {
    const { capabilities } = this.kind;
    const answer = await this.#send('POST', '/session', { capabilities: { alwaysMatch: capabilities(this) } });
    this.session = `/session/${answer.sessionId}`;
    const { width, height } = this.options;
    await this.#post('/timeouts', { script: 60_000, pageLoad: 60_000 });
    await this.#post('/window/rect', { width, height });
    // The window's frame takes some of it: make the page itself as large as was asked for.
    const [w, h] = await this.run('() => [innerWidth, innerHeight]', []);
    await this.#post('/window/rect', { width: 2 * width - w, height: 2 * height - h });
  }

  async #send(method, path, body) {
    const answer = await fetch(this.base + path, {
      method,
      headers: { 'Content-Type': 'application/json' },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
    const { value } = await answer.json();
    if (!answer.ok) throw new Error(`${this.browser} ${path}: ${value?.error}: ${value?.message}`);
    return value;
  }

  #post(path, body = {}) {
    return this.#send('POST', this.session + path, body);
  }

  async goto(url) {
    await this.#keepErrors();
    await this.#post('/url', { url });
    await this.run(String(listen), []);
  }

  async reload() {
    await this.#keepErrors();
    // Not WebDriver's own refresh: Firefox then goes past the service worker, which a person's reload doesn't.
    const mark = String(Math.random());
    await this.run('(mark) => { window.scrieveBefore = mark; setTimeout(() => location.reload(), 0); }', [mark]);
    await this.#until('(mark) => window.scrieveBefore !== mark && document.readyState === "complete"', [mark]);
    await this.run(String(listen), []);
  }

  /** Asks again and again, also while one page gives way to another. */
  async #until(source, args) {
    const end = Date.now() + START_MS;
    while (!(await this.run(source, args).catch(() => false))) {
      if (Date.now() > end) throw new Error(`${this.browser} waited in vain for ${source}`);
      await new Promise((resolve) => setTimeout(resolve, 25));
    }
  }

  async restart() {
    await this.#keepErrors();
    await this.#send('DELETE', this.session);
    await this.#session();
  }

  /** A page that is left takes its list of complaints with it: fetch them first. */
  async #keepErrors() {
    const kept = await this.run('() => { const k = window.scrieveErrors ?? []; return k.splice(0); }', []).catch(() => []);
    this.#errors.push(...kept);
  }

  /** Runs a function in the page. Its answer is made plain there: Firefox leaves out what a getter would give. */
  async run(source, args) {
    const script = `
      const [args, done] = arguments;
      const plain = (value) => (value === undefined ? null : JSON.parse(JSON.stringify(value)));
      Promise.resolve().then(() => (${source})(...args)).then((value) => done({ value: plain(value) }), (error) => done({ error: String(error) }));`;
    const { value, error } = await this.#post('/execute/async', { script, args: [args] });
    if (error) throw new Error(error);
    return value;
  }

  async #actions(sources) {
    await this.#post('/actions', { actions: sources });
    await this.#send('DELETE', `${this.session}/actions`);
  }

  #pointer(id, pointerType, places) {
    const move = ({ x, y }) => ({ type: 'pointerMove', duration: 0, origin: 'viewport', x: Math.round(x), y: Math.round(y) });
    const [first, ...rest] = places;
    return {
      type: 'pointer',
      id,
      parameters: { pointerType },
      actions: [move(first), { type: 'pointerDown', button: 0 }, ...rest.map(move), { type: 'pointerUp', button: 0 }],
    };
  }

  async touch(paths) {
    await this.#actions(paths.map((places, i) => this.#pointer(`finger${i}`, 'touch', places)));
  }

  /** As chromium.mjs has it; a driver remembers what is down between two lists of actions. */
  async fingers(down) {
    const before = this.#down;
    this.#down = down;
    const source = (id, actions) => ({ type: 'pointer', id: `finger${id}`, parameters: { pointerType: 'touch' }, actions });
    const move = ({ x, y }) => ({ type: 'pointerMove', duration: 0, origin: 'viewport', x: Math.round(x), y: Math.round(y) });
    const sources = down.map((finger) => source(finger.id, before.some(({ id }) => id === finger.id)
      ? [move(finger)] : [move(finger), { type: 'pointerDown', button: 0 }]));
    for (const { id } of before) {
      if (!down.some((finger) => finger.id === id)) sources.push(source(id, [{ type: 'pointerUp', button: 0 }]));
    }
    await this.#post('/actions', { actions: sources });
    if (down.length === 0) await this.#send('DELETE', `${this.session}/actions`);
  }

  async mouse(places) {
    await this.#actions([this.#pointer('mouse', 'mouse', places)]);
  }

  async key(names) {
    const values = names.map((name) => KEYS[name] ?? name);
    const actions = [
      ...values.map((value) => ({ type: 'keyDown', value })),
      ...values.toReversed().map((value) => ({ type: 'keyUp', value })),
    ];
    await this.#actions([{ type: 'key', id: 'keyboard', actions }]);
  }

  async chooseFile(file, input) {
    // A driver can't work the system's chooser; it hands the file to the input.
    const found = await this.#post('/element', { using: 'css selector', value: input });
    await this.#post(`/element/${found[ELEMENT]}/value`, { text: file });
  }

  async screenshot(file) {
    await writeFile(file, Buffer.from(await this.#send('GET', `${this.session}/screenshot`), 'base64'));
  }

  async errors() {
    await this.#keepErrors();
    return this.#errors;
  }

  async stop() {
    if (this.session) await this.#send('DELETE', this.session).catch(() => {});
    for (const child of this.#children.reverse()) {
      // The whole group that this test started, and nothing else.
      try {
        process.kill(-child.pid, 'SIGTERM');
      } catch {
        // It has ended by itself.
      }
    }
    await rm(this.home, { recursive: true, force: true, maxRetries: 5 });
  }
}

const FIREFOX = {
  // Scripts that fail before a test can listen show up here.
  complaint: /^JavaScript error: (http|blob)/,
  async start(driver, port, run) {
    driver.firefox = await which('firefox-esr', 'firefox');
    run(await which('geckodriver'), ['--port', String(port), '--host', '127.0.0.1'], { HOME: driver.home });
  },
  capabilities: (driver) => ({
    browserName: 'firefox',
    'moz:firefoxOptions': {
      binary: driver.firefox,
      // One profile for the whole test, also over a restart.
      args: ['-headless', '--profile', driver.home],
      prefs: {
        'layout.css.devPixelsPerPx': String(driver.options.scale),
        'dom.w3c_touch_events.enabled': 1,
        'browser.dom.window.dump.enabled': true,
        'devtools.console.stdout.content': true,
        // Nothing of the browser's own on the network.
        'app.update.enabled': false,
        'browser.safebrowsing.malware.enabled': false,
        'network.captive-portal-service.enabled': false,
        'datareporting.policy.dataSubmissionEnabled': false,
      },
    },
  }),
};

const MINI_BROWSER = '/usr/lib/x86_64-linux-gnu/webkit2gtk-4.1/MiniBrowser';

/**
 * What WebKitGTK can't do here: its synthetic touches reach a page as pointers of the kind `mouse`, only one at a
 * time; and what fails while a page loads isn't heard (such a page never gets ready, so its test fails
 * waiting).
 */
const WEBKIT = {
  async start(driver, port, run) {
    const xvfb = run(await which('Xvfb'), ['-displayfd', '1', '-screen', '0', '2600x2400x24', '-nolisten', 'tcp']);
    const display = await new Promise((resolve, reject) => {
      xvfb.stdout.once('data', (data) => resolve(`:${String(data).trim()}`));
      xvfb.once('exit', () => reject(new Error(`Xvfb doesn't start: ${xvfb.output}`)));
    });
    const env = { DISPLAY: display, HOME: driver.home, XDG_DATA_HOME: driver.home, XDG_CACHE_HOME: driver.home, GDK_SCALE: String(driver.options.scale) };
    run(await which('WebKitWebDriver'), [`--port=${port}`, '--host=127.0.0.1'], { ...env });
  },
  capabilities: () => ({
    'webkitgtk:browserOptions': {
      binary: MINI_BROWSER,
      args: ['--automation'],
    },
  }),
};

/** @param {{width: number, height: number, scale: number}} options */
export async function startFirefox(options) {
  return begin(new WebDriver('firefox', options, FIREFOX));
}

/** @param {{width: number, height: number, scale: number}} options */
export async function startWebKit(options) {
  return begin(new WebDriver('webkit', options, WEBKIT));
}

async function begin(driver) {
  try {
    await driver.start();
  } catch (error) {
    await driver.stop();
    throw error;
  }
  return driver;
}
