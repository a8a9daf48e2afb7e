// The sizes as a clean sheet of paper: filled in when the browser is about to print.

import { byId, el, say } from './dom.js';
import { word } from './words.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/scene').Size} Size */
/** @typedef {import('./types/scene').Row} Row */

/** @param {keyof HTMLElementTagNameMap} tag @param {string} text @param {string} [className] */
function told(tag, text, className = '') {
  const node = el(tag, className);
  say(node, text);
  return node;
}

/** @param {Size | null | undefined} size */
function sizeText(size) {
  if (!size) return '';
  const { text, unit } = size.figure;
  return unit && !text.endsWith(unit) ? `${text} ${unit}` : text;
}

/** @param {Row} row */
function line(row) {
  const size = row.finished ?? row.real;
  const notes = [...row.more.map((more) => `${more.label} ${sizeText(more.size)} ${more.size.pm}`.trim()), ...row.flags];
  return el(
    'tr',
    '',
    {},
    told('td', String(row.number), 'paper-number'),
    el('td', '', {}, told('div', row.name), ...notes.map((note) => told('div', note, 'paper-note'))),
    told('td', row.picture),
    told('td', sizeText(row.real)),
    told('td', sizeText(row.finished), 'paper-finished'),
    told('td', row.from || (size?.pm ?? ''), 'paper-pm'),
  );
}

/** @param {Scene} scene */
function fill(scene) {
  const head = ['page.col-number', 'page.col-mark', 'page.col-picture', 'page.col-real', 'page.col-finished', 'page.col-pm'];
  const scales = scene.views.map((view) => [view.name, view.scale].filter(Boolean).join(': ')).filter(Boolean);
  byId('paper').replaceChildren(
    told('h1', scene.name || word('page.no-name')),
    told('p', `${scene.head[0]} · ${scene.head[1]}`),
    ...scales.map((scale) => told('p', scale, 'paper-scale')),
    el(
      'table',
      '',
      {},
      el('thead', '', {}, el('tr', '', {}, ...head.map((key) => told('th', word(key))))),
      el('tbody', '', {}, ...scene.rows.map(line)),
    ),
    told('p', word(scene.rows.length > 0 ? 'page.paper-pm' : 'page.no-sizes')),
    ...scene.notes.filter((note) => note.tone !== 'say').map((note) => told('p', note.text, 'paper-caution')),
  );
}

/**
 * Fills the sheet before every printing, however it was started.
 * @param {() => Scene | null} current
 */
export function watchPrinting(current) {
  const ready = () => {
    const scene = current();
    if (scene) fill(scene);
  };
  window.addEventListener('beforeprint', ready);
  return () => {
    ready();
    window.print();
  };
}
