// Boards, over the plan of the sheets: what is cut from which, with running measures. A touch on a piece takes it; then it can
// be slid, turned, held where it is, or given to another board, and the rest is laid out anew around it.

import { byId, el, keepList, say, show } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { pageKey } from './notes.js';
import { word } from './words.js';

/** @typedef {import('./types/press').BoardsShown} BoardsShown */
/** @typedef {import('./types/press').BoardShown} BoardShown */
/** @typedef {import('./types/press').LotShown} LotShown */
/** @typedef {import('./types/press').PieceShown} PieceShown */
/** @typedef {import('./types/scene').Lists} Shown */
/** @typedef {import('./types/scene').Spot} Spot */
/** @typedef {{ lot: LotShown, board: BoardShown, node: Element }} Place a board as it stands on the screen */
/** @typedef {{ lot: string, part: number, copy: number } | { lot: string, spot: Spot }} Taken what is in hand */

const SVG = 'http://www.w3.org/2000/svg';
/** Room beside and above a board for its measures, CSS px. */
const ROOM = [74, 30];
/** No board is drawn higher than this share of the room there is. */
const HIGHEST = 0.72;
/** Type on boards, CSS px. */
const TYPE = [22, 18];
/** How far a nudge moves, CSS px: about what a finger can tell. */
const NUDGE = 8;
/** How large a bad spot is at first, CSS px: a fingertip. */
const SPOT = 44;

/**
 * @template {keyof SVGElementTagNameMap} T
 * @param {T} tag @param {Record<string, string | number>} attributes @param {string} [text]
 */
function svg(tag, attributes, text) {
  const node = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, String(value));
  // Drawn type sets no fractions: a plain stroke is read more easily than a steep one.
  if (text !== undefined) node.textContent = text.replaceAll('\u2044', '/');
  return node;
}

export class Boards {
  /**
   * @param {import('./lists.js').Shop} shop
   * @param {{ orderOf(make: string): string | null, complain(error: unknown): null, make(what: 'pdf', make: string): Promise<unknown> }} lists
   * @param {() => void} changed told when it is closed
   */
  constructor(shop, lists, changed) {
    this.shop = shop;
    this.lists = lists;
    this.changed = changed;
    this.open = false;
    /** @type {BoardsShown | null} */
    this.shown = null;
    this.order = '';
    this.laying = false;
    /** @type {Taken | null} */
    this.taken = null;
    /** The next touch marks a bad spot. */
    this.marking = false;
    /** @type {Place[]} */
    this.places = [];
    this.room = el('div', 'boards-room', { tabindex: '0', 'data-scrolls': '' });
    this.words = el('p', 'boards-words', { role: 'status' });
    this.keys = el('div', 'boards-keys', { role: 'group' });
    this.foot = el('div', 'boards-foot', {}, this.words, this.keys);
    this.root = el('section', '', { id: 'boards', hidden: '' }, this.room, this.foot);
    byId('plan').after(this.root);
    this.stocks = el('ol', '', { id: 'stocks', hidden: '' });
    byId('parts').before(this.stocks);
    this.room.addEventListener('click', (event) => this.touch(event));
    this.room.addEventListener('pointerdown', (event) => this.slide(event));
    shop.press.onlaid = (done, of) => this.progress(done, of);
    new ResizeObserver(() => this.paint()).observe(this.room);
  }

  /** Everything asked for is laid out and drawn. */
  get idle() {
    return this.open && !this.laying;
  }

  toggle() {
    this.open = !this.open;
    // What is bought is chosen beside the parts: there it is out of sight.
    if (this.open) requestAnimationFrame(() => this.stocks.scrollIntoView({ block: 'start' }));
    this.taken = null;
    this.marking = false;
  }

  close() {
    this.toggle();
    this.changed();
  }

