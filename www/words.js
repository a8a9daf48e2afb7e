// The page's own words; like the core's they stand in one file for each language.

/** @type {Record<string, string>} */
let sentences = {};
let spokenNow = 'en';
/** Who has to say something again when the language is another. @type {(() => void)[]} */
const tellers = [];

/**
 * Takes a words file in: from now on everything is said in its language, and what stands already is said again.
 * @param {string} json
 * @param {string} [language] its name as BCP 47 has it
 */
export function takeWords(json, language = 'en') {
  sentences = JSON.parse(json);
  spokenNow = language;
  document.documentElement.lang = language;
  document.documentElement.dir = word('page.direction');
  for (const tell of tellers) tell();
}

/**
 * Says something that stands for as long as the page does: now, and again in every other language.
 * @param {() => void} tell
 */
export function spoken(tell) {
  tellers.push(tell);
  tell();
}

/** What is spoken now. */
export function language() {
  return spokenNow;
}

/** How days are written: as the person has it, where that is of the language spoken. @returns {string} */
export function locale() {
  return navigator.languages.find((tag) => tag.split('-')[0] === spokenNow) ?? spokenNow;
}

/**
 * The sentence named `key`, with `slots` filled in. A missing one shows its name, which a test looks for.
 * @param {string} key
 * @param {Record<string, string | number>} [slots]
 * @returns {string}
 */
export function word(key, slots = {}) {
  const sentence = sentences[key] ?? key;
  return sentence.replace(/\{([a-z-]+)\}/g, (whole, name) => (name in slots ? String(slots[name]) : whole));
}
