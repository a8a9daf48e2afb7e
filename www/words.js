// The page's own words; like the core's they stand in one file.

/** @type {Record<string, string>} */
let sentences = {};

/**
 * Takes the words file in.
 * @param {string} json
 */
export function takeWords(json) {
  sentences = JSON.parse(json);
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
