// The size board: a row for each mark, what there is to say about the chosen one, notes, and the ratios.

import { byId, drawing, el, keepList, lineSample, say, show } from './dom.js';
import { drawDetail } from './detail.js';
import { fillKey, makeKey } from './keys.js';
import { setFigure } from './type.js';
import { spoken, word } from './words.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/scene').Row} Row */
/** @typedef {import('./types/scene').RatioRow} RatioRow */
/** @typedef {import('./types/scene').Note} Note */
/** @typedef {import('./ledge.js').Hands} Hands */

const TONES = { ask: '?', warn: '!', say: '·' };

/** @param {HTMLElement} node @param {string} name @returns {HTMLElement} */
function part(node, name) {
  const found = node.querySelector(`.${name}`);
  if (!(found instanceof HTMLElement)) throw new Error(`a row has no .${name}`);
  return found;
}

export class Sizes {
  /** @param {Hands} hands */
  constructor(hands) {
    this.hands = hands;
    this.board = byId('sizes');
    this.rows = byId('rows');
    this.ratios = byId('ratios');
    this.asks = byId('asks');
    this.notes = byId('notes');
    this.head = [byId('head-unit'), byId('head-step')];
    this.empty = byId('sizes-empty');
    this.tabs = /** @type {const} */ (['sizes', 'ratios']).map((table) => {
      const button = byId(`tab-${table}`);
      button.addEventListener('click', () => hands.send({ kind: 'show', table }));
      return { table, button };
    });
    this.makeHandle();
    spoken(() => {
      this.board.setAttribute('aria-label', word('page.sizes'));
      say(this.tabs[0].button, word('page.tab-sizes'));
      say(this.tabs[1].button, word('page.tab-ratios'));
      say(this.empty, word('page.no-sizes'));
    });
    /** Which mark's row was chosen last. @type {number | null} */
    this.chosen = null;
    /** Where the chosen mark's details stand. @type {HTMLElement | null} */
    this.slot = null;
  }

  /** On a tall screen the board slides up from the ledge by this key, which shows one row meanwhile. */
  makeHandle() {
    this.handle = byId('sizes-handle');
    this.peek = el('span', 'peek');
    const name = el('span', 'unseen');
    spoken(() => say(name, word('page.sizes')));
    this.handle.append(drawing('more'), name, this.peek);
    this.handle.addEventListener('click', () => this.open(this.board.dataset.open !== 'yes'));
    const tall = window.matchMedia('(min-height: 1000px)').matches;
    this.open(tall);
  }

  /** @param {boolean} on */
  open(on) {
    this.board.dataset.open = on ? 'yes' : 'no';
    this.handle?.setAttribute('aria-expanded', String(on));
  }

  /** @param {Scene} scene @param {readonly Note[]} notes the scene's and the page's own */
  draw(scene, notes) {
    say(this.head[0], scene.head[0]);
    say(this.head[1], scene.head[1]);
    const ratios = scene.table === 'ratios';
    for (const { table, button } of this.tabs) button.setAttribute('aria-pressed', String(table === scene.table));
    show(this.rows, !ratios);
    show(this.ratios, ratios);
    show(this.empty, scene.rows.length === 0);
    if (!ratios) keepList(this.rows, scene.rows, (row) => String(row.id), (row) => this.makeRow(row), fillRow);
    if (ratios) keepList(this.ratios, scene.ratios, (row) => String(row.id), (row) => this.makeRatio(row), fillRatio);
    this.drawDetail(scene);
    // A question that decides sizes stands above them; what is only to be known, below.
    for (const [list, asks] of /** @type {[HTMLElement, boolean][]} */ ([[this.asks, true], [this.notes, false]])) {
      const here = notes.filter((note) => (note.tone === 'ask') === asks);
      keepList(list, here, (note) => note.id, (note) => this.makeNote(note), (node, note) => this.fillNote(node, note));
    }
    this.drawPeek(scene, notes);
  }

  /** @param {Scene} scene */
  drawDetail(scene) {
    // While an end is in hand there is something else to do.
    const detail = scene.table === 'sizes' && !scene.hand ? scene.detail : null;
    const node = detail ? this.rows.querySelector(`[data-row="${detail.mark}"]`) : null;
    const slot = node instanceof HTMLElement ? part(node, 'row-detail') : null;
    if (this.slot && this.slot !== slot) {
      show(this.slot, false);
      this.slot.replaceChildren();
      this.slot.parentElement?.firstElementChild?.setAttribute('aria-expanded', 'false');
    }
    if (slot && detail) {
      show(slot, true);
      slot.parentElement?.firstElementChild?.setAttribute('aria-expanded', 'true');
      drawDetail(slot, detail, scene.rows.find((row) => row.id === detail.mark) ?? null, this.hands.press);
    }
    const chosen = scene.rows.find((row) => row.selected)?.id ?? null;
    if (chosen !== this.chosen && node) node.scrollIntoView({ block: 'nearest' });
    this.slot = slot;
    this.chosen = chosen;
  }

  /** @param {Scene} scene @param {readonly Note[]} notes */
  drawPeek(scene, notes) {
    const row = scene.rows.find((one) => one.selected) ?? scene.rows[scene.rows.length - 1];
    const size = row?.finished ?? row?.real;
    const pressing = notes.filter((note) => note.tone !== 'say').length;
    const told = row ? [`${row.number}  ${row.name}`, size ? `${size.figure.text} ${size.pm}` : ''] : [word('page.tab-sizes')];
    if (pressing > 0) told.push(pressing === 1 ? word('page.one-note') : word('page.notes', { count: pressing }));
    if (this.peek) say(this.peek, told.filter(Boolean).join('   '));
  }

