// What is kept in the browser's database is there after a reload, and in the order it was put.

const ALL = ['chromium', 'firefox', 'webkit'];

function equal(got, expected, what) {
  const [a, b] = [JSON.stringify(got), JSON.stringify(expected)];
  if (a !== b) throw new Error(`${what}: got ${a}, expected ${b}`);
}

/** Any file of the site will do for an origin to keep things under: this one runs nothing, and has no icon. */
async function openQuietly(t) {
  t.expected.push(/favicon\.ico/);
  await t.open('version.txt');
}

export const tests = [
  {
    name: 'jobs, facts and pictures outlast a reload',
    browsers: ALL,
    run: async (t) => {
      await openQuietly(t);
      await t.run(async () => {
        const { openStore } = await import('/store.js');
        const store = await openStore();
        await store.putJob({ id: 'a', name: 'Marsh Hen', when: 1 });
        await store.putJob({ id: 'b', name: '<b>bookcase</b>', when: 2 });
        // More than ten, so that numbers sorted as words would come out in another order.
        for (let seq = 0; seq < 12; seq++) await store.append('a', seq, JSON.stringify({ seq }));
        await store.append('a', 12, ['{"seq":12}', '{"seq":13}']);
        await store.append('ab', 0, '"of another job"');
        await store.putPicture('0'.repeat(64), new Uint8Array([1, 2, 3]));
        await store.putPicture('1'.repeat(64), new Uint8Array([4]));
        store.close();
      });
      await t.reload();
      const kept = await t.run(async () => {
        const { openStore } = await import('/store.js');
        const store = await openStore();
        const bytes = async (digest) => {
          const blob = await store.picture(digest.repeat(64));
          return blob ? [...new Uint8Array(await blob.arrayBuffer())] : null;
        };
        // What was worked on last comes first, also by a clock that stands at 1970.
        const result = { jobs: (await store.jobs()).map(({ id, name }) => [id, name]), facts: await store.load('a'), pictures: [await bytes('0'), await bytes('2')] };
        await store.sweep(['1'.repeat(64)]);
        result.swept = [await bytes('0'), await bytes('1')];
        await store.deleteJob('a');
        result.deleted = (await store.jobs()).map(({ id, deleted }) => [id, deleted ? Math.round(deleted.left) : null]);
        await store.putBack('a');
        result.back = [(await store.jobs()).some((job) => job.deleted), (await store.load('a')).length];
        await store.purge(['a']);
        result.left = [(await store.jobs()).map((job) => job.id), await store.load('a'), await store.load('ab')];
        return result;
      });
      // One that has facts has an entry, so that no list passes it by.
      equal(kept.jobs, [['ab', ''], ['a', 'Marsh Hen'], ['b', '<b>bookcase</b>']], 'jobs');
      equal(kept.facts, Array.from({ length: 14 }, (_, seq) => `{"seq":${seq}}`), 'facts');
      equal(kept.pictures, [[1, 2, 3], null], 'pictures');
      equal(kept.swept, [null, [4]], 'swept');
      equal(kept.deleted, [['ab', null], ['a', 30], ['b', null]], 'deleted');
      equal(kept.back, [false, 14], 'put back');
      equal(kept.left, [['ab', 'b'], [], ['"of another job"']], 'left');
    },
  },
  {
    name: 'a fact is never written over, and a change that fails leaves nothing behind',
    browsers: ['chromium'],
    run: async (t) => {
      await openQuietly(t);
      const got = await t.run(async () => {
        const { openStore } = await import('/store.js');
        const store = await openStore();
        await store.append('a', 0, ['"first"', '"second"']);
        const refused = await store.append('a', 1, ['"again"', '"third"']).then(() => 'kept', (error) => error.name);
        const facts = await store.load('a');
        await store.replace('a', ['"only"']);
        return [refused, facts, await store.load('a')];
      });
      equal(got, ['ConstraintError', ['"first"', '"second"'], ['"only"']], 'facts');
    },
  },
  {
    name: 'bytes are named by their SHA-256',
    browsers: ['chromium'],
    run: async (t) => {
      await openQuietly(t);
      const got = await t.run(async () => {
        const { digestOf } = await import('/store.js');
        return digestOf(new TextEncoder().encode('abc').buffer);
      });
      // FIPS 180-4's own example, "abc" (csrc.nist.gov, SHA256.pdf). *[memory]*
      equal(got, 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad', 'digest');
    },
  },
  {
    name: 'the browser is asked to keep it, where it can be',
    // Firefox asks the person, and is silent until they answer.
    browsers: ['chromium', 'webkit'],
    run: async (t) => {
      await openQuietly(t);
      const [said, can] = await t.run(async () => {
        const { persist } = await import('/store.js');
        return [await persist(), typeof navigator.storage?.persist === 'function'];
      });
      if (!(can ? ['kept', 'may-go'] : ['unknown']).includes(said)) throw new Error(`persist said ${said}`);
    },
  },
];
