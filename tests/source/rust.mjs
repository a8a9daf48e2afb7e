// Just enough of Rust's grammar to ask questions about source: what is code, what is a comment or a text,
// what stands only in tests, and where functions begin and end.

/** Comments, texts, characters; a lifetime such as `'a` is none of them. Raw texts carry their hashes. */
const TOKEN =
  /\/\/[^\n]*|\/\*[^]*?\*\/|(?<!\w)b?r(#*)"[^]*?"\1|"(?:[^"\\]|\\[^])*"|'(?:[^'\\\n]|\\(?:x[0-9a-fA-F]{2}|u\{[^}]*\}|.))'/g;

const blank = (text) => text.replace(/[^\n]/g, ' ');

/** The same source, as long line by line, with nothing in its comments and texts. */
export function codeOnly(source) {
  return source.replace(TOKEN, blank);
}

/** The same source without comments; texts stay. */
export function withoutComments(source) {
  return source.replace(TOKEN, (token) => (/^\/[/*]/.test(token) ? blank(token) : token));
}

/** Where the bracket at `open` closes in `code`, or the end. */
function closing(code, open) {
  let depth = 0;
  for (let i = open; i < code.length; i += 1) {
    if (code[i] === '{') depth += 1;
    else if (code[i] === '}' && (depth -= 1) === 0) return i;
  }
  return code.length;
}

/** `text` (of the same length as `code`) with every `#[cfg(test)]` item emptied. */
export function withoutTests(code, text = code) {
  let result = text;
  for (const { index } of code.matchAll(/#\[cfg\((?:all\()?test\b[^\]]*\]/g)) {
    const semicolon = code.indexOf(';', index);
    const open = code.indexOf('{', index);
    const end = open < 0 || (semicolon >= 0 && semicolon < open) ? semicolon : closing(code, open);
    result = result.slice(0, index) + blank(result.slice(index, end + 1)) + result.slice(end + 1);
  }
  return result;
}

/** The line (from 1) of a place in `text`. */
export const lineOf = (text, index) => text.slice(0, index).split('\n').length;

/** Every function with a body: its name, first line, and how many lines it has. */
export function functions(code) {
  const found = [];
  for (const match of code.matchAll(/\bfn\s+(\w+)/g)) {
    // A body opens at the first `{` that no `;` comes before (outside `[T; N]`).
    const rest = code.slice(match.index).replace(/\[[^\[\]]*\]/g, blank);
    const open = rest.indexOf('{');
    const semicolon = rest.indexOf(';');
    if (open < 0 || (semicolon >= 0 && semicolon < open)) continue;
    const first = lineOf(code, match.index);
    const last = lineOf(code, closing(code, match.index + open));
    found.push({ name: match[1], line: first, lines: last - first + 1 });
  }
  return found;
}

/**
 * Every path of modules that a piece of code names from the crate's root, however it is written: `crate::a::b`,
 * `use crate::{a, b::c}`, `super::super::a`.
 * @param {string} code
 * @param {string[]} module where it stands: `['view', 'fit']`
 * @returns {{path: string[], index: number}[]}
 */
export function paths(code, module) {
  const found = [];
  const step = (base, text, index) => {
    const group = text.match(/^\s*\{/);
    if (group) {
      for (const part of parts(text.slice(group[0].length))) step(base, part, index);
      return;
    }
    const name = text.match(/^\s*(\w+)\s*(::)?/);
    if (!name) return;
    if (name[1] === 'super') {
      if (name[2]) step(base.slice(0, -1), text.slice(name[0].length), index);
    } else {
      found.push({ path: [...base, name[1]], index });
    }
  };
  for (const match of code.matchAll(/(?<![\w:])(crate|super)\s*::/g)) {
    const from = match[1] === 'crate' ? [] : module.slice(0, -1);
    step(from, code.slice(match.index + match[0].length, match.index + 2000), match.index);
  }
  return found;
}

/** The parts between commas of a `{…}` whose opening bracket is behind us. */
function parts(text) {
  const found = [];
  let depth = 0;
  let start = 0;
  for (let i = 0; i < text.length; i += 1) {
    if (text[i] === '{') depth += 1;
    else if (text[i] === ',' && depth === 0) {
      found.push(text.slice(start, i));
      start = i + 1;
    } else if (text[i] === '}') {
      if (depth === 0) {
        found.push(text.slice(start, i));
        break;
      }
      depth -= 1;
    }
  }
  return found;
}

/** Where a file stands among the modules: `view/fit.rs` is `['view', 'fit']`, `view/mod.rs` is `['view']`. */
export function moduleOf(file) {
  const names = file.replace(/\.rs$/, '').split('/');
  if (['mod', 'lib', 'main'].includes(names.at(-1))) names.pop();
  return names;
}

/** Which of these files stand only in tests: `#[cfg(test)] mod name;` in the one above, and all below them. */
export function testFiles(files) {
  const heads = files.flatMap(({ file, code }) =>
    [...code.matchAll(/#\[cfg\(test\)\]\s*(?:#\[[^\]]*\]\s*)*(?:pub(?:\([^)]*\))?\s+)?mod\s+(\w+)\s*;/g)]
      .map((match) => [...moduleOf(file), match[1]].join('/')));
  return new Set(files.map(({ file }) => file).filter((file) => {
    const path = moduleOf(file).join('/');
    return heads.some((head) => path === head || path.startsWith(`${head}/`));
  }));
}
