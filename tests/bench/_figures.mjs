// What the benches share: medians, spreads, and the job of 300 marks.
import { readFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { dirname, join, normalize } from 'node:path';
import { fileURLToPath } from 'node:url';
import { DIST } from '../browser/context.mjs';

export const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');

/** @param {number[]} values @returns {number} */
export function median(values) {
  const sorted = values.toSorted((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

/**
 * A figure of several runs, as run.mjs wants it: the median of all and the range that they came in.
 * @param {number[]} values
 * @returns {{got: number, low: number, high: number}}
 */
export function spread(values) {
  return { got: median(values), low: Math.min(...values), high: Math.max(...values) };
}

/** Ratios run by run: what disturbs both of a pair alike drops out. @param {number[]} ours @param {number[]} theirs */
export function ratios(ours, theirs) {
  return spread(ours.map((value, run) => value / theirs[run]));
}

/** The intents that lay 300 marks on 6 views, in order. */
export async function job300(name = 'job-300') {
  const text = await readFile(join(ROOT, `tests/bench/${name}.jsonl`), 'utf8');
  return text.trimEnd().split('\n').map((line) => JSON.parse(line));
}

const TYPES = { js: 'text/javascript', wasm: 'application/wasm', json: 'application/json' };

/**
 * Serves dist/ with a fine timer, and `page` at /bench; `others` are files from elsewhere by their paths.
 * @param {string} page @param {Record<string, string>} [others]
 */
export async function serveBench(page, others = {}) {
  const server = createServer(async (request, response) => {
    const path = normalize(new URL(request.url, 'http://localhost').pathname);
    const headers = { 'Content-Type': TYPES[path.split('.').pop()] ?? 'text/html', 'Cross-Origin-Resource-Policy': 'same-origin', ...FINE_TIMER };
    try {
      const body = path === '/bench' ? page : await readFile(others[path] ?? join(DIST, path));
      response.writeHead(200, headers).end(body);
    } catch {
      response.writeHead(404).end();
    }
  });
  await new Promise((resolve) => { server.listen(0, '127.0.0.1', resolve); });
  return { server, url: `http://127.0.0.1:${server.address().port}` };
}

/** Chromium's flags for a bench in a bare page. */
export const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-sync',
  '--disable-background-networking', '--disable-component-update'];

/** A browser counts time in steps of 0.1 ms, but of 0.005 ms in a page that is cut off from all others by these. */
export const FINE_TIMER = {
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Embedder-Policy': 'require-corp',
};
