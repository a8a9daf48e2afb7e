// Runs the page tests in real browsers against dist/.
//   node tests/browser/run.mjs [--browser chromium|firefox|webkit]... [--quick] [--list] [--at-once N] [WORD...]
// Each test has a browser and a server of its own; N of them run side by side, one unless more are asked for.
// A WORD keeps only the tests whose name or file holds it. A test file in tests/page/ exports
//   export const tests = [{ name, browsers: ['chromium', …], quick?: true, screen?: 'portrait', run: async (t) => {…} }]
// where t is a Context. No test is tried twice.
import { readdir } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { parseArgs } from 'node:util';
import { startChromium } from './chromium.mjs';
import { Context, ROOT } from './context.mjs';
import { startFirefox, startWebKit } from './webdriver.mjs';

const STARTERS = { chromium: startChromium, firefox: startFirefox, webkit: startWebKit };

/** CSS px, and device px to each. */
const SCREENS = {
  landscape: { width: 1180, height: 820, scale: 2 },
  portrait: { width: 820, height: 1180, scale: 2 },
  phone: { width: 390, height: 844, scale: 3 },
  'small tablet': { width: 1133, height: 744, scale: 2 },
  'small tablet upright': { width: 744, height: 1133, scale: 2 },
  desktop: { width: 1440, height: 900, scale: 1 },
  // A tablet held level, its page at 200 % and at 400 %.
  zoom2: { width: 590, height: 410, scale: 4 },
  zoom4: { width: 295, height: 205, scale: 8 },
};

/** A test that takes longer than this has hung. */
const LIMIT_MS = 180_000;

const { values: options, positionals: words } = parseArgs({
  allowPositionals: true,
  options: {
    browser: { type: 'string', multiple: true },
    quick: { type: 'boolean', default: false },
    list: { type: 'boolean', default: false },
    'at-once': { type: 'string', default: '1' },
  },
});

/** Every test with its file, in the order of the files' names. */
async function collect() {
  const dir = join(ROOT, 'tests/page');
  const files = (await readdir(dir)).filter((name) => name.endsWith('.mjs') && !name.startsWith('_')).sort();
  const found = [];
  for (const file of files) {
    const { tests } = await import(join(dir, file));
    if (!Array.isArray(tests)) throw new Error(`${file} exports no \`tests\``);
    for (const test of tests) {
      for (const browser of test.browsers) {
        if (!(browser in STARTERS)) throw new Error(`${file}: there is no browser ${browser}`);
        found.push({ ...test, file: basename(file, '.mjs'), browser });
      }
    }
  }
  return found;
}

function wanted(test) {
  if (options.browser && !options.browser.includes(test.browser)) return false;
  if (options.quick && !(test.quick && test.browser === 'chromium')) return false;
  return words.every((word) => `${test.file} ${test.name}`.includes(word));
}

/** @returns {Promise<string | null>} what went wrong */
async function runOne(test) {
  const screen = SCREENS[test.screen ?? 'landscape'];
  let t;
  let timer;
  let driver;
  try {
    driver = await STARTERS[test.browser](screen);
    running.add(driver);
    t = new Context(driver, `${test.file}-${test.name}`);
    await t.serve();
    const limit = new Promise((_, reject) => {
      timer = setTimeout(() => reject(new Error(`took longer than ${LIMIT_MS / 1000} s`)), LIMIT_MS);
    });
    await Promise.race([test.run(t), limit]);
    const errors = await t.errors();
    return errors.length === 0 ? null : `the page complained:\n${errors.join('\n')}`;
  } catch (error) {
    const picture = await t?.screenshot('failed').catch(() => null);
    const errors = (await t?.errors().catch(() => [])) ?? [];
    return [error.stack, ...errors.map((text) => `page: ${text}`), picture && `see ${picture.slice(ROOT.length + 1)}`]
      .filter(Boolean)
      .join('\n');
  } finally {
    clearTimeout(timer);
    await driver?.stop();
    if (driver) running.delete(driver);
    await t?.server?.stop();
  }
}

/** What is running now, to be ended with this run when it is broken off. */
const running = new Set();
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) {
  process.once(signal, async () => {
    await Promise.all([...running].map((driver) => driver.stop()));
    process.exit(130);
  });
}

const tests = (await collect()).filter(wanted);
if (options.list) for (const test of tests) console.log(`${test.browser.padEnd(9)}${test.file}: ${test.name}`);
const waiting = options.list ? [] : [...tests];
let passed = 0;
let failed = 0;

/** Runs one test after the other, as long as there are any. */
async function work() {
  for (let test = waiting.shift(); test; test = waiting.shift()) {
    const begun = performance.now();
    const problem = await runOne(test);
    const seconds = ((performance.now() - begun) / 1000).toFixed(1);
    if (problem === null) passed += 1;
    else failed += 1;
    console.log(`${problem === null ? 'ok  ' : 'FAIL'} ${test.browser.padEnd(9)}${test.file}: ${test.name} (${seconds} s)`);
    if (problem !== null) console.log(problem.replace(/^/gm, '     '));
  }
}

await Promise.all(Array.from({ length: Math.max(1, Number(options['at-once'])) }, work));
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);
