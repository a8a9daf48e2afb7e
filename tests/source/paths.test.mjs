// What is served says nothing of the machine that built it: scripts/build refuses to lay out a site that does.
// Here: that it would notice.
import test from 'node:test';
import assert from 'node:assert/strict';
import { homedir } from 'node:os';
import { pathsIn } from '../../scripts/lib/paths.mjs';

const CAUGHT = [
  '\0\x12/root/.cargo/registry/src/any-0123/serde-1.0.0/src/de.rs\0',
  'called at /home/somebody/scrieve/crate/src/lib.rs:3',
  'C:/Users/somebody/scrieve',
  '/tmp/x/target/release',
  'registry/src/any-0123/a',
  `${homedir()}/scrieve/www`,
];
const LEFT = ['/rustc/0123/library/core/src/fmt/mod.rs', 'libraries/serde-1.0.0/src/de.rs', 'crate/src/lib.rs', 'made by scripts/build.', './core/desk.js'];

test('folders of the machine that built it are found in what is served', () => {
  for (const text of CAUGHT) assert.equal(pathsIn(Buffer.from(text, 'latin1')).length, 1, text);
  for (const text of LEFT) assert.deepEqual(pathsIn(Buffer.from(text, 'latin1')), [], text);
});