  /** @param {Shown | null} lists */
  draw(lists) {
    if (!lists) this.open = false;
    show(this.root, this.open);
    show(this.stocks, this.open);
    document.body.dataset.boards = this.open ? 'yes' : 'no';
    if (!this.open || !lists) return;
    keepList(this.stocks, lists.stocks, (stock) => stock.lot, () => el('li', 'stock', {}, el('p', 'stock-title'), el('div', 'stock-lines'), el('div', 'part-keys')), (node, stock) => {
      say(/** @type {HTMLElement} */ (node.querySelector('.stock-title')), stock.title);
      const keys = /** @type {HTMLElement} */ (node.querySelector('.part-keys'));
      keepList(keys, stock.keys, (key) => key.id, () => makeKey((key) => this.shop.hands.press(key)), fillKey);
    });
    void this.lay();
  }

  /** Lays out anew when what is ordered is another. */
  async lay() {
    const order = this.lists.orderOf('boards') ?? '';
    if (order === this.order) return this.paint();
    this.order = order;
    if (this.laying) return;
    this.laying = true;
    try {
      for (/** @type {string | null} */ let laid = null; laid !== this.order; ) {
        laid = this.order;
        this.shown = laid ? await this.shop.press.ask({ kind: 'boards', order: laid }).catch((error) => this.lists.complain(error)) : null;
      }
    } finally {
      this.laying = false;
      this.paint();
    }
  }

  /** @param {number} done @param {number} of */
  progress(done, of) {
    if (!this.laying) return;
    say(this.words, word('page.boards-working', { percent: Math.floor((100 * done) / Math.max(1, of)) }));
    this.offer([['enough', () => this.shop.press.enough()]]);
  }

  /** @param {[string, () => void, import('./types/scene').Weight?][]} keys */
  offer(keys) {
    /** @type {Map<string, () => void>} */
    this.acts = new Map(keys.map(([name, act]) => [`boards-${name}`, act]));
    const all = keys.map(([name, , weight]) => pageKey(`boards-${name}`, weight, word(`page.boards-${name}`)));
    keepList(this.keys, all, (key) => key.id, () => makeKey((key) => this.acts?.get(key.id)?.()), fillKey);
  }

  /** Draws all boards. */
  paint() {
    if (!this.open || this.laying) return;
    const { clientWidth: width, clientHeight: height } = this.room;
    if (width === 0) return;
    const lots = this.shown?.lots ?? [];
    this.places = [];
    const nodes = lots.flatMap((lot) => [
      told('h2', lot.title),
      ...lot.lines.map((line) => told('p', line)),
      ...lot.boards.map((board) => {
        const node = this.board(lot, board, width - 24, height * HIGHEST);
        this.places.push({ lot, board, node });
        return el('figure', 'one-board', {}, told('figcaption', board.label), /** @type {any} */ (node), ...board.lines.map((line) => told('p', line)));
      }),
    ]);
    if (lots.length > 0) nodes.push(told('p', word('sheet.boards-measured')), told('p', word('sheet.boards-note')));
    const top = this.room.scrollTop;
    this.room.replaceChildren(...nodes);
    this.room.scrollTop = top;
    this.tell();
  }

