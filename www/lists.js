// The last step: the parts and how each pattern is made, the plan of the sheets, and the files that are printed.

import { byId, el, keepList, say, show } from './dom.js';
import { fileName } from './files.js';
import { fillKey, makeKey } from './keys.js';
import { Refused } from './mill-start.js';
import { dressed } from './own.js';
import { openPicture } from './picture.js';
import { PlanBoard } from './plan.js';
import { knownPrinters, rememberPrinter } from './printers.js';
import { locale, spoken, word } from './words.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/scene').PartShown} PartShown */
/** @typedef {import('./types/press').Plan} Plan */
/** @typedef {import('./types/press').Window} Window */

/**
 * @typedef {object} Shop what the lists need of the rest
 * @property {import('./door.js').Door} door
 * @property {import('./files.js').Files} files
 * @property {import('./notes.js').Notes} notes
 * @property {import('./press.js').Press} press
 * @property {import('./ledge.js').Hands} hands
 */

/** The pictures of a job, as one name. @param {Scene} scene */
const digestsOf = (scene) => scene.pictures.map((picture) => picture.digest).join(' ');

export class Lists {
  /** @param {Shop} shop */
  constructor(shop) {
    this.shop = shop;
    this.list = byId('parts');
    this.more = byId('more-ways');
    this.below = byId('cut-below');
    this.sections = byId('sections');
    this.busy = byId('making');
    /** The order that the plan is of. */
    this.order = '';
    /** @type {Plan | null} */
    this.plan = null;
    this.board = new PlanBoard((whole, by) => void shop.hands.send({ kind: 'shift-sheets', whole, by }));
    /** Pictures opened only for their pixels, by digest. @type {Map<string, Promise<import('./picture.js').Picture>>} */
    this.opened = new Map();
    const stop = byId('making-stop');
    spoken(() => say(stop, word('page.stop')));
    stop.addEventListener('click', () => this.stop());
    shop.press.onstep = (done, of) => this.tell(done, of);
    /** What a piece of a line leads to. @type {WeakMap<HTMLElement, import('./types/scene').Intent>} */
    this.leads = new WeakMap();
  }

  /** What is being made now, if anything. */
  get making() {
    return !this.busy.hidden;
  }

  /** There is a plan, and it is of the job as it stands. */
  get idle() {
    return !this.making && !this.planning;
  }

  planning = false;
  /** Boards, once they have been asked for. @type {import('./boards.js').Boards | null} */
  boards = null;
  /** The pictures of the job that something is being made of. */
  digests = '';

  /** @param {Scene} scene */
  draw(scene) {
    const { lists } = scene;
    // What is being made is of the job as it stood: of another one nothing can be finished.
    if (this.making && this.digests !== digestsOf(scene)) this.stop();
    const opens = this.list.hidden && lists !== null;
    show(this.list, lists !== null);
    show(this.more, lists !== null);
    show(this.below, lists !== null);
    show(this.sections, lists !== null);
    this.boards?.draw(lists);
    const plan = lists !== null && !this.boards?.open;
    this.board.set(this.plan, plan);
    if (!lists) return;
    keepList(this.list, scene.parts, (part) => String(part.id), () => this.makePart(), (node, part) => this.fillPart(node, part));
    keepList(this.more, lists.more, (key) => key.id, () => makeKey((key) => this.shop.hands.press(key)), fillKey);
    this.fillLines(this.below, lists.below.map((line) => [line]));
    keepList(this.sections, lists.sections, (section) => section.id, () => this.makeSection(), (node, section) => this.fillSection(node, section));
    const printers = opens ? knownPrinters() : [];
    // The desk hears of them after this scene is shown, which is being shown now.
    if (printers.length > 0) queueMicrotask(() => this.shop.hands.send({ kind: 'remember', printers }));
    if (lists.printer) rememberPrinter(lists.printer);
    void this.replan(lists.ready);
  }

  makePart() {
    return el('li', 'part', {},
      el('span', 'part-letter'),
      el('div', 'part-words', {}, el('p', 'part-name'), el('p', 'part-size'), el('p', 'part-why'), el('div', 'part-cut')),
      el('div', 'part-keys'));
  }

