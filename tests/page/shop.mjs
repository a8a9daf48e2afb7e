// In the shop: how large what is touched is on the glass, at every step of a whole job; and a page made much larger.
import { equal } from './_hand.mjs';
import { walk } from './_walk.mjs';

/**
 * Run in the page: what can be touched and is smaller than `least` CSS px, or, where one goes on by it, than `main`. Keys that say where
 * something stands in a list (a note's, a row's) may be as small as any other.
 */
function small(least, main) {
  const seen = [...document.querySelectorAll('button, input, a[href], [role="button"]')]
    .filter((one) => one.checkVisibility({ visibilityProperty: true }) && one.getClientRects().length > 0);
  const wrong = seen.flatMap((one) => {
    const { width, height } = one.getBoundingClientRect();
    const wanted = one.matches('.key.main:not(.note-keys *)') ? main : least;
    const name = one.id || one.dataset.key || one.dataset.pad || one.dataset.step || one.className;
    // A layout may fall short by what rounding makes of it.
    return Math.min(width, height) < wanted - 0.51 ? [`${name} ${width.toFixed(1)} × ${height.toFixed(1)}, wanted ${wanted}`] : [];
  });
  return { count: seen.length, wrong };
}

/** 12 mm and 20 mm on glass with so many CSS px to the inch (132 on a tablet, 163 on a small one). */
const onGlass = (least, main, options) => async (t) => {
  const problems = [];
  let keys = 0;
  const look = async (where) => {
    const { count, wrong } = await t.run(small, least, main);
    keys += count;
    problems.push(...wrong.map((one) => `${where}: ${one}`));
  };
  const hand = await walk(t, look, options);
  for (const [key, open, close] of [['help', '.help[open]', 'help-close'], ['bench', '.bench[open]', 'bench-close']]) {
    if (await t.count(`[data-key="${key}"]`) === 0) continue;
    await hand.press(key);
    await t.waitFor(open);
    await look(key);
    await hand.press(close);
  }
  await hand.go('marks');
  await hand.press('read-aloud');
  await t.waitFor('.aloud[open]');
  await look('read aloud');
  await hand.press('aloud-close');
  console.log(`     ${t.browser}: ${keys} keys measured, ${problems.length} too small`);
  equal([...new Set(problems)], [], 'keys that are too small');
};

/** Run in the page: what can be touched but can't be brought wholly into sight, or lies under something else when it is. */
async function unreachable() {
  const wrong = [];
  const seen = [...document.querySelectorAll('button:not(:disabled)')].filter((one) => one.checkVisibility() && one.getClientRects().length > 0);
  for (const one of seen) {
    one.scrollIntoView({ block: 'nearest', inline: 'nearest' });
    await new Promise((done) => { requestAnimationFrame(done); });
    const { left, top, width, height } = one.getBoundingClientRect();
    const hit = document.elementFromPoint(left + width / 2, top + height / 2);
    const out = left < -1 || left + width > innerWidth + 1;
    if (!one.contains(hit) || out) wrong.push(`${one.id || one.dataset.key || one.dataset.pad || one.className}: ${out ? 'beyond the screen' : hit?.id || hit?.className || 'nothing'}`);
  }
  if (document.documentElement.scrollWidth > innerWidth + 1) wrong.push(`the page is ${document.documentElement.scrollWidth} px wide on ${innerWidth}`);
  return wrong;
}

/** All that can be touched can be reached when the page is shown at 200 % and 400 % (WCAG 2.2, 1.4.4 and 1.4.10). */
const enlarged = (short) => async (t) => {
  const problems = [];
  await walk(t, async (where) => {
    await t.screenshot(where);
    problems.push(...(await t.run(unreachable)).map((one) => `${where}: ${one}`));
  }, { short });
  equal([...new Set(problems)], [], 'what can’t be reached');
};

export const tests = [
  { name: 'keys are large enough on a tablet held level', browsers: ['chromium'], run: onGlass(64, 104) },
  { name: 'and upright', browsers: ['chromium'], screen: 'portrait', run: onGlass(64, 104) },
  { name: 'and on a small tablet', browsers: ['chromium'], screen: 'small tablet', run: onGlass(78, 128) },
  { name: 'and on a small tablet upright, in German', browsers: ['chromium'], screen: 'small tablet upright', run: onGlass(78, 128, { speak: 'de' }) },
  { name: 'everything can be reached at 200 %', browsers: ['chromium'], screen: 'zoom2', run: enlarged(false) },
  { name: 'everything can be reached at 400 %', browsers: ['chromium'], screen: 'zoom4', run: enlarged(true) },
];
