// Three short pages to read and to print: how to take the picture, how far to trust a size, and what to mind. Fetched when they are first
// opened, words and all; kept with the rest for when there is no network.

import { SVG, byId, el, say } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { pageKey } from './notes.js';
import { dressed } from './own.js';
import { language, word } from './words.js';

/**
 * What is on each page: a figure and a sentence each. A sentence stands in help/, or is one that the page says elsewhere, too.
 * @type {Record<string, [keyof typeof FIGURES, string][]>}
 */
export const PAGES = {
  take: [
    ['back', 'help.back'], ['square', 'help.square'], ['tape', 'help.tape'], ['two', 'help.two'],
    ['room', 'help.room'], ['light', 'help.light'], ['flat', 'help.flat'], ['copy', 'help.copy'],
  ],
  trust: [
    ['band', 'help.band'], ['shares', 'help.shares'], ['behind', 'help.behind'], ['fold', 'help.fold'],
    ['two', 'help.longest'], ['end', 'help.end'], ['hold', 'help.hold'],
  ],
  mind: [
    ['blade', 'caution.machines'], ['chair', 'caution.likeness'], ['pellet', 'caution.toy'], ['strap', 'caution.bookcase'],
    ['strap', 'caution.chest'], ['slats', 'caution.crib'], ['book', 'caution.codes'], ['name', 'help.maker'],
  ],
};

/**
 * The page's own figures, on a field of 160 by 100: lines of four kinds, and what is filled.
 * @type {Record<string, Partial<Record<'line' | 'thin' | 'heavy' | 'dash' | 'fill', string>>>}
 */