  /** @param {HTMLElement} node @param {PartShown} part */
  fillPart(node, part) {
    const at = (/** @type {string} */ name) => /** @type {HTMLElement} */ (node.querySelector(`.part-${name}`));
    node.dataset.part = String(part.id);
    say(at('letter'), part.letter);
    say(at('name'), part.name);
    say(at('size'), part.size);
    say(at('why'), part.why);
    show(at('why'), part.why !== '');
    this.fillLines(at('cut'), part.cut);
    keepList(at('keys'), part.keys, (key) => key.id, () => makeKey((key) => this.shop.hands.press(key)), fillKey);
  }

  makeSection() {
    return el('li', 'section', {}, el('h2', 'section-title'), el('div', 'section-lines'), el('div', 'part-keys'));
  }

  /** What is told of the whole, under its head. @param {HTMLElement} node @param {import('./types/scene').Section} section */
  fillSection(node, section) {
    const at = (/** @type {string} */ name) => /** @type {HTMLElement} */ (node.querySelector(name));
    node.dataset.section = section.id;
    say(at('.section-title'), section.title);
    this.fillLines(at('.section-lines'), section.lines.map((line) => [line]));
    keepList(at('.part-keys'), section.keys, (key) => key.id, () => makeKey((key) => this.shop.hands.press(key)), fillKey);
  }

  /**
   * A paragraph for each line; a touch on a piece of it leads to where its figures come from.
   * @param {HTMLElement} node @param {import('./types/scene').Traced[][]} lines
   */
  fillLines(node, lines) {
    keepList(node, [...lines.entries()], ([i]) => String(i), () => el('p'), (p, [, pieces]) => {
      keepList(p, [...pieces.entries()], ([i, { leads }]) => `${i} ${leads !== null}`, ([, { leads }]) => this.makePiece(leads !== null), (piece, [, { text, leads }]) => {
        say(piece, text);
        if (leads) this.leads.set(piece, leads);
      });
    });
  }

  /** @param {boolean} leads */
  makePiece(leads) {
    if (!leads) return el('span');
    const piece = el('button', 'traced', { type: 'button' });
    piece.addEventListener('click', () => {
      const intent = this.leads.get(piece);
      if (!intent) return;
      this.shop.hands.send(intent);
      // A mark that was chosen already is brought into sight all the same.
      if (intent.kind === 'select') document.querySelector(`[data-row="${intent.mark}"]`)?.scrollIntoView({ block: 'start' });
    });
    return piece;
  }

  /** The day, as it is written here. */
  today() {
    return new Date().toLocaleDateString(locale());
  }

  /** @param {string} make @returns {string | null} */
  orderOf(make) {
    return this.shop.door.read((desk) => desk.order(make, this.today()));
  }

  /** Lays the sheets anew when what is ordered is another. @param {boolean} ready */
  async replan(ready) {
    const order = ready ? this.orderOf('patterns') ?? '' : '';
    if (order === this.order) return;
    this.order = order;
    if (this.planning) return;
    this.planning = true;
    try {
      for (/** @type {string | null} */ let planned = null; planned !== this.order; ) {
        planned = this.order;
        const plan = planned ? await this.shop.press.ask({ kind: 'plan', order: planned }).catch((error) => this.complain(error)) : null;
        this.plan = plan ?? null;
        this.board.set(this.plan, this.shop.door.scene?.lists != null && !this.boards?.open);
        this.board.describe(this.plan);
        this.remark(this.plan?.remarks ?? []);
      }
    } finally {
      this.planning = false;
    }
  }

  /**
   * Makes a file and gives it to the person, or prints.
   * @param {'pdf' | 'svg' | 'print'} what @param {string} make what is made, by its name in the core
   */
  async make(what, make = 'patterns') {
    if (this.making) return;
    const order = this.orderOf(make);
    if (!order) return;
    const name = fileName([this.shop.door.scene?.name ?? '', word(`page.${make}`)].join(' '));
    const { scene } = this.shop.door;
    this.digests = scene ? digestsOf(scene) : '';
    this.tell(0, 0);
    try {
      if (what === 'svg') {
        for (const { name, svg } of await this.drawings(order)) {
          this.shop.files.handOver(`${fileName(name)}.svg`, [svg], 'image/svg+xml');
        }
      } else if (what === 'print') {
        const [{ printSheets }, sheets] = await Promise.all([import('./on-paper.js'), this.shop.press.ask({ kind: 'print', order })]);
        await printSheets(sheets);
      } else {
        const pdf = await this.shop.press.ask({ kind: 'pdf', order });
        this.shop.files.handOver(`${name}.pdf`, [pdf], 'application/pdf');
      }
      return true;
    } catch (error) {
      this.complain(error);
      return false;
    } finally {
      show(this.busy, false);
      await this.letGo();
    }
  }

