// `scripts/serve`, after the build.
import { networkInterfaces } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { serveFiles } from './server.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const { values } = parseArgs({
  options: { port: { type: 'string' }, lan: { type: 'boolean', default: false } },
});

/** The port asked for; or the first free one from 8040 on. */
async function start() {
  const host = values.lan ? '0.0.0.0' : '127.0.0.1';
  const ports = values.port ? [Number(values.port)] : Array.from({ length: 20 }, (_, i) => 8040 + i);
  for (const port of ports) {
    try {
      return await serveFiles(join(ROOT, 'dist'), { port, host });
    } catch (error) {
      if (error.code !== 'EADDRINUSE') throw error;
    }
  }
  console.error(`! Port ${ports.join(', ')} is taken: choose another with --port.`);
  process.exit(1);
}

const server = await start();
console.log(`\nScrieve is at  http://localhost:${server.port}/   (Ctrl+C ends it)`);
if (values.lan) {
  const addresses = Object.values(networkInterfaces()).flat().filter((a) => a.family === 'IPv4' && !a.internal);
  for (const { address } of addresses) console.log(`and, in this house, at  http://${address}:${server.port}/`);
  console.log('Other devices get no offline copy this way: browsers allow one only over https or on localhost.');
}
