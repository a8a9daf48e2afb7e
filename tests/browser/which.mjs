// Finding programs, and ports nobody listens at.
import { access, constants } from 'node:fs/promises';
import { createServer } from 'node:net';
import { delimiter, join } from 'node:path';

/** Where the first of these programs is, by PATH. @param {...string} names */
export async function which(...names) {
  for (const name of names) {
    for (const dir of (process.env.PATH ?? '').split(delimiter)) {
      const file = join(dir, name);
      if (await access(file, constants.X_OK).then(() => true, () => false)) return file;
    }
  }
  throw new Error(`none of ${names.join(', ')} is installed; scripts/test installs what it can`);
}

/** A port that is free now. @returns {Promise<number>} */
export function freePort() {
  return new Promise((resolve, reject) => {
    const server = createServer().once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const { port } = /** @type {import('node:net').AddressInfo} */ (server.address());
      server.close(() => resolve(port));
    });
  });
}