export const FIGURES = {
  // A post and one behind it; a camera far off, and one too near, crossed.
  back: {
    heavy: 'M128 14V86m-48-46 20 20m0-20L80 60', line: 'M6 42h16v16H6zM22 46l6-3v14l-6-3M82 44h10v12H82zM92 47l5-3v12l-5-3',
    thin: 'M146 20V80M30 50 128 14M30 50l98 36',
  },
  // From above: a wall of shelves, a camera square to it, and one turned, crossed.
  square: {
    heavy: 'M24 18H136m-12 44 20 20m0-20-20 20', line: 'M72 66h16v16H72zM76 66l-3-6h14l-3 6M128 63l12 8-7 11-12-8z', thin: 'M80 30h12V18', dash: 'M80 18V60',
  },
  tape: {
    line: 'M52 10h84v80H52zM52 36h84M52 62h84', heavy: 'M22 10h12v80H22z',
    thin: 'M22 20h7m-7 10h12M22 40h7m-7 10h12M22 60h7m-7 10h12M22 80h7',
  },
  two: { thin: 'M46 14h92v58H46zM46 34h92M46 53h92', heavy: 'M28 14v58m-7-49 7-9 7 9M21 63l7 9 7-9M46 88h92m-83-7-9 7 9 7m74-14 9 7-9 7' },
  // A picture's frame: straight in the middle, bowed along its edges.
  room: { heavy: 'M10 8h140v84H10z', line: 'M54 28h52v44H54zM54 43h52M54 57h52', thin: 'M18 16q62 9 124 0M18 84q62-9 124 0M18 16q7 34 0 68M142 16q-7 34 0 68' },
  light: {
    heavy: 'M40 14h80', line: 'M72 70h16v16H72zM76 70l-3-6h14l-3 6M12 62l16-14 9 16zM148 62l-16-14-9 16z', thin: 'M36 46 52 22M40 52 64 22M124 46l-16-24M120 52 96 22',
  },
  flat: { line: 'M8 30q30-24 52 0v54q-22-24-52 0zM92 26h58v58H92z', thin: 'M16 46q20-18 36 0M16 60q20-18 36 0M100 40h42m-42 14h42m-42 14h42', heavy: 'm22 44 24 24m0-24L22 68' },
  copy: {
    line: 'M8 12h88v76H8zM112 40h40v34h-40z', thin: 'M20 72q8-46 32-46t32 46z', heavy: 'm120 45 24 24m0-24-24 24', fill: 'M118 66h6v-6h6v-6h6v6h6v6h6v4h-30z',
  },
  // Twenty trials: nineteen within the band, one without.
  band: {
    heavy: 'M38 62v20m84-20v20M38 72h84M80 66v12', thin: 'M38 10v46m84-46v46',
    fill: [58, 66, 74, 80, 86, 94, 102, 62, 70, 78, 84, 92, 98, 50, 68, 76, 88, 110, 136, 82]
      .map((x, i) => `M${x} ${14 + 9 * (i % 5)}m-3 0a3 3 0 1 0 6 0a3 3 0 1 0-6 0`).join(''),
  },
  shares: { line: 'M14 18h132v14H14zM14 44h132v14H14zM14 70h132v14H14z', fill: 'M14 18h92v14H14zM14 44h40v14H14zM14 70h14v14H14z' },
  // A near trestle, and the same one farther back.
  behind: { heavy: 'M12 22h64M24 22 14 90M64 22l10 68M19 62h50', line: 'M96 32h44M104 32l-7 46M132 32l7 46M101 59h34', dash: 'M78 22 94 31M78 90l18-12' },
  fold: { line: 'M18 10h54l6 12v70H18zM78 22l8-12h56v82H78', thin: 'M30 56q20-26 48-18M86 48q22-10 44 14', dash: 'M78 24v66' },
  end: { line: 'M20 44 96 18l44 16-76 28zM20 44v22l44 18V62M64 84l76-28V34', heavy: 'M35 60q0-6 6-5t5 8q-1 4-5 4v5m0 4v2' },
  hold: { line: 'M14 20h112v30H14z', heavy: 'M14 60h132v20H14z', thin: 'M26 60v8m12-8v12m12-12v8m12-8v12m12-12v8m12-8v12m12-12v8m12-8v12m12-12v8M126 16v44', fill: 'm136 22 5 6 12-16 3 3-15 20-8-9z' },
  // Goggles over a blade.
  blade: {
    heavy: 'M30 18h46q4 0 4 6t4-6h46q4 30-22 30-18 0-28-18-10 18-28 18-26 0-22-30zM30 24 14 20M130 24l16-4',
    line: 'M46 92a34 34 0 0 1 68 0M42 92l-6-7 11-4-2-10 11 2 2-11 10 4 6-9 6 8 6-8 6 9 10-4 2 11 11-2-2 10 11 4-6 7', thin: 'M10 92H150',
  },
  chair: { heavy: 'M52 8v84M52 54h52M104 54v38', line: 'M52 14q-8 18 0 32M52 74h52M46 8h10', thin: 'M24 92H136' },
  // A cylinder of the kind in which small parts are tried, and one that fits.
  pellet: { line: 'M50 26a30 10 0 1 0 60 0a30 10 0 1 0-60 0V78a30 10 0 0 0 60 0V26', heavy: 'M66 56a14 14 0 1 0 28 0a14 14 0 1 0-28 0', thin: 'M50 44 110 74' },
  strap: { heavy: 'M36 4V94M36 26h30', line: 'M60 16h56v76H60zM60 40h56M60 66h56', thin: 'M36 14 24 24M36 32 24 42M36 50 24 60M36 68 24 78M36 86 24 96M24 94H140' },
  slats: { heavy: 'M20 14v78M140 14v78', line: 'M20 24H140M20 74H140', thin: 'M35 24v50M50 24v50M65 24v50M80 24v50M95 24v50M110 24v50M125 24v50' },
  book: { line: 'M80 24Q52 8 16 18v62q36-10 64 6 28-16 64-6V18q-36-10-64 6zV86', thin: 'M28 34q22-4 40 4M28 50q22-4 40 4M28 66q22-4 40 4M132 34q-22-4-40 4M132 50q-22-4-40 4M132 66q-22-4-40 4' },
  name: { heavy: 'M22 62q14-44 22-30t-12 32q20-30 26-16t10 8 14-12 8 10 18-12 22 6', line: 'M16 80H144' },
};

