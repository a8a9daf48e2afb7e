// The examples: invented jobs to play with, each with a short story. Fetched when they are first asked for.

import { el } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { pageKey } from './notes.js';
import { digestOf } from './store.js';
import { word } from './words.js';

/** By the names of their files. The first is a picture alone, the others are jobs that were begun. */
const NAMES = ['marsh-hen', 'bread-van', 'bookcase', 'trestle', 'chest', 'paddle'];

/** @typedef {import('./files.js').Files} Files */
/** @typedef {import('./files.js').Shop} Shop */

/** @param {string} file */
async function fetched(file) {
  const response = await fetch(`./examples/${file}`);
  if (!response.ok) throw new Error(`${file}: ${response.status}`);
  return response;
}

export class Examples {
  /** @param {Files} files @param {Shop} shop */
  constructor(files, shop) {
    this.files = files;
    this.shop = shop;
    const close = makeKey(() => this.dialog.close());
    fillKey(close, pageKey('examples-close', 'plain', word('page.examples-close')));
    const cards = NAMES.map((name) => this.card(name));
    this.dialog = el('dialog', 'examples', { 'aria-label': word('page.examples') }, el('div', 'examples-list', {}, ...cards), close);
  }

  /** @param {string} name */
  card(name) {
    const picture = el('img', 'example-picture', { alt: '', src: `./examples/${name}-small.webp` });
    const [title, story] = [el('strong'), el('span')];
    title.textContent = word(`example.${name}`);
    story.textContent = word(`story.${name}`);
    const card = el('button', 'example', { type: 'button', 'data-key': `example-${name}` }, picture, el('span', 'example-words', {}, title, story));
    card.addEventListener('click', () => this.dialog.close(name));
    return card;
  }

  /** Shows them; opens the one that is touched. */
  async open() {
    document.body.append(this.dialog);
    this.dialog.showModal();
    await new Promise((closed) => { this.dialog.addEventListener('close', closed, { once: true }); });
    const name = this.dialog.returnValue;
    this.dialog.remove();
    if (NAMES.includes(name)) await this.lay(name);
  }

  /** @param {string} name */
  async lay(name) {
    if (name === NAMES[0]) await this.files.example();
    else await this.job(name);
    this.shop.notes.tell('example', word(`story.${name}`));
  }

  /** A job that was begun. @param {string} name */
  async job(name) {
    const [picture, facts] = await Promise.all([
      fetched(`${name}.webp`).then((response) => response.blob()),
      fetched(`${name}.json`).then((response) => response.json()),
    ]);
    const digest = await digestOf(await picture.arrayBuffer());
    await this.shop.ready;
    this.files.inHand.set(digest, picture);
    await this.files.keepPicture(digest, picture);
    const whole = facts.map((/** @type {{ kind: string }} */ fact) => (fact.kind === 'add-picture' ? { ...fact, digest } : fact));
    const named = { kind: 'name-job', name: word(`example.${name}`) };
    await this.shop.jobs.begin([named, ...whole].map((fact) => JSON.stringify(fact)));
  }
}
