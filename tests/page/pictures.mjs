// Pictures in a real browser: which way up, what the core gets of them, what is refused, and that the mill is
// bound by the page's policy. On a page of their own with Scrieve's policy, so that no other part can be at fault.
import { cp, mkdtemp, readFile, readdir, rm, writeFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DIST, ROOT } from '../browser/context.mjs';
import { greyPng } from './_png.mjs';

const ALL = ['chromium', 'firefox', 'webkit'];
const SMALL = join(ROOT, 'tests/pictures/small');

const POLICY = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; "
  + "connect-src 'self'; worker-src 'self' blob:; base-uri 'none'; form-action 'none'";
const PAGE = `<!doctype html><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="${POLICY}">
<link rel="icon" href="data:,"><canvas id="board" width="400" height="300"></canvas>`;

/** Serves the page above, with the site's modules beside it and `files` as well, while `run` uses it. */
async function onOwnPage(t, files, run) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-pictures-'));
  try {
    await cp(join(DIST, 'core'), join(dir, 'core'), { recursive: true });
    for (const name of (await readdir(DIST)).filter((name) => name.endsWith('.js') && name !== 'sw.js')) {
      await cp(join(DIST, name), join(dir, name));
    }
    for (const [name, content] of Object.entries({ ...files, 'index.html': PAGE })) await writeFile(join(dir, name), content);
    t.server.dir = dir;
    await t.open();
    await run();
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

/** The named small test pictures, as files to be served. */
async function small(...names) {
  return Object.fromEntries(await Promise.all(names.map(async (name) => [name, await readFile(join(SMALL, name))])));
}

/** Run in the page: opens a file and tells what came of it, with luminance at some places and what was drawn. */
async function look(file, places) {
  const { openPicture } = await import('/picture.js');
  const blob = await (await fetch(`/${file}`)).blob();
  let picture;
  try {
    picture = await openPicture(blob, file);
  } catch (error) {
    return { refused: error.say?.key ?? String(error) };
  }
  const { width, height, header, flags } = picture;
  const luminance = [];
  for (const [x, y] of places) luminance.push((await picture.luminance(x, y, 1, 1))[0]);
  const canvas = document.querySelector('#board');
  const brush = canvas.getContext('2d');
  const zoom = Math.min(canvas.width / width, canvas.height / height);
  picture.draw(brush, { zoom, x: 0, y: 0 });
  const drawn = places.map(([x, y]) => [...brush.getImageData((x + 0.5) * zoom, (y + 0.5) * zoom, 1, 1).data.slice(0, 3)]);
  picture.close();
  return { width, height, shown: header.shown, flags: flags.map((flag) => flag.key), luminance, drawn };
}

function near(got, expected, slack, what) {
  const flat = (value) => value.flat(Infinity);
  const off = flat(got).length !== flat(expected).length
    || flat(got).some((value, i) => Math.abs(value - flat(expected)[i]) > slack);
  if (off) throw new Error(`${what}: got ${JSON.stringify(got)}, expected ${JSON.stringify(expected)} within ${slack}`);
}

function equal(got, expected, what) {
  const [a, b] = [JSON.stringify(got), JSON.stringify(expected)];
  if (a !== b) throw new Error(`${what}: got ${a}, expected ${b}`);
}

/** Near the corners of the upright test picture: red, green, blue, white, as make.py says. */
const CORNERS = [[2, 2], [21, 2], [2, 13], [21, 13]];
const COLOURS = [[255, 0, 0], [0, 255, 0], [0, 0, 255], [255, 255, 255]];
/** Their luminance by ITU-R BT.709: 0.2126, 0.7152, 0.0722 of 255. */
const LUMINANCE = [54, 182, 18, 255];

/** Another origin that lets everyone in, and counts who comes. */
async function elsewhere(run) {
  const came = [];
  const server = createServer((request, response) => {
    came.push(request.url);
    response.writeHead(200, { 'Access-Control-Allow-Origin': '*' }).end('hello');
  });
  await new Promise((resolve) => server.listen(0, '127.0.0.1', resolve));
  try {
    await run(`http://127.0.0.1:${server.address().port}`, came);
  } finally {
    await new Promise((resolve) => server.close(resolve));
  }
}

const TURNED = [...[1, 2, 3, 4, 5, 6, 7, 8].map((n) => `turned-${n}.jpg`), 'turned-6.png', 'turned-6.webp'];
const REFUSED = {
  'words.jpg': 'picture.not-a-picture',
  'empty.jpg': 'picture.empty',
  'cut-short.jpg': 'picture.cut-short',
  'heading.heic': 'picture.heic',
  'plain.pdf': 'picture.pdf',
};

/** Pictures that others made to try readers with (LICENSES.txt beside them), and what Pillow says of their sizes. */
const PUBLISHED = join(ROOT, 'tests/pictures/published');
/** Of those what Pillow sizes by their heads alone: cut short, or no picture behind the head. */
const BROKEN = ['truncated_jpeg.jpg', 'broken.png'];

async function published(t) {
  const sizes = JSON.parse(await readFile(join(PUBLISHED, 'sizes.json'), 'utf8'));
  const files = Object.fromEntries(await Promise.all(Object.keys(sizes).map(async (name) => [name, await readFile(join(PUBLISHED, name))])));
  await onOwnPage(t, files, async () => {
    let opened = 0;
    for (const [file, size] of Object.entries(sizes)) {
      const seen = await t.run(look, file, []);
      if (BROKEN.includes(file)) {
        // Some browsers show what there is: then it is said that its end is missing.
        if (!seen.refused?.startsWith('picture.') && !seen.flags?.includes('picture.end-missing')) throw new Error(`${file}: ${JSON.stringify(seen)}`);
        continue;
      }
      // One lies on its side, by its EXIF.
      equal([seen.width, seen.height], file === 'orientation_rectangle.jpg' ? size.toReversed() : size, `${file} ${seen.refused ?? ''}`);
      opened += 1;
    }
    console.log(`     ${opened} published pictures opened, of ${BROKEN.length} broken ones a person is told`);
  });
}

export const tests = [
  { name: 'pictures that others made to try readers with', browsers: ALL, run: published },
  {
    name: 'all eight ways up are shown and read upright',
    browsers: ALL,
    run: async (t) => onOwnPage(t, await small(...TURNED), async () => {
      for (const file of TURNED) {
        const seen = await t.run(look, file, CORNERS);
        equal([seen.width, seen.height, seen.shown], [24, 16, [24, 16]], file);
        near(seen.luminance, LUMINANCE, 12, `${file}, luminance`);
        near(seen.drawn, COLOURS, 40, `${file}, drawn`);
        equal(seen.flags, [], file);
      }
    }),
  },
  {
    name: 'what is no picture is refused in the words of its kind',
    browsers: ['chromium', 'webkit'],
    run: async (t) => onOwnPage(t, await small(...Object.keys(REFUSED)), async () => {
      for (const [file, key] of Object.entries(REFUSED)) {
        equal(await t.run(look, file, []), { refused: key }, file);
      }
    }),
  },
  {
    name: 'other kinds open, or say what to do',
    browsers: ALL,
    run: async (t) => {
      const kinds = ['moving.gif', 'moving.webp', 'moving.png', 'plain.bmp', 'plain.avif', 'plain.tif', 'drawing.svg', 'one-pixel.png'];
      await onOwnPage(t, await small(...kinds), async () => {
        for (const file of kinds) {
          const seen = await t.run(look, file, []);
          const remedy = { 'plain.avif': 'picture.avif', 'plain.tif': 'picture.tiff', 'drawing.svg': 'picture.svg' }[file];
          if (seen.refused) equal(seen.refused, remedy, file);
          else if (file === 'one-pixel.png') equal([seen.width, seen.height], [1, 1], file);
          else if (file !== 'drawing.svg') equal([seen.width, seen.height], [24, 16], file);
          if (file.startsWith('moving')) equal(seen.flags, ['picture.animated'], file);
        }
      });
    },
  },
  {
    name: 'a picture far wider than any canvas is read to its last pixel',
    browsers: ['chromium', 'webkit'],
    run: async (t) => {
      const value = (x, y) => (x * 7 + y * 3) % 251;
      await onOwnPage(t, { 'wide.png': greyPng(30_000, 100, value) }, async () => {
        const places = [[0, 0], [1023, 50], [1024, 50], [16_385, 99], [29_999, 99], [29_999, 0]];
        const seen = await t.run(look, 'wide.png', places);
        equal([seen.width, seen.height], [30_000, 100], 'size');
        equal(seen.luminance, places.map(([x, y]) => value(x, y)), 'luminance');
      });
    },
  },
  {
    name: '48 million pixels are read to the last one, and shown in tiles',
    browsers: ['chromium', 'webkit'],
    run: async (t) => {
      const value = (x, y) => ((x >> 4) + (y >> 3) * 5) % 251;
      await onOwnPage(t, { 'large.png': greyPng(8000, 6000, value) }, async () => {
        const places = [[0, 0], [4096, 4095], [4097, 4097], [7999, 5999]];
        const seen = await t.run(look, 'large.png', places);
        equal([seen.width, seen.height], [8000, 6000], 'size');
        equal(seen.luminance, places.map(([x, y]) => value(x, y)), 'luminance');
        const got = await t.run(async (x, y) => {
          const { openPicture } = await import('/picture.js');
          const picture = await openPicture(await (await fetch('/large.png')).blob(), 'large.png');
          const brush = document.querySelector('#board').getContext('2d');
          const eye = { zoom: 2, x: -2 * x + 100, y: -2 * y + 100 };
          // Drawn coarsely at first; each tile that comes tells.
          await new Promise((resolve) => {
            let tiles = 0;
            picture.onchange = () => {
              picture.draw(brush, eye);
              if (++tiles === 4) resolve();
            };
            picture.draw(brush, eye);
          });
          const { data } = brush.getImageData(101, 101, 1, 1);
          picture.close();
          return data[0];
        }, 5120, 4096);
        // A whole 16 × 8 block has this value; JPEG's own error is what the slack is for.
        near([got], [value(5120, 4096)], 8, 'a tile at the join of four');
      });
    },
  },
  {
    name: 'the end of the file is missed when it is missing',
    browsers: ['chromium'],
    run: async (t) => {
      const whole = greyPng(900, 700, (x, y) => (x * 31 + y * y * 7) % 256);
      await onOwnPage(t, { 'whole.png': whole, 'half.png': whole.subarray(0, whole.length / 2) }, async () => {
        equal((await t.run(look, 'whole.png', [])).flags, [], 'whole.png');
        // A browser either refuses it or shows what there is.
        const half = await t.run(look, 'half.png', []);
        equal(half.refused ?? half.flags[0], half.refused ? 'picture.broken' : 'picture.end-missing', 'half.png');
      });
    },
  },
  {
    name: 'a mill that is lost is built again from the bytes',
    browsers: ['chromium', 'webkit'],
    run: async (t) => onOwnPage(t, await small('turned-1.jpg'), async () => {
      t.expected.push(/lost on purpose/);
      const got = await t.run(async () => {
        const made = [];
        const Plain = window.Worker;
        window.Worker = class extends Plain {
          constructor(...args) {
            super(...args);
            made.push(this);
          }
        };
        const { openPicture } = await import('/picture.js');
        const picture = await openPicture(await (await fetch('/turned-1.jpg')).blob(), 'a');
        await picture.luminance(2, 2, 1, 1);
        made[0].dispatchEvent(new ErrorEvent('error', { message: 'lost on purpose', cancelable: true }));
        const [value] = await picture.luminance(2, 2, 1, 1);
        // What the lost one was asked, its successor answers; what is lost twice is told.
        const how = (asked) => asked.then(() => 'answered', (reason) => (reason.constructor.name === 'Refused' ? 'answered' : reason.message));
        const asked = how(picture.seek({ kind: 'catch', at: [20, 15], reach: 5 }));
        made[1].dispatchEvent(new ErrorEvent('error', { message: 'lost on purpose', cancelable: true }));
        const once = await asked;
        const twice = how(picture.seek({ kind: 'catch', at: [20, 15], reach: 5 }));
        made[2].dispatchEvent(new ErrorEvent('error', { message: 'lost on purpose', cancelable: true }));
        return [made.length, value, once, await twice, picture.close()];
      });
      equal([got[0], got[2], got[3]], [3, 'answered', 'lost on purpose'], 'mills made, and what was asked of them');
      near([got[1]], [54], 12, 'luminance');
    }),
  },
  {
    name: "a Worker is bound by the page's policy",
    browsers: ALL,
    run: async (t) => elsewhere(async (other, came) => {
      t.expected.push(/Content.Security.Policy|blocked|Refused to connect|elsewhere/i);
      // Started just as the mill and the press are, but its code tries to get out.
      const probe = `
        const tries = [fetch(new URL('./own.txt', import.meta.url)).then((a) => a.text(), () => 'blocked'), fetch(${JSON.stringify(other)}).then((a) => a.text(), () => 'blocked')];
        Promise.all(tries).then((outcome) => self.postMessage(outcome));`;
      await onOwnPage(t, { 'probe.js': probe, 'own.txt': 'own' }, async () => {
        const ask = async (kind) => {
          const { startWorker } = await import('/own.js');
          const worker = kind === 'as the mill' ? startWorker('./probe.js', 'probe') : new Worker('/probe.js', { type: 'module' });
          return new Promise((resolve, reject) => {
            worker.onmessage = (event) => resolve(event.data);
            worker.onerror = (event) => reject(new Error(event.message || 'the worker did not start'));
          });
        };
        equal(await t.run(ask, 'as the mill'), ['own', 'blocked'], 'as the mill');
        equal(came, [], 'requests elsewhere');
        // Why it is started so: a Worker fetched from a server does get out. (Where it didn't, this would say so.)
        equal(await t.run(ask, 'plainly'), ['own', 'hello'], 'a plain Worker');
      });
    }),
  },
];