  /** What can be done now, in words and keys. */
  tell() {
    const found = this.found();
    if (!found) this.taken = null;
    const close = /** @type {[string, () => void]} */ (['close', () => this.close()]);
    if (!this.shown || this.shown.lots.length === 0) {
      say(this.words, word('page.boards-none'));
      return this.offer([close]);
    }
    if (this.marking) {
      say(this.words, word('page.boards-knot-hint'));
      return this.offer([['knot', () => this.mark(false)], close]);
    }
    if (!found) {
      say(this.words, word('page.boards-hint'));
      return this.offer([close, ['knot', () => this.mark(true)], ['pdf', () => void this.lists.make('pdf', 'boards'), 'main']]);
    }
    const { piece, spot } = found;
    const moves = /** @type {[string, () => void][]} */ ([['left', -1, 0], ['right', 1, 0], ['up', 0, -1], ['down', 0, 1]]
      .map(([name, dx, dy]) => [name, () => this.move(Number(dx) * NUDGE, Number(dy) * NUDGE)]));
    if (spot) {
      say(this.words, word('page.boards-spot'));
      return this.offer([...moves, ['smaller', () => this.size(0.8)], ['larger', () => this.size(1.25)], ['remove', () => this.setSpot(null), 'main']]);
    }
    if (!piece) return undefined;
    const name = `${piece.letter} ${piece.text}`;
    say(this.words, piece.pinned ? word('page.boards-pinned', { name }) : name);
    return this.offer([...moves, ['turn', () => this.pin({ turned: !piece.turned })], ['next', () => this.next()],
      piece.pinned ? ['free', () => this.free(), 'main'] : ['pin', () => this.pin({}), 'main']]);
  }

  /** @param {boolean} on */
  mark(on) {
    this.marking = on;
    this.tell();
  }

  /** Where what is in hand is now. @returns {(Place & { piece?: PieceShown, spot?: Spot }) | null} */
  found() {
    const { taken } = this;
    if (!taken) return null;
    for (const place of this.places.filter(({ lot }) => lot.name === taken.lot)) {
      if ('spot' in taken) {
        const spot = place.board.spots.find((one) => JSON.stringify(one) === JSON.stringify(taken.spot));
        if (spot) return { ...place, spot };
      } else {
        const piece = place.board.pieces.find((one) => one.part === taken.part && one.copy === taken.copy);
        if (piece) return { ...place, piece };
      }
    }
    return null;
  }

  /** CSS px a mm of a board as drawn. @param {Place} place */
  scale({ node }) {
    return Number(node.getAttribute('data-scale'));
  }

  /** @param {{ at?: [number, number], turned?: boolean, board?: number }} change */
  pin(change) {
    const found = this.found();
    if (!found?.piece) return;
    const { lot, board, piece } = found;
    const { part, copy, at, turned } = piece;
    this.shop.hands.send({ kind: 'pin', lot: lot.name, pin: { part, copy, board: board.number, size: board.size, at, turned, ...change }, on: true });
  }

  free() {
    const found = this.found();
    if (!found?.piece) return;
    const { lot, board, piece: { part, copy, at, turned } } = found;
    this.shop.hands.send({ kind: 'pin', lot: lot.name, pin: { part, copy, board: board.number, size: board.size, at, turned }, on: false });
  }

  /** To the board after this one, or back to the first. */
  next() {
    const found = this.found();
    if (!found) return;
    const numbers = found.lot.boards.map((one) => one.number);
    const after = numbers.find((n) => n > found.board.number);
    this.pin({ board: after ?? (numbers[0] === found.board.number ? found.board.number + 1 : numbers[0]), at: [0, 0] });
  }

  /** @param {Spot | null} spot in place of the one in hand */
  setSpot(spot) {
    const { taken } = this;
    if (!taken || !('spot' in taken)) return;
    const was = taken.spot;
    this.taken = spot ? { lot: taken.lot, spot } : null;
    this.shop.hands.send({ kind: 'spot', lot: taken.lot, spot: spot ?? was, on: spot !== null, was });
  }

  /** @param {number} by */
  size(by) {
    const found = this.found();
    if (found?.spot) this.setSpot({ ...found.spot, over: [found.spot.over[0] * by, found.spot.over[1] * by] });
  }

  /** Moves what is in hand. @param {number} dx @param {number} dy CSS px */
  move(dx, dy) {
    const found = this.found();
    if (!found) return;
    const px = this.scale(found);
    const moved = (/** @type {[number, number]} */ [x, y]) => /** @type {[number, number]} */ ([x + dx / px, y + dy / px]);
    if (found.piece) this.pin({ at: moved(found.piece.at) });
    else if (found.spot) this.setSpot({ ...found.spot, at: moved(found.spot.at) });
  }

