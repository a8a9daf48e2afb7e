// What has been done stays done: over a reload, through undo and redo, and by way of a job file.
import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { handedOver } from './_files.mjs';
import { ALL, HEN, Hand, equal, feature, henTruth } from './_hand.mjs';

/** Run in the page: all of a job that a person would miss, and how it stands on the screen. */
function job() {
  const { name, pictures, views, marks, rows, undo, redo, notes } = window.scrieve.scene();
  return {
    name,
    pictures: pictures.map(({ id, name: file, width, height, digest }) => [id, file, width, height, digest]),
    views: views.map(({ id, name: called, role, corners }) => [id, called, role, corners]),
    marks: marks.map(({ id, number, handles }) => [id, number, handles]),
    rows: rows.map(({ id, number, name: called, picture, real, finished, from }) => [id, number, called, picture, real, finished, from]),
    notes: notes.map(({ id, text }) => [id, text]),
    turns: [undo, redo],
    screen: [...document.querySelectorAll('#rows .row')].map((row) => row.querySelector('.row-main').textContent),
  };
}

/** Run in the page: is there ink of the picture in the middle of the board? */
function drawn() {
  const sheet = document.querySelector('#sheet');
  const { width, height } = sheet;
  const { data } = sheet.getContext('2d').getImageData(width / 4, height / 4, width / 2, height / 2);
  const tones = new Set();
  for (let i = 0; i < data.length; i += 4) tones.add(data[i]);
  return tones.size > 20;
}

/** The job of these tests: the body 24 in long, the span, a named wheel, one view boxed. Ends are put roughly. */
async function half(t, hand, truth) {
  await hand.open();
  await hand.find(HEN);
  const ends = (view, name) => feature(truth, view, name).points;
  for (const end of ends('top', 'body, nose to tail')) await hand.tap(end);
  await hand.type('2', '4');
  await hand.press('i-want-it');
  await hand.length(ends('top', 'wing, tip to tip'));
  await hand.press('keep-mark');
  await hand.go('picture');
  await hand.press('view-box');
  const { corners } = truth.views.find((view) => view.name === 'top');
  for (const corner of [corners[0], corners[2]]) await hand.tap(corner);
  await hand.press('keep-it');
  await hand.go('marks');
}

/** All is kept, also what is still being looked for in the pixels. */
async function kept(t) {
  await t.waitFor(() => window.scrieve.sought());
  return t.run(() => window.scrieve.kept().then(() => true));
}

/** Only what was pressed in is another after a reload: nothing is in hand then. */
async function sameAs(t, before, what) {
  const { turns, ...now } = await t.run(job);
  const { turns: turnsBefore, ...then } = before;
  equal(now, then, what);
  return [turns, turnsBefore];
}

async function reloads(t) {
  const truth = await henTruth();
  const hand = new Hand(t, 4);
  await half(t, hand, truth);
  // In the middle of the next mark.
  await hand.tap(feature(truth, 'top', 'stabilizer').points[0]);
  await t.waitFor(() => window.scrieve.scene().hand != null);
  await kept(t);
  const before = await t.run(job);
  equal([before.rows.length, before.views.length, before.pictures.length], [3, 5, 1], 'rows, views (the whole, three that were found, one drawn) and pictures');
  for (let i = 0; i < 2; i += 1) {
    await t.reload();
    await hand.ready();
    await hand.onBoard();
    const [turns, turnsBefore] = await sameAs(t, before, `the job after ${i + 1} reloads`);
    equal(turns, turnsBefore, 'what can be undone');
  }
  await t.waitFor(drawn);
  await t.screenshot('again');
  // Work goes on: one more size, and it is kept as well.
  await hand.length(feature(truth, 'side', 'wheel, across').points);
  await kept(t);
  const more = await t.run(job);
  equal(more.rows.length, 4, 'rows with the new one');
  await t.reload();
  await hand.ready();
  await hand.onBoard();
  await sameAs(t, more, 'the job with the new mark');
}

/** Turns back, all the way or some of it, and forward again. */
async function turns(t, back, forward) {
  const truth = await henTruth();
  const hand = new Hand(t, 5);
  await half(t, hand, truth);
  const states = [await t.run(job)];
  while ((await t.run(job)).turns[0] !== null) {
    await back(states.at(-1));
    states.push(await t.run(job));
    if (states.length > 60) throw new Error('undo never comes to an end');
  }
  equal(states.at(-1).pictures, [], 'pictures when all is undone');
  equal(await t.run(() => document.querySelector('#first').hidden), false, 'the first question is hidden');
  if (states.length < 9) throw new Error(`only ${states.length - 1} steps could be undone`);
  for (const state of states.slice(0, -1).reverse()) {
    await forward();
    equal(await t.run(job), state, `what ${state.turns[0]} takes back`);
  }
  equal((await t.run(job)).turns[1], null, 'what is left to redo');
  await hand.onBoard();
  await t.waitFor(drawn);
  console.log(`     ${t.browser}: ${states.length - 1} steps undone and redone`);
  // A new touch after some undoing: what was undone is gone, and it stays so.
  await back();
  await hand.tap(feature(truth, 'side', 'wheel, across').points[0]);
  equal((await t.run(job)).turns[1], null, 'what is left to redo after another touch');
  await kept(t);
  const after = await t.run(job);
  await t.reload();
  await hand.ready();
  await hand.onBoard();
  await sameAs(t, after, 'the job that took another way');
}

