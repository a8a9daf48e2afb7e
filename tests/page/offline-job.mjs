// The second visit, in a workshop without a network: the whole first job, by touch, with nothing asked of anyone.
import { ALL, BODY, HEN, Hand, equal, feature, henTruth, pageKept, unplugged, within } from './_hand.mjs';

/** The worker holds every file, and serves this page. */

async function firstJob(t, hand) {
  const truth = await henTruth();
  await hand.find(HEN);
  await hand.wantBody(truth);
  for (const [view, name] of [['top', 'wing, tip to tip'], ['top', 'stabilizer'], ['side', 'wheel, across']]) {
    const { points, mm } = feature(truth, view, name);
    await hand.length(points);
    within((await hand.row(await hand.newest())).finished, (mm / 184) * BODY, name);
  }
  await hand.press('keep-mark');
  await hand.go('lists');
  await t.run(() => window.scrieve.kept().then(() => true));
}

export const tests = [
  {
    name: 'the first job with the network pulled',
    browsers: ALL,
    run: async (t) => {
      const hand = new Hand(t, 10);
      const asked = await unplugged(t, hand);
      await firstJob(t, hand);
      // And again after a reload, still without.
      const before = (await hand.scene()).rows.map((row) => row.finished.value);
      await t.reload();
      await hand.ready();
      await hand.onBoard();
      equal((await hand.scene()).rows.map((row) => row.finished.value), before, 'sizes after a reload without a network');
      await t.screenshot('offline');
      equal(t.server.requests.length, asked, 'requests that got through');
    },
  },
  {
    name: 'a whole job asks for nothing, once the page is kept',
    browsers: ['chromium'],
    run: async (t) => {
      const asked = [];
      t.driver.context.on('request', (request) => asked.push([request.method(), request.url(), request.postData()]));
      const hand = new Hand(t, 11);
      await hand.open();
      await pageKept(t);
      const loaded = t.server.requests.length;
      await firstJob(t, hand);
      const outside = asked.filter(([method, url, body]) => method !== 'GET' || body !== null || !(url.startsWith(t.url) || /^(blob|data):/.test(url)));
      equal(outside, [], 'requests that go elsewhere, or carry something');
      const late = t.requests().slice(loaded);
      console.log(`     ${loaded} requests to load and keep the page, ${late.length} during the job`);
      equal(late, [], 'requests that reached the server while the job was done');
      equal(t.requests().filter((url) => url.includes('?')), [], 'requests with a query');
    },
  },
];
