// What this is, which version, and whose work is in it. Loaded when it is asked for.

import { byId, el, say, show } from './dom.js';
import { word } from './words.js';

/** Opens it, or closes it. */
export async function about() {
  const box = byId('about');
  if (!box.hidden) {
    show(box, false);
    return;
  }
  const version = document.querySelector('meta[name="version"]')?.getAttribute('content') ?? '';
  const response = await fetch('./licences.txt');
  if (!response.ok) throw new Error(`licences: ${response.status}`);
  const text = el('pre', 'licences', { tabindex: '0' });
  text.textContent = await response.text();
  const words = el('p');
  say(words, word('page.about-words', { version }));
  box.replaceChildren(words, text);
  show(box, true);
  box.scrollIntoView({ block: 'nearest' });
}
