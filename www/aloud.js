// Figures read aloud at the bench, one after the other, by one large key; in type as large as the screen allows besides.
//
// Only by voices that the device has of its own: others send what is to be said to somebody's server. Where there are none,
// that is said, and the figures are only shown.

import { el, say, show } from './dom.js';
import { setFigure } from './type.js';
import { word } from './words.js';

/** @typedef {import('./types/scene').Figure} Figure */
/** @typedef {import('./types/scene').Row} Row */

/** A sentence that counts: another one where the count is 1. @param {string} key @param {string | number} count */
const counted = (key, count) => word(String(count) === '1' ? `${key}.one` : key, { count });

/** @param {string} num @param {string} den */
const fraction = (num, den) => counted(`aloud.part-${den}`, num);

/** What a voice makes of a text with fractions and signs. @param {string} text */
function plain(text) {
  return text
    .replace(/(\d+) (\d+)\u2044(\d+)/g, (_, whole, num, den) => word('aloud.and', { whole, part: fraction(num, den) }))
    .replace(/(\d+)\u2044(\d+)/g, (_, num, den) => fraction(num, den));
}

/** A figure in words, its unit as well. @param {Figure} figure @returns {string} */
export function spokenFigure({ negative, feet, whole, num, den, unit, text }) {
  const part = num != null && den != null ? fraction(num, den) : null;
  const number = whole != null && part != null ? word('aloud.and', { whole, part }) : whole ?? part;
  // An unknown one is a dash.
  if (number == null && feet == null) return text === '' ? '' : plain(text);
  const of = { in: 'in', ft: 'in', mm: 'mm', '°': 'degrees', '%': 'percent', 'sq in': 'sq-in', 'mm²': 'sq-mm', 'cm²': 'sq-cm' }[unit];
  const one = whole === '1' && part == null ? '.one' : whole == null && part != null && of === 'in' ? '.less' : '';
  const told = number == null || of == null ? number ?? '' : word(`aloud.unit-${of}${one && has(of, one) ? one : ''}`, { figure: number });
  const all = feet == null ? told : [counted('aloud.feet', feet), told].filter((each) => each !== '').join(' ');
  return negative ? word('aloud.minus', { figure: all }) : all;
}

/** Which units have a sentence of their own for one of them, or for less than one. @param {string} of @param {string} one */
const has = (of, one) => of === 'in' || (of === 'mm' && one === '.one');

/** The unit of a length, which the size board tells once for all. @param {Figure} figure */
function unitOf({ unit, whole, num }) {
  const told = unit === 'mm' ? word('unit.mm') : (unit === 'in' || unit === 'ft') && (whole ?? num) != null ? word('unit.in') : '';
  return el('span', 'aloud-unit', {}, told);
}

/** The ± in words. @param {string} pm as it stands beside a figure @returns {string} */
export function spokenPm(pm) {
  const both = pm.match(/^± ?(.+)$/);
  if (both) return word('aloud.good-to', { size: plain(both[1]) });
  const sides = pm.match(/^\u2212 ?(.+?) \+ ?(.+)$/);
  return sides ? word('aloud.good-between', { less: plain(sides[1]), more: plain(sides[2]) }) : plain(pm);
}

/** A row of the size board as a sentence. @param {Row} row @returns {string} */
export function sentenceOf(row) {
  const { number, name } = row;
  const size = row.finished ?? row.real;
  if (!size) return word('aloud.no-size', { number, name });
  const good = row.from || spokenPm(size.pm);
  return word(row.finished ? 'aloud.finished' : 'aloud.real', { number, name, figure: spokenFigure(size.figure), good });
}

/** The device's own voices for the page's language; told as soon as the browser knows them. @returns {SpeechSynthesisVoice | null} */
function ownVoice() {
  const tongue = document.documentElement.lang.slice(0, 2);
  const voices = globalThis.speechSynthesis?.getVoices() ?? [];
  return voices.find((voice) => voice.localService && voice.lang.slice(0, 2).toLowerCase() === tongue) ?? null;
}

class Reader {
  /** @param {() => readonly Row[]} rows as they are now */
  constructor(rows) {
    this.rows = rows;
    this.at = 0;
    this.place = el('p', 'aloud-place');
    this.name = el('p', 'aloud-name', { id: 'aloud-name' });
    this.figure = el('p', 'aloud-figure');
    this.good = el('p', 'aloud-good');
    this.voiceless = el('p', 'aloud-voiceless', { role: 'status' });
    say(this.voiceless, word('aloud.no-voice'));
    this.next = this.key('aloud-next', word('aloud.next'), () => this.step(1));
    this.next.classList.add('main');
    this.dialog = el('dialog', 'over-all aloud', { 'aria-labelledby': 'aloud-name' },
      el('div', 'aloud-head', {}, this.place, this.key('aloud-close', word('aloud.close'), () => this.end())),
      el('div', 'aloud-said', {}, this.name, this.figure, this.good),
      this.voiceless,
      el('div', 'aloud-keys', {},
        this.key('aloud-back', word('aloud.back'), () => this.step(-1)),
        this.key('aloud-again', word('aloud.again'), () => this.tell()),
        this.next));
    this.dialog.addEventListener('keydown', (event) => {
      event.stopPropagation();
      const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      if (by) this.step(by);
      if (by) event.preventDefault();
    });
    this.dialog.addEventListener('close', () => {
      globalThis.speechSynthesis?.cancel();
      globalThis.speechSynthesis?.removeEventListener?.('voiceschanged', this.heard);
      this.dialog.remove();
    });
    document.body.append(this.dialog);
    this.dialog.showModal();
    this.next.focus();
    globalThis.speechSynthesis?.addEventListener?.('voiceschanged', this.heard);
    this.step(0);
  }

  /** Voices may be known only a moment later. */
  heard = () => {
    if (!this.voiceless.hidden && ownVoice()) this.tell();
  };

  /** @param {string} id @param {string} label @param {() => void} act */
  key(id, label, act) {
    const key = el('button', 'key', { type: 'button', 'data-key': id }, label);
    key.addEventListener('click', act);
    return key;
  }

  /** @param {number} by so many rows on; after the last comes the first */
  step(by) {
    const count = this.rows().length;
    if (count === 0) return this.end();
    this.at = (this.at + by + count) % count;
    this.tell();
  }

  /** Shows the row and says it. */
  tell() {
    const rows = this.rows();
    const row = rows[this.at];
    if (!row) return this.step(0);
    const size = row.finished ?? row.real;
    say(this.place, word('aloud.place', { at: this.at + 1, of: rows.length }));
    say(this.name, `${row.number}  ${row.name}`);
    this.figure.replaceChildren(...(size ? [setFigure(size.figure), unitOf(size.figure)] : []));
    say(this.good, row.from || (size ? size.pm : ''));
    const sentence = sentenceOf(row);
    this.dialog.dataset.said = sentence;
    const voice = ownVoice();
    show(this.voiceless, voice === null);
    if (!voice) return;
    const saying = new SpeechSynthesisUtterance(sentence);
    saying.voice = voice;
    saying.lang = voice.lang;
    // A touch on the key goes on at once, whatever is being said.
    speechSynthesis.cancel();
    speechSynthesis.speak(saying);
  }

  end() {
    this.dialog.close();
  }
}

/** Reads the rows of the size board, from the first. @param {() => readonly Row[]} rows as they are now */
export function readAloud(rows) {
  return new Reader(rows);
}
