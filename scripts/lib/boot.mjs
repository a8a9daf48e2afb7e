// Which files a first visit fetches before the first touch: what index.html names, the modules these import
// and go on importing, what styles name by url(), and what the page says it will fetch by
// <link rel="preload"> or "modulepreload".
import { readFile } from 'node:fs/promises';
import { join, posix } from 'node:path';

/** Imports that run at once: `import … from '…'`, `export … from '…'`, `import '…'`; not `import('…')`. */
const IMPORT = /^\s*(?:import|export)\b[^'"();]*?['"](\.[^'"]+)['"]/gm;

const tags = (html) => html.replace(/<!--[^]*?-->/g, '').match(/<(?:script|link)\b[^>]*>/g) ?? [];
const attribute = (tag, name) => tag.match(new RegExp(`\\b${name}\\s*=\\s*"([^"]*)"`))?.[1];

/** @returns the paths that `index.html` itself asks for */
function fromIndex(html) {
  const wanted = ['stylesheet', 'preload', 'modulepreload', 'manifest', 'icon'];
  return tags(html).flatMap((tag) => {
    const path = attribute(tag, tag.startsWith('<script') ? 'src' : 'href');
    if (!path || /^[a-z]+:/i.test(path)) return [];
    if (tag.startsWith('<script')) return [path];
    return (attribute(tag, 'rel') ?? '').split(/\s+/).some((rel) => wanted.includes(rel)) ? [path] : [];
  });
}

/** Faces whose range holds the letter `a` are used at once; those of other alphabets only when they occur. */
function fromStyle(css) {
  const faces = css.match(/@font-face\s*{[^}]*}/g) ?? [];
  const used = faces.filter((face) => !/unicode-range/.test(face) || /U\+20-7E\b/.test(face));
  const rest = css.replace(/@font-face\s*{[^}]*}/g, '');
  return [...used, rest].flatMap((part) => [
    ...[...part.matchAll(/url\(\s*['"]?([^'")]+)['"]?\s*\)/g)].map((match) => match[1]),
    ...[...part.matchAll(/@import\s+['"]([^'"]+)['"]/g)].map((match) => match[1]),
  ]).filter((path) => !/^(data|blob|https?):/.test(path));
}

async function references(dist, file) {
  if (!/\.(html|js|mjs|css)$/.test(file)) return [];
  const text = await readFile(join(dist, file), 'utf8');
  if (file.endsWith('.html')) return fromIndex(text);
  if (file.endsWith('.css')) return fromStyle(text);
  const imports = [...text.matchAll(IMPORT)].map((match) => match[1]);
  // The glue is of no use without its core.
  return file === 'core/desk.js' ? [...imports, './desk_bg.wasm'] : imports;
}

/**
 * @param {string} dist where the site lies
 * @returns {Promise<Set<string>>} paths from there
 */
export async function bootFiles(dist) {
  const found = new Set();
  const queue = ['index.html', 'words/en.json'];
  while (queue.length > 0) {
    const file = queue.shift();
    if (found.has(file)) continue;
    let next;
    try {
      next = await references(dist, file);
    } catch (error) {
      if (error.code !== 'ENOENT') throw error;
      console.error(`! ${file} is asked for at the start, but isn't there`);
      continue;
    }
    found.add(file);
    queue.push(...next.map((path) => posix.join(posix.dirname(file), path.split(/[?#]/)[0])));
  }
  return found;
}
