// What the benches share: medians, spreads, and the job of 300 marks.
import { readFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

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
export async function job300() {
  const text = await readFile(join(ROOT, 'tests/bench/job-300.jsonl'), 'utf8');
  return text.trimEnd().split('\n').map((line) => JSON.parse(line));
}

/** A browser counts time in steps of 0.1 ms, but of 0.005 ms in a page that is cut off from all others by these. */
export const FINE_TIMER = {
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Embedder-Policy': 'require-corp',
};
