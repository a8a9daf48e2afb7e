// Sheets printed straight from the page: each is a picture of its own size, on paper of that size, without a margin.

import { byId, el } from './dom.js';

/** @typedef {{ size: [number, number], svg: string }} Sheet a sheet's width and height, mm, and what it shows */

/** What the last sheets were printed with. @type {CSSStyleSheet | null} */
let rules = null;

/** Lets go of the sheets that were printed. */
function clear() {
  delete document.body.dataset.printing;
  const box = byId('on-paper');
  for (const picture of box.querySelectorAll('img')) URL.revokeObjectURL(picture.src);
  box.replaceChildren();
  document.adoptedStyleSheets = document.adoptedStyleSheets.filter((sheet) => sheet !== rules);
  rules = null;
}

/** @param {Sheet[]} sheets */
export async function printSheets(sheets) {
  clear();
  const sizes = [...new Set(sheets.map(({ size }) => size.map((mm) => `${mm}mm`).join(' ')))];
  rules = new CSSStyleSheet();
  // A browser that knows no named pages takes the first.
  const pages = sizes.map((size, i) => `@page sheet-${i} { size: ${size}; margin: 0; }`);
  rules.replaceSync([`@page { size: ${sizes[0]}; margin: 0; }`, ...pages].join('\n'));
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, rules];
  const pictures = sheets.map(({ size, svg }) => {
    const picture = el('img', 'on-paper-sheet', { alt: '' });
    const [wide, high] = size.map((mm) => `${mm}mm`);
    Object.assign(picture.style, { width: wide, height: high, page: `sheet-${sizes.indexOf(`${wide} ${high}`)}` });
    picture.src = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
    return picture;
  });
  byId('on-paper').replaceChildren(...pictures);
  await Promise.all(pictures.map((picture) => picture.decode()));
  document.body.dataset.printing = 'sheets';
  window.addEventListener('afterprint', clear, { once: true });
  window.print();
}
