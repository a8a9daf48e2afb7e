// A made-up language for tests, never served: English in which every word is longer, as far as translations are. Short texts grow
// most: up to 10 letters to twice as long, up to 20 to 1.8, 30 to 1.6, 50 to 1.4, 70 to 1.5, and above to 1.3 times (IBM's figures
// as "Text size in translation", W3C Internationalization, gives them; from memory, the lower ends).
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const WORDS = join(dirname(fileURLToPath(import.meta.url)), '../www/words');
const GROWTH = [[10, 2], [20, 1.8], [30, 1.6], [50, 1.4], [70, 1.5], [Infinity, 1.3]];
/** What is put behind words, over and over. */
const SYLLABLES = 'ungeheitlichschaftelung';
/** These are no sentences but say how the language is written. */
const SETTINGS = /^(page\.direction|number\.|units\.start|language\.)/;

/** One sentence, longer; what goes into it stays as it is. @param {string} text */
export function longer(text) {
  const pieces = text.split(/(\{[^}]*\}|[\p{L}’']+)/u);
  const isWord = (piece) => /^[\p{L}’']{2,}$/u.test(piece);
  const letters = pieces.filter(isWord).join('').length;
  const [, growth] = GROWTH.find(([most]) => text.length <= most);
  let told = 0;
  let grown = 0;
  return pieces.map((piece) => {
    if (!isWord(piece)) return piece;
    told += piece.length;
    // What was rounded off one word comes to the next.
    const extra = Math.round((growth - 1) * letters * (told / letters)) - grown;
    grown += extra;
    return piece + SYLLABLES.repeat(1 + Math.floor(extra / SYLLABLES.length)).slice(0, extra);
  }).join('');
}

/**
 * The words file of the made-up language.
 * @param {'ltr' | 'rtl'} [direction] which way it is written
 * @returns {string} as a words file is
 */
export function longWords(direction = 'ltr') {
  const english = JSON.parse(readFileSync(join(WORDS, 'en.json'), 'utf8'));
  const made = Object.entries(english).map(([name, text]) => [name, SETTINGS.test(name) ? text : longer(text)]);
  return JSON.stringify({ ...Object.fromEntries(made), 'page.direction': direction });
}
