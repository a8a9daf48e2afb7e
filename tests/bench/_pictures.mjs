// The large test pictures, made by the tests' own Python when they aren't there yet.
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT } from './_figures.mjs';

/** The one that tests/pictures/make.py writes last. */
const LAST = '48mpx-turned.jpg';

/** @param {string} [dir] @returns {string} where they are */
export function makePictures(dir = join(ROOT, 'build/pictures')) {
  if (existsSync(join(dir, LAST))) return dir;
  const own = join(ROOT, '.venv/bin/python');
  const python = existsSync(own) ? own : 'python3';
  spawnSync(python, [join(ROOT, 'tests/pictures/make.py'), 'large', dir], { stdio: ['ignore', 'ignore', 'inherit'] });
  if (!existsSync(join(dir, LAST))) throw new Error(`no test pictures in ${dir}: see tests/pictures/make.py`);
  return dir;
}
