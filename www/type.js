// Setting type: fractions are written with U+2044 by the core and set as fractions here.

/** @typedef {import('./types/scene').Figure} Figure */
/** @typedef {{text: string} | {num: string, den: string}} Piece */

const LENGTH_UNITS = ['in', 'ft', 'mm', ''];

const FRACTION = /(\d+)\u2044(\d+)/g;

/**
 * Cuts a text at its fractions.
 * @param {string} text
 * @returns {Piece[]}
 */
export function pieces(text) {
  /** @type {Piece[]} */
  const out = [];
  let from = 0;
  for (const found of text.matchAll(FRACTION)) {
    // The space between whole and fraction is part of the setting, not of the line.
    const before = text.slice(from, found.index).replace(/(\d) $/, '$1');
    if (before) out.push({ text: before });
    out.push({ num: found[1], den: found[2] });
    from = found.index + found[0].length;
  }
  if (from < text.length || out.length === 0) out.push({ text: text.slice(from) });
  return out;
}

/** @param {string} className @param {string} text */
function span(className, text) {
  const node = document.createElement('span');
  node.className = className;
  node.textContent = text;
  return node;
}

/**
 * Sets `text` into `node`, its fractions on the slant. A reader hears the plain text.
 * @param {HTMLElement} node
 * @param {string} text
 */
export function setText(node, text) {
  if (!text.includes('\u2044')) {
    node.textContent = text;
    return;
  }
  node.replaceChildren(
    ...pieces(text).map((piece) => {
      if ('text' in piece) return document.createTextNode(piece.text);
      const fraction = span('slant', '');
      fraction.append(span('slant-num', piece.num), span('slant-bar', '\u2044'), span('slant-den', piece.den));
      return fraction;
    }),
  );
}

/**
 * A size as huge type: feet, whole, and the fraction one over the other.
 * @param {Figure} figure
 * @returns {HTMLElement}
 */
export function setFigure(figure) {
  const out = span('figure', '');
  out.append(span('unseen', figure.text));
  const seen = span('figure-set', '');
  seen.setAttribute('aria-hidden', 'true');
  if (figure.negative) seen.append(span('figure-whole', '\u2212'));
  if (figure.feet != null) seen.append(span('figure-whole', figure.feet), span('figure-feet', '\u2032'));
  if (figure.whole != null) seen.append(span('figure-whole', figure.whole));
  if (figure.num != null && figure.den != null) {
    const stack = span('stack', '');
    stack.append(span('stack-num', figure.num), span('stack-den', figure.den));
    seen.append(stack);
  }
  // The size board's head tells the unit of lengths; anything else carries its own.
  if (!LENGTH_UNITS.includes(figure.unit)) seen.append(span('figure-unit', figure.unit));
  if (seen.childNodes.length === 0) seen.append(span('figure-whole', figure.text));
  out.append(seen);
  return out;
}
