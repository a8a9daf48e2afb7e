// The pages of help: from the empty board and from the size board, in both languages, printed, and with the network pulled.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
import { ALL, HEN, Hand, equal, unplugged } from './_hand.mjs';

const PAGES = { take: 8, trust: 7, mind: 8 };
const wordsOf = async (language) => JSON.parse(await readFile(join(ROOT, `www/help/${language}.json`), 'utf8'));

/** Run in the page: what is shown, and what of the figures lies off their field of 160 by 100. */
function shown() {
  const off = [...document.querySelectorAll('.help-figure')].filter((svg) => {
    const { x, y, width, height } = svg.getBBox();
    return width < 40 || height < 30 || x < 1 || y < 1 || x + width > 159 || y + height > 99;
  });
  const items = [...document.querySelectorAll('.help[open] .help-item p')].map((one) => one.textContent);
  return { title: document.querySelector('.help-title').textContent, items, off: off.map((svg) => svg.nextSibling.textContent.slice(0, 30)) };
}

/** Reads all pages. @param {Record<string, string>} words */
async function readAll(t, words) {
  await t.waitFor('.help[open]');
  for (const [name, count] of Object.entries(PAGES)) {
    await t.tapOn(`[data-key="help-${name}"]`);
    await t.waitFor((wanted) => document.querySelector(`[data-key="help-${wanted}"]`).getAttribute('aria-pressed') === 'true', name);
    const { title, items, off } = await t.run(shown);
    equal([title, items.length, off], [words[`help.${name}`], count, []], name);
    equal(items.some((text) => /help\.|caution\./.test(text)), false, `words missing on ${name}`);
    await t.screenshot(name);
  }
}

async function read(t) {
  const hand = new Hand(t, 3);
  await hand.open();
  await t.tapOn('[data-key="help-first"]');
  await t.waitFor('.help[open]');
  equal((await t.run(shown)).title, (await wordsOf('en'))['help.take'], 'the page that the key names');
  await readAll(t, await wordsOf('en'));
  await t.tapOn('[data-key="help-close"]');
  await t.waitFor(() => document.querySelector('.help') === null);
  await t.tapOn('#first-languages [data-key="language-de"]');
  await t.waitFor(() => document.documentElement.lang === 'de');
  await hand.drop(HEN);
  await t.tapOn('[data-key="help"]');
  await readAll(t, await wordsOf('de'));
  await t.key('Escape');
  await t.waitFor(() => document.querySelector('.help') === null);
  equal((await hand.scene()).pictures.length, 1, 'pictures after reading');
}

/** What is printed is the page that is read, on one sheet, and nothing of the rest; afterwards all is as it was. */
async function printed(t) {
  const hand = new Hand(t, 3);
  await hand.open();
  await hand.drop(HEN);
  await t.run(() => { window.print = () => { window.printing = document.body.dataset.printing; }; });
  for (const language of ['en', 'de']) await printedIn(t, language);
}

async function printedIn(t, language) {
  await t.tapOn(`#languages [data-key="language-${language}"]`);
  await t.waitFor((lang) => document.documentElement.lang === lang, language);
  await t.tapOn('[data-key="help"]');
  for (const name of Object.keys(PAGES)) {
    await t.tapOn(`[data-key="help-${name}"]`);
    for (const format of ['A4', 'Letter']) {
      await t.tapOn('[data-key="help-print"]');
      equal(await t.run(() => window.printing), 'help', 'what is being printed');
      await t.driver.page.emulateMedia({ media: 'print' });
      equal(await t.run(() => [...document.body.children].filter((one) => one.checkVisibility()).map((one) => one.id)), ['on-paper'], 'what shows on paper');
      assert.equal(await t.count('#on-paper .help-item'), PAGES[name]);
      await t.driver.page.emulateMedia({ media: null });
      const bytes = await t.driver.page.pdf({ format, path: join(ROOT, `build/screens/help-${name}-${language}-${format}.pdf`) });
      equal(bytes.toString('latin1').match(/\/Type\s*\/Page\b/g).length, 1, `sheets of ${name} on ${format}, ${language}`);
      // The browser has said that it is done.
      equal(await t.run(() => [document.body.dataset.printing ?? null, document.querySelector('#on-paper').childElementCount]), [null, 0], 'after printing');
    }
  }
  await t.tapOn('[data-key="help-close"]');
}

async function offline(t) {
  const hand = new Hand(t, 3);
  await unplugged(t, hand);
  await t.tapOn('[data-key="help-first"]');
  await readAll(t, await wordsOf('en'));
}

export const tests = [
  { name: 'three pages, from the empty board and from the size board', browsers: ALL, run: read },
  { name: 'three pages on a phone', browsers: ['chromium'], screen: 'phone', run: offline },
  { name: 'printed, a sheet each', browsers: ['chromium'], run: printed },
  { name: 'with the network pulled', browsers: ['chromium'], run: offline },
];