  /** Each part's drawing at full size. @param {string} order */
  async drawings(order) {
    /** @type {{ pieces: { pattern: { letter: string, name: string } }[] }} */
    const { pieces } = JSON.parse(order);
    const out = [];
    for (const [piece, { pattern }] of pieces.entries()) {
      out.push({ name: `${pattern.letter} ${pattern.name}`, svg: await this.shop.press.ask({ kind: 'svg', order, piece }) });
    }
    return out;
  }

  /** Shows the parts at full size on the glass. */
  async showOnGlass() {
    const order = this.orderOf('patterns');
    const gauges = this.shop.door.scene?.lists?.gauges;
    if (!order || !gauges) return;
    try {
      const [{ Glass }, drawings] = await Promise.all([import('./glass.js'), this.drawings(order)]);
      await new Glass(gauges, drawings).open();
    } catch (error) {
      this.complain(error);
    }
  }

  /** Shows what is cut from which board, in place of the sheets. */
  async showBoards() {
    const [{ Boards }] = await Promise.all([import('./boards.js'), dressed('bench.css')]);
    this.boards ??= new Boards(this.shop, this, () => this.redraw());
    this.boards.toggle();
    this.redraw();
  }

  redraw() {
    const { scene } = this.shop.door;
    if (scene) this.draw(scene);
  }

  /** One cut at a time, to be read across a bench. */
  async showBench() {
    const [{ Bench }] = await Promise.all([import('./bench.js'), dressed('bench.css')]);
    await new Bench(this.shop.door).open();
  }

  stop() {
    this.shop.press.stop();
  }

  /** @param {number} done @param {number} of */
  tell(done, of) {
    show(this.busy, true);
    say(byId('making-words'), of > 0 ? word('page.making', { percent: Math.floor((100 * done) / of) }) : word('page.making-begins'));
  }

  /** @param {unknown} error @returns {null} */
  complain(error) {
    if (error instanceof Refused) this.shop.notes.refuse(this.said(error.say));
    else if (error instanceof Error && error.message === 'stopped') this.shop.notes.refuse(word('page.stopped'));
    else {
      console.error(error);
      this.shop.notes.refuse(word('page.press-failed'));
    }
    return null;
  }

  /** What should be known before printing. @param {import('./types/mill').Say[]} remarks */
  remark(remarks) {
    const { notes } = this.shop;
    notes.drop('sheets');
    if (remarks.length > 0) notes.warn('sheets', () => remarks.map((one) => this.said(one)).join(' '), []);
  }

  /** @param {import('./types/mill').Say} sentence */
  said(sentence) {
    return this.shop.door.read((desk) => desk.tell(sentence)) ?? '';
  }

  /** The luminance of part of a picture, or its own file where that is a JPEG. @param {Window} window @returns {Promise<import('./types/press').Given>} */
  async pixels({ picture, x, y, width, height }) {
    const from = await this.picture(picture);
    if (width > 0) return { pixels: await from.luminance(x, y, width, height) };
    const { format, orientation } = from.header;
    const file = format === 'jpeg' ? await from.blob.arrayBuffer() : new ArrayBuffer(0);
    return { pixels: new Uint8Array(file), orientation };
  }

  /** @param {number} picture @returns {Promise<import('./picture.js').Picture>} */
  async picture(picture) {
    const shown = this.shop.door.scene?.pictures.find((one) => one.id === picture);
    if (!shown) throw new Error('a picture that is not in the job');
    const { open } = this.shop.files;
    if (open?.digest === shown.digest) return open.picture;
    let other = this.opened.get(shown.digest);
    if (!other) {
      other = this.shop.files.bytesOf(shown.digest).then((blob) => {
        if (!blob) throw new Error('the picture is not in the store');
        return openPicture(blob, shown.name);
      });
      this.opened.set(shown.digest, other);
    }
    return other;
  }

  async letGo() {
    for (const picture of this.opened.values()) (await picture.catch(() => null))?.close();
    this.opened.clear();
  }
}