  /** @param {MouseEvent} event */
  touch(event) {
    const target = event.target instanceof Element ? event.target : null;
    const place = this.places.find(({ node }) => target && node.contains(target));
    if (this.slid || this.laying) {
      this.slid = false;
      return;
    }
    if (!place) {
      this.taken = null;
      this.paint();
      return;
    }
    const { lot, board, node } = place;
    if (this.marking) {
      const { left, top } = node.getBoundingClientRect();
      const px = this.scale(place);
      const middle = [(event.clientX - left - ROOM[0]) / px, (event.clientY - top - ROOM[1]) / px];
      const half = SPOT / px / 2;
      const spot = /** @type {Spot} */ ({ board: board.number, size: board.size, at: middle.map((v) => Math.max(0, v - half)), over: [2 * half, 2 * half] });
      this.marking = false;
      this.taken = { lot: lot.name, spot };
      this.shop.hands.send({ kind: 'spot', lot: lot.name, spot, on: true });
      return;
    }
    const group = target?.closest('[data-piece], [data-spot]');
    const piece = board.pieces[Number(group?.getAttribute('data-piece') ?? -1)];
    const spot = board.spots[Number(group?.getAttribute('data-spot') ?? -1)];
    if (spot) this.taken = { lot: lot.name, spot };
    else this.taken = piece ? { lot: lot.name, part: piece.part, copy: piece.copy } : null;
    this.paint();
  }

  /** What was touched before can be slid. @param {PointerEvent} down */
  slide(down) {
    const group = down.target instanceof Element ? down.target.closest('.taken') : null;
    if (!(group instanceof SVGGElement)) return;
    down.preventDefault();
    const by = (/** @type {PointerEvent} */ event) => [event.clientX - down.clientX, event.clientY - down.clientY];
    this.slid = false;
    const move = (/** @type {PointerEvent} */ event) => {
      if (event.pointerId !== down.pointerId) return;
      const [dx, dy] = by(event);
      if (Math.abs(dx) + Math.abs(dy) > NUDGE) this.slid = true;
      if (this.slid) group.setAttribute('transform', `translate(${dx} ${dy})`);
    };
    const done = (/** @type {PointerEvent} */ event) => {
      if (event.pointerId !== down.pointerId) return;
      for (const [name, act] of /** @type {const} */ ([['pointermove', move], ['pointerup', done], ['pointercancel', done]])) {
        document.removeEventListener(name, act);
      }
      const [dx, dy] = by(event);
      if (event.type === 'pointerup' && this.slid) this.move(dx, dy);
      else group.removeAttribute('transform');
    };
    document.addEventListener('pointermove', move);
    document.addEventListener('pointerup', done);
    document.addEventListener('pointercancel', done);
  }

  slid = false;

  /**
   * A board as large as the room allows.
   * @param {LotShown} lot @param {BoardShown} board @param {number} width @param {number} height CSS px
   */
  board(lot, board, width, height) {
    const [long, wide] = board.size;
    const px = Math.min((width - ROOM[0] - 8) / long, height / wide);
    const root = svg('svg', { width: long * px + ROOM[0] + 8, height: wide * px + ROOM[1] + 8, class: 'board-drawn', 'data-scale': px, 'data-board': board.number, role: 'img', 'aria-label': board.label });
    const inner = svg('g', { transform: `translate(${ROOM[0]} ${ROOM[1]})` });
    inner.append(svg('rect', { x: 0, y: 0, width: long * px, height: wide * px, class: 'board-edge' }));
    board.pieces.forEach((piece, i) => inner.append(this.piece(lot, piece, i, px)));
    board.spots.forEach((spot, i) => {
      const [x, y, w, h] = [...spot.at, ...spot.over].map((v) => v * px);
      const taken = this.taken && 'spot' in this.taken && this.taken.lot === lot.name && JSON.stringify(this.taken.spot) === JSON.stringify(spot);
      const group = svg('g', { 'data-spot': i, class: taken ? 'spot taken' : 'spot' });
      group.append(svg('rect', { x, y, width: w, height: h }), svg('path', { d: `M${x} ${y}l${w} ${h}M${x + w} ${y}l${-w} ${h}` }));
      inner.append(group);
    });
    measures(inner, board, px);
    root.append(inner);
    return root;
  }

