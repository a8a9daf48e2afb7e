// A picture of 48 million pixels on a device whose canvases hold 16.7 million, as many tablets' do: it opens, it
// is drawn, and a size on it is right. The limit is set before any of the page's own code runs, on the page and
// in the mill.
import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DIST } from '../browser/context.mjs';
import { ALL, Hand, equal, feature, within } from './_hand.mjs';
import { greyPng } from './_png.mjs';

/** Put before the page's scripts: a canvas larger than 4096² px stays blank and gives nothing to draw with (shared
 * reports on tablets), and tells the test. */
const LIMIT = `
{
  const MOST = 4096 * 4096;
  const scope = globalThis;
  scope.tooLarge = [];
  const guard = (Kind) => {
    if (!Kind) return;
    const plain = Kind.prototype.getContext;
    Kind.prototype.getContext = function getContext(...args) {
      if (this.width * this.height > MOST) {
        scope.tooLarge.push([this.width, this.height]);
        throw new RangeError('a canvas of ' + this.width + ' by ' + this.height + ' is more than this device has');
      }
      const brush = plain.apply(this, args);
      const { canvas } = brush ?? {};
      return canvas && brush.drawImage ? new Proxy(brush, {
        get(target, name) {
          if (canvas.width * canvas.height > MOST) throw new RangeError('the canvas has grown too large');
          const value = Reflect.get(target, name, target);
          return typeof value === 'function' ? value.bind(target) : value;
        },
        set: (target, name, value) => Reflect.set(target, name, value, target),
      }) : brush;
    };
  };
  guard(scope.HTMLCanvasElement);
  guard(scope.OffscreenCanvas);
}
`;

const [WIDTH, HEIGHT] = [8000, 6000];
/** Dark lines, upright, in mm from the left edge at 20 px to a mm; 10 px wide about these px. */
const LINES = [1000, 3000, 7400];
const PX_PER_MM = 20;

/** White, with dark lines from top to bottom, and a grey wedge so that a blank board shows. */
function value(x, y) {
  if (LINES.some((line) => Math.abs(x + 0.5 - line) < 5)) return 0;
  return 160 + ((x >> 6) + (y >> 6)) % 80;
}

/** The site with the limit in it, for as long as `run` takes. */
async function limited(t, run) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-large-'));
  try {
    await cp(DIST, dir, { recursive: true });
    for (const file of ['main.js', 'mill.js']) {
      await writeFile(join(dir, file), LIMIT + (await readFile(join(dir, file), 'utf8')));
    }
    // These files aren't what the service worker was told to keep, and it would rightly refuse them.
    await rm(join(dir, 'sw.js'));
    t.expected.push(/sw\.js|ServiceWorker|bad HTTP response code \(404\)/);
    const file = join(dir, 'large.png');
    await writeFile(file, greyPng(WIDTH, HEIGHT, value));
    t.server.dir = dir;
    await run(file);
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

/** Run in the page: is it as dark as a line, or as light as beside one, where this place of the picture is drawn? */
function shows(dark, x, y) {
  const sheet = document.querySelector('#sheet');
  const [sx, sy] = window.scrieve.toScreen(x, y);
  const { left, top, width } = sheet.getBoundingClientRect();
  const ratio = sheet.width / width;
  const { data } = sheet.getContext('2d').getImageData(Math.round((sx - left) * ratio) - 1, Math.round((sy - top) * ratio), 3, 1);
  const tones = [data[0], data[4], data[8]];
  return dark ? Math.min(...tones) < 100 : Math.min(...tones) > 140;
}

async function large(t) {
  await limited(t, async (file) => {
    const hand = new Hand(t, 12);
    await hand.open();
    await hand.find(file);
    // The limit bites: the page would be told.
    equal(await t.run(() => {
      try {
        const canvas = document.createElement('canvas');
        [canvas.width, canvas.height] = [8000, 6000];
        canvas.getContext('2d');
        return 'drawn on';
      } catch (error) {
        window.tooLarge.length = 0;
        return error.name;
      }
    }), 'RangeError', 'a canvas of 48 million px');
    const at = (line) => [line, 3000];
    // Each at a height of its own: a touch near an end that is there picks that up.
    const ends = (a, b, y) => [[LINES[a], y], [LINES[b], y]];
    for (const line of LINES) {
      await t.waitFor(shows, true, ...at(line));
      await t.waitFor(shows, false, ...at(line + 150));
    }
    await hand.length(ends(0, 1, 2000));
    await hand.type('1', '0', '0', 'mm');
    await hand.press('it-is');
    await hand.length(ends(1, 2, 4200));
    const { real } = await hand.row(await hand.newest());
    within(real, (LINES[2] - LINES[1]) / PX_PER_MM, 'a length on 48 million pixels');
    if (real.plus > 1) throw new Error(`${real.pm} tells nothing`);
    // Close up, where only tiles show it as it is: a line has its ten px, and a person sees where they end.
    await hand.press('keep-mark');
    for (let i = 0; i < 5; i += 1) await t.tapOn('[data-key="zoom-in"]');
    const [x, y] = await t.run((px, py) => window.scrieve.toScreen(px, py), ...at(LINES[1]));
    await t.drag({ x: 420, y: 400 }, { x: 420 + 420 - x, y: 400 + 400 - y }, 20);
    for (const [dark, beside] of [[true, 0], [false, -14], [false, 14]]) await t.waitFor(shows, dark, LINES[1] + beside, 3000);
    await t.screenshot('close');
    equal(await t.run(() => window.tooLarge), [], 'canvases that were too large');
    console.log(`     ${t.browser}: ${real.value.toFixed(3)} ± ${real.plus.toFixed(3)} mm where ${(LINES[2] - LINES[1]) / PX_PER_MM} is true`);
  });
}

export const tests = [
  { name: '48 million pixels where canvases hold 16.7', browsers: ALL, run: large },
];