/** What an outside reader of zip files (Python's zipfile) finds in the job file. */
const UNZIP = `
import hashlib, json, sys, zipfile
z = zipfile.ZipFile(sys.argv[1])
assert z.testzip() is None
names = z.namelist()
text = z.read('job.json').decode('utf-8')
json.loads(text)
others = [n for n in names if n.startswith('pictures/')]
assert z.read('preview.jpg')[:3] == b'\\xff\\xd8\\xff' and names == ['job.json', *others, 'preview.jpg'], names
print(json.dumps({'lines': text.count('\\n'), 'sums': [hashlib.sha256(z.read(n)).hexdigest() for n in others]}))
`;

async function jobFile(t) {
  const truth = await henTruth();
  const hand = new Hand(t, 6);
  await half(t, hand, truth);
  await t.tapOn('#job-name');
  await t.waitFor(() => document.activeElement?.id === 'entry-input');
  for (const letter of 'Hen 2') await t.key(letter === ' ' ? 'Space' : letter);
  await t.key('Enter');
  await hand.go('lists');
  await kept(t);
  const before = await t.run(job);
  equal(before.name, 'Hen 2', 'the name');
  const { name, bytes } = await handedOver(t, 'save-job');
  equal(name, 'hen-2.scrieve.zip', 'the file');
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-job-'));
  try {
    const file = join(dir, name);
    await writeFile(file, bytes);
    const { stdout } = await promisify(execFile)('python3', ['-c', UNZIP, file]);
    const found = JSON.parse(stdout);
    equal(found.sums, [createHash('sha256').update(await readFile(HEN)).digest('hex')], 'the picture in it, byte for byte');
    if (found.lines < 5) throw new Error('job.json is not laid out to be read');
    // A new job, then the file again: another job, with the same in it.
    await t.tapOn('[data-key="new-job"]');
    await t.waitFor(() => window.scrieve.scene().pictures.length === 0);
    await t.chooseFile(file, '#file-job', '#first-keys [data-key="open-job"]');
    await hand.onBoard();
    await sameAs(t, before, 'the job from its file');
    await t.waitFor(drawn);
    await kept(t);
    await t.reload();
    await hand.ready();
    await hand.onBoard();
    await sameAs(t, before, 'and after a reload');
    // A damaged file is refused, and the job stays.
    await writeFile(file, bytes.subarray(0, bytes.length / 2));
    await hand.go('lists');
    await t.chooseFile(file, '#file-job', '#ledge-keys [data-key="open-job"]');
    await t.waitForText('#refused', 'as it was');
    await sameAs(t, before, 'the job after a damaged file');
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

/** Cells of comma-separated values, by RFC 4180. */
function cells(text) {
  const rows = [[]];
  for (const [, quoted, plain, end] of text.matchAll(/(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n|$)/g)) {
    rows.at(-1).push(quoted?.replaceAll('""', '"') ?? plain);
    if (end === '\r\n') rows.push([]);
    if (end === '') break;
  }
  return rows.filter((row) => row.length > 1);
}

async function table(t) {
  const truth = await henTruth();
  const hand = new Hand(t, 7);
  await half(t, hand, truth);
  await hand.go('lists');
  const { name, bytes } = await handedOver(t, 'csv');
  if (!name.endsWith('.csv')) throw new Error(`it is called ${name}`);
  const [heads, ...lines] = cells(bytes.toString('utf8').replace(/^\ufeff/, ''));
  equal(heads.length, 9, 'columns');
  const { rows } = await hand.scene();
  equal(lines.map((line) => line.length), rows.map(() => 9), 'cells');
  equal(lines.map(([number, , , , finished, , , pm]) => [number, finished, pm]), rows.map((row) => [String(row.number), row.finished.unrounded, row.finished.pm]), 'sizes');
}

export const tests = [
  { name: 'everything is there after a reload in the middle', browsers: ALL, run: reloads },
  {
    name: 'undo and redo by touch',
    browsers: ['chromium'],
    run: (t) => turns(t, () => t.tapOn('#undo'), () => t.tapOn('#redo')),
  },
  {
    name: 'undo and redo by keyboard',
    browsers: ['chromium', 'firefox'],
    run: (t) => turns(t, () => t.key('Control+z'), () => t.key('Control+Shift+z')),
  },
  { name: 'a job file brings the same sizes back', browsers: ALL, run: jobFile },
  { name: 'sizes as a table', browsers: ['chromium'], run: table },
];