/** Which page was last looked at. */
let last = 'take';

/** @param {keyof typeof FIGURES} name */
function figure(name) {
  const svg = document.createElementNS(SVG, 'svg');
  svg.setAttribute('viewBox', '0 0 160 100');
  svg.setAttribute('aria-hidden', 'true');
  svg.setAttribute('class', 'help-figure');
  for (const [kind, d] of Object.entries(FIGURES[name])) {
    const path = document.createElementNS(SVG, 'path');
    path.setAttribute('class', `help-${kind}`);
    path.setAttribute('d', d);
    svg.append(path);
  }
  return svg;
}

/** The words of these pages in the language that is spoken. @returns {Promise<Record<string, string>>} */
async function ownWords() {
  const response = await fetch(`./help/${language()}.json`);
  if (!response.ok) throw new Error(`help: ${response.status}`);
  return response.json();
}

class Help {
  /** @param {Record<string, string>} own */
  constructor(own) {
    this.own = own;
    this.title = el('h2', 'help-title');
    this.list = el('ol', 'help-list');
    const body = el('div', 'help-body', { tabindex: '0', 'data-scrolls': '', role: 'region' }, this.title, this.list);
    body.setAttribute('aria-label', word('page.help'));
    this.tabs = Object.keys(PAGES).map((name) => ({ name, key: makeKey(() => this.turn(name)) }));
    const print = makeKey(() => this.print());
    fillKey(print, pageKey('help-print', 'plain', word('page.help-print')));
    const close = makeKey(() => this.dialog.close());
    fillKey(close, pageKey('help-close', 'main', word('page.help-close')));
    const tabs = el('div', 'help-tabs', { role: 'group', 'aria-label': word('page.help') }, ...this.tabs.map(({ key }) => key));
    this.dialog = el('dialog', 'over-all help', { 'aria-label': word('page.help') },
      body, el('div', 'help-foot', {}, tabs, el('div', 'help-keys', {}, print, close)));
    this.turn(last);
  }

  /** @param {string} name */
  turn(name) {
    last = name;
    say(this.title, this.own[`help.${name}`]);
    for (const tab of this.tabs) {
      fillKey(tab.key, { ...pageKey(`help-${tab.name}`, 'plain', this.own[`help.${tab.name}`]), on: tab.name === name });
    }
    this.list.replaceChildren(...PAGES[name].map(([drawn, sentence]) => {
      const words = el('p');
      say(words, this.own[sentence] ?? word(sentence));
      return el('li', 'help-item', {}, figure(drawn), words);
    }));
    /** @type {Element} */ (this.list.parentElement).scrollTop = 0;
  }

  /** On a sheet of its own: what is printed is a copy, which lies on the page and not over it. */
  print() {
    const paper = byId('on-paper');
    paper.replaceChildren(this.title.cloneNode(true), this.list.cloneNode(true));
    document.body.dataset.printing = 'help';
    window.addEventListener('afterprint', () => {
      delete document.body.dataset.printing;
      paper.replaceChildren();
    }, { once: true });
    window.print();
  }

  /** Shows it; resolves when it is closed. */
  async open() {
    document.body.append(this.dialog);
    this.dialog.showModal();
    await new Promise((closed) => { this.dialog.addEventListener('close', closed, { once: true }); });
    this.dialog.remove();
  }
}

/** Opens one of the pages; the one that was open last, where none is named. @param {string} [name] */
export async function openHelp(name) {
  last = name ?? last;
  const [own] = await Promise.all([ownWords(), dressed('help.css')]);
  await new Help(own).open();
}
