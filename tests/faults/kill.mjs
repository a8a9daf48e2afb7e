// The browser process is killed at random instants while a job is marked: what is there afterwards is what was done up to some touch,
// and everything that the page had called kept.
import { random } from '../random.mjs';
import { browserProcess, dropDrawing, haveAll, look, markLength, must, onBoard, ready } from './_bench.mjs';

/** Run in the page: from now on it tells what it calls kept, when it does. */
function tellKept() {
  const tell = () => {
    const { job, count, state } = window.scrieve.sure();
    if (state === 'kept') window.toldKept(JSON.stringify({ job, count }));
  };
  new MutationObserver(tell).observe(document.querySelector('#kept'), { attributes: true, childList: true, characterData: true, subtree: true });
}

/** Kills the browser that this very test started, and nothing else; resolves when it is gone. */
async function kill(driver) {
  const pid = await browserProcess(driver.profile);
  const gone = new Promise((resolve) => { driver.context.once('close', resolve); });
  process.kill(pid, 'SIGKILL');
  await gone;
}

/** @param {import('../browser/context.mjs').Context} t @param {number} times @param {number} seed */
export async function killed(t, times, seed) {
  const next = random(seed);
  const driver = t.driver;
  /** What was last told to be kept, and the facts that had been seen. */
  let sure = { job: '', count: 0 };
  let seen = [];
  const told = { nothing: 0, most: 0 };
  /** The page again, with all that was called kept. @param {number} round */
  const again = async (round) => {
    await t.open();
    await ready(t);
    const now = await look(t);
    if (sure.job === '') {
      told.nothing += 1;
      return now;
    }
    must(now.job === sure.job, `round ${round}: another job is on the board`);
    must(now.facts.length >= sure.count, `round ${round}: ${sure.count} facts were kept, ${now.facts.length} are there`);
    const both = Math.min(now.facts.length, seen.length);
    must(now.facts.slice(0, both).every((fact, at) => fact === seen[at]), `round ${round}: the facts are others`);
    must(await haveAll(t, now.pictures), `round ${round}: a picture is missing`);
    told.most = Math.max(told.most, seen.length - now.facts.length);
    return now;
  };
  for (let i = 0; i < times; i += 1) {
    const now = await again(i);
    // Every fourth time another job is begun, so that its first picture is in the way of the kill as well.
    const fresh = i % 4 === 0;
    if (fresh && now.pictures.length > 0) {
      await t.run(() => document.querySelector('[data-key="new-job"]').click());
      await t.waitFor(() => window.scrieve.scene().pictures.length === 0);
    } else if (now.pictures.length > 0) await onBoard(t);
    seen = (await look(t)).facts;
    sure = { job: (await look(t)).job, count: seen.length };
    if (seen.length === 0) sure.job = '';
    await driver.cdp.send('Runtime.addBinding', { name: 'toldKept' });
    driver.cdp.on('Runtime.bindingCalled', ({ payload }) => { sure = JSON.parse(payload); });
    await t.run(tellKept);
    const work = (async () => {
      if ((await look(t)).pictures.length === 0) await dropDrawing(t);
      for (let k = 0; ; k += 1) {
        await markLength(t, 1 + (k % 4), 6 + (k % 5), 150 + 40 * (k % 15));
        const { facts, job } = await look(t);
        seen = facts;
        if (sure.job === '') sure = { job, count: 0 };
      }
    })();
    work.catch(() => {});
    await new Promise((resolve) => setTimeout(resolve, fresh ? 2_500 * next() : 900 * next()));
    await kill(driver);
    await work.catch(() => {});
    // A job of which nothing was kept needn't be there.
    if (sure.count === 0) sure.job = '';
    await driver.restart();
  }
  await again(times);
  // The first time there was no job yet.
  const before = told.nothing - 1;
  return { tried: times, survived: times, note: `${told.most} facts at most were seen and not yet kept; nothing had been kept yet before ${before} of them` };
}
