// Finds folders of the machine that built the site in what it serves: a panic in compiled code names the file that it
// came from, unless the compiler is told otherwise (`nameless` in setup.sh).
import { homedir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');

/** Folders of this machine, and what such folders are called on others. */
const FOLDERS = [
  ROOT, homedir(), process.env.CARGO_HOME, process.env.CARGO_TARGET_DIR,
  '/root/', '/home/', '/Users/', '/tmp/', '/build/', '/usr/', '.cargo', '.rustup', 'registry/src',
].filter((folder) => folder !== undefined && folder.length > 1);

const escaped = FOLDERS.map((folder) => folder.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
const PATH = new RegExp(`[\\w./:-]*(?:${escaped.join('|')})[\\w./-]*`, 'g');

/**
 * @param {Uint8Array} bytes a file, compiled or written
 * @returns {string[]} each such path in it, once
 */
export function pathsIn(bytes) {
  return [...new Set(Buffer.from(bytes).toString('latin1').match(PATH) ?? [])];
}
