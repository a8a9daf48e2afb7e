// Which language is spoken: the one that was chosen here, else the first of the browser's own that there is. And the keys to
// choose by.

import { el, say } from './dom.js';
import { language, spoken, word } from './words.js';

/** Each has its file in words/. The first is spoken to those who speak none of them. */
export const LANGUAGES = ['en', 'de'];
/** Where the choice is kept. */
const KEPT = 'scrieve-language';

/**
 * @param {string | null} kept what was chosen here
 * @param {readonly string[]} wanted the browser's languages, the dearest first
 * @returns {string} one of {@link LANGUAGES}
 */
export function pickLanguage(kept, wanted) {
  const all = [kept ?? '', ...wanted].map((tag) => tag.toLowerCase().split('-')[0]);
  return all.find((code) => LANGUAGES.includes(code)) ?? LANGUAGES[0];
}

/** @returns {string} */
export function languageHere() {
  let kept = null;
  try {
    kept = localStorage.getItem(KEPT);
  } catch {
    // The browser's own is taken.
  }
  return pickLanguage(kept, navigator.languages);
}

/** @param {string} code */
export function keepLanguage(code) {
  try {
    localStorage.setItem(KEPT, code);
  } catch {
    // It is asked for again next time.
  }
}

/** What has been asked for, by language. @type {Map<string, Promise<string>>} */
const asked = new Map();

/** A language's words file, as it is; fetched once. @param {string} code @returns {Promise<string>} */
export function wordsOf(code) {
  const before = asked.get(code);
  if (before) return before;
  const words = fetch(`./words/${code}.json`).then((response) => {
    if (!response.ok) throw new Error(`the words of ${code}: ${response.status}`);
    return response.text();
  });
  asked.set(code, words);
  // The next time it may come.
  words.catch(() => asked.delete(code));
  return words;
}

/**
 * A key for each language, by its own name for itself; the one that is spoken is pressed.
 * @param {HTMLElement} place
 * @param {(code: string) => void} choose
 */
export function languageKeys(place, choose) {
  const keys = LANGUAGES.map((code) => {
    const button = el('button', 'key', { type: 'button', lang: code }, el('span', 'key-label'));
    button.dataset.key = `language-${code}`;
    button.addEventListener('click', () => choose(code));
    return { code, button };
  });
  place.append(...keys.map(({ button }) => button));
  spoken(() => {
    place.setAttribute('aria-label', word('page.languages'));
    for (const { code, button } of keys) {
      say(/** @type {HTMLElement} */ (button.firstChild), word(`language.${code}`));
      button.setAttribute('aria-pressed', String(code === language()));
    }
  });
}