  /** @param {Row} row */
  makeRow(row) {
    const main = el(
      'button',
      'row-main',
      { type: 'button' },
      el('span', 'row-number'),
      el('span', 'row-sample'),
      el('span', 'row-words', {}, el('span', 'row-name'), el('span', 'row-under')),
      el('span', 'row-size', {}, el('span', 'row-figure'), el('span', 'row-pm')),
    );
    const node = el('li', 'row', {}, main, el('div', 'row-missing'), el('ul', 'row-flags'), el('div', 'row-detail', { hidden: '' }));
    main.setAttribute('aria-expanded', 'false');
    node.dataset.row = String(row.id);
    const places = Object.fromEntries(PLACES.map((name) => [name, part(node, name)]));
    filled.set(node, { at: /** @type {Filled['at']} */ (places), row: null });
    main.addEventListener('click', () => {
      const open = !part(node, 'row-detail').hidden;
      this.hands.send({ kind: 'select', mark: open ? null : row.id });
    });
    const missing = el('button', 'missing-key', { type: 'button' });
    missing.addEventListener('click', () => {
      const wanted = filled.get(node)?.row?.missing;
      if (wanted) this.hands.send(wanted.intent);
    });
    places['row-missing'].append(missing);
    return node;
  }

  /** @param {RatioRow} row */
  makeRatio(row) {
    const main = el(
      'button',
      'row-main',
      { type: 'button' },
      el('span', 'row-number'),
      el('span', 'row-words', {}, el('span', 'row-name'), el('span', 'row-under')),
      el('span', 'row-size', {}, el('span', 'ratio-figure'), el('span', 'row-pm')),
    );
    main.addEventListener('click', () => this.hands.send({ kind: 'select', mark: row.id }));
    const node = el('li', 'row ratio', {}, main, el('ul', 'row-flags'));
    node.dataset.ratio = String(row.id);
    return node;
  }

  /** @param {Note} note */
  makeNote(note) {
    const close = el('button', 'note-close', { type: 'button', 'aria-label': word('page.hush') }, drawing('close'));
    close.addEventListener('click', () => this.hands.press(hushKey(note.id)));
    const node = el(
      'li',
      'note',
      {},
      el('span', 'note-tone', { 'aria-hidden': 'true' }),
      el('div', 'note-words', {}, el('p', 'note-text'), el('div', 'note-keys')),
      close,
    );
    node.dataset.note = note.id;
    return node;
  }

  /** @param {HTMLElement} node @param {Note} note */
  fillNote(node, note) {
    node.dataset.tone = note.tone;
    say(part(node, 'note-tone'), TONES[note.tone]);
    say(part(node, 'note-text'), note.text);
    show(part(node, 'note-close'), !note.keys.some((key) => key.intent?.kind === 'hush'));
    keepList(part(node, 'note-keys'), note.keys, (key) => key.id, () => makeKey(this.hands.press), fillKey);
  }
}

/** What of a row is filled in. */
const PLACES = /** @type {const} */ ([
  'row-number', 'row-sample', 'row-name', 'row-under', 'row-figure', 'row-pm', 'row-missing', 'row-flags',
]);

/** @typedef {{at: Record<typeof PLACES[number], HTMLElement>, row: Row | null}} Filled a row's places, and what stands in them */

/** Found once: with the size to build all rows are others, in every frame of a slide. @type {WeakMap<HTMLElement, Filled>} */
const filled = new WeakMap();

/** @param {string} note @returns {import('./types/scene').Key} */
function hushKey(note) {
  return { id: `hush-${note}`, label: '', weight: 'plain', on: false, intent: { kind: 'hush', note }, page: null };
}

/** @param {HTMLElement} node @param {Row} row */
function fillRow(node, row) {
  const own = filled.get(node);
  if (!own) return;
  const { at, row: was } = own;
  own.row = row;
  node.classList.toggle('selected', row.selected);
  say(at['row-number'], String(row.number));
  if (was?.line !== row.line) at['row-sample'].replaceChildren(lineSample(row.line));
  say(at['row-name'], row.name);
  say(at['row-under'], row.under);
  const size = row.finished ?? row.real;
  const text = size?.figure.text ?? '';
  if (at['row-figure'].dataset.text !== text) {
    at['row-figure'].dataset.text = text;
    at['row-figure'].replaceChildren(size ? setFigure(size.figure) : '');
  }
  say(at['row-pm'], row.from || (size ? size.pm : row.picture));
  show(at['row-missing'], row.missing != null);
  if (row.missing) say(part(node, 'missing-key'), row.missing.text);
  if (!was || was.flags.join('\n') !== row.flags.join('\n')) fillLines(at['row-flags'], row.flags);
}

/** @param {HTMLElement} node @param {RatioRow} row */
function fillRatio(node, row) {
  node.classList.toggle('base', row.base);
  say(part(node, 'row-number'), String(row.number));
  say(part(node, 'row-name'), row.name);
  say(part(node, 'row-under'), row.base ? word('page.ratio-base') : `${row.percent} · 1 : ${row.inverse}`);
  const [ratio, pm] = row.ratio.split(' ± ');
  say(part(node, 'ratio-figure'), ratio);
  say(part(node, 'row-pm'), pm ? `± ${pm}` : '');
  fillLines(part(node, 'row-flags'), row.golden ? [...row.whole, row.golden] : row.whole);
}

/** @param {HTMLElement} list @param {readonly string[]} lines */
function fillLines(list, lines) {
  show(list, lines.length > 0);
  const joined = lines.join('\n');
  if (list.dataset.lines === joined) return;
  list.dataset.lines = joined;
  list.replaceChildren(
    ...lines.map((line) => {
      const item = el('li');
      say(item, line);
      return item;
    }),
  );
}