  /** @param {LotShown} lot @param {PieceShown} piece @param {number} index @param {number} px */
  piece(lot, piece, index, px) {
    const [x, y, w, h] = [...piece.at, ...piece.over].map((v) => v * px);
    const { taken } = this;
    const own = taken && !('spot' in taken) && taken.lot === lot.name && taken.part === piece.part && taken.copy === piece.copy;
    const group = svg('g', { 'data-piece': index, 'data-letter': piece.letter, class: ['piece', own ? 'taken' : '', piece.pinned ? 'pinned' : ''].join(' ') });
    group.append(svg('rect', { x, y, width: w, height: h }));
    const upright = h > w;
    const [along, across] = upright ? [h, w] : [w, h];
    const middle = `translate(${x + w / 2} ${y + h / 2})${upright ? ' rotate(-90)' : ''}`;
    const text = svg('g', { transform: middle, 'text-anchor': 'middle' });
    const fits = (/** @type {string} */ words, /** @type {number} */ size) => words.length * size * 0.52 < along - 6;
    if (across > TYPE[0] + TYPE[1] + 10 && fits(piece.text, TYPE[1])) {
      text.append(svg('text', { y: -2, class: 'piece-letter' }, piece.letter), svg('text', { y: TYPE[1] + 2, class: 'piece-text' }, piece.text));
    } else if (across > TYPE[1] && fits(`${piece.letter} ${piece.text}`, TYPE[1])) {
      text.append(svg('text', { y: 6, class: 'piece-text' }, `${piece.letter}  ${piece.text}`));
    } else {
      text.append(svg('text', { y: 6, class: 'piece-text' }, piece.letter));
    }
    group.append(text);
    // Held by a person: a bar at each end, as on a mark that is held.
    if (piece.pinned) group.append(svg('path', { d: `M${x + 4} ${y + 4}V${y + h - 4}M${x + w - 4} ${y + 4}V${y + h - 4}`, class: 'held' }));
    return group;
  }
}

/** @param {'h2' | 'p' | 'figcaption'} tag @param {string} text */
function told(tag, text) {
  const node = el(tag);
  say(node, text);
  return node;
}

/**
 * Where the cuts lie, from the left end and from the upper edge; each figure once, and none over another.
 * @param {Element} inner @param {BoardShown} board @param {number} px
 */
function measures(inner, board, px) {
  for (const across of [true, false]) {
    // The first cuts matter most where there isn't room for all figures.
    const own = board.cuts.filter((cut) => cut.across === across).sort((a, b) => a.level - b.level);
    /** @type {Set<string>} */
    const written = new Set();
    /** @type {[number, number][]} */
    const taken = [];
    for (const { at, text } of own) {
      if (written.has(text)) continue;
      written.add(text);
      const place = at * px;
      inner.append(svg('path', { d: across ? `M${place} 0v-7` : `M0 ${place}h-7`, class: 'tick' }));
      const half = (across ? text.length * 9 : 18) / 2;
      const [from, to] = [place - half - 4, place + half];
      if (taken.some(([a, b]) => from < b && a < to)) continue;
      taken.push([from, to]);
      inner.append(across ? svg('text', { x: place, y: -10, 'text-anchor': 'middle', class: 'measure' }, text)
        : svg('text', { x: -10, y: place + 6, 'text-anchor': 'end', class: 'measure' }, text));
    }
  }
}
