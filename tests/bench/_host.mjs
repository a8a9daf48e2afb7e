// A host as a site would have it: https with HTTP/2, brotli at its best, the headers that dist/_headers asks for. Its certificate is its own,
// so a browser has to be told to take it.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync } from 'node:fs';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { createSecureServer } from 'node:http2';
import { extname, join, normalize } from 'node:path';
import { TYPES } from '../../scripts/lib/server.mjs';
import { packedBytes } from '../../scripts/lib/weigh.mjs';
import { DIST } from '../browser/context.mjs';
import { ROOT } from './_figures.mjs';

/** What a browser is started with to take it. */
export const TAKE = ['--ignore-certificate-errors'];
const KEPT = join(ROOT, 'build/host');
const PACKED = /\.(woff2|png|jpe?g|webp|avif)$/;

/** A key and a certificate for localhost, made once. */
async function certificate() {
  const [key, cert] = [join(KEPT, 'key.pem'), join(KEPT, 'cert.pem')];
  await mkdir(KEPT, { recursive: true });
  if (!existsSync(cert)) {
    const { status, stderr } = spawnSync('openssl', ['req', '-x509', '-newkey', 'rsa:2048', '-nodes', '-days', '3650', '-subj', '/CN=localhost',
      '-addext', 'subjectAltName=DNS:localhost', '-keyout', key, '-out', cert], { encoding: 'utf8' });
    if (status !== 0) throw new Error(`openssl: ${stderr}`);
  }
  return { key: await readFile(key), cert: await readFile(cert) };
}

/** A file as it is sent; what was packed once is kept. @param {string} path */
async function packed(path) {
  const bytes = await readFile(path);
  if (PACKED.test(path)) return { bytes, encoding: null };
  const kept = join(KEPT, `${createHash('sha256').update(bytes).digest('hex')}.br`);
  if (!existsSync(kept)) await writeFile(kept, packedBytes(bytes));
  return { bytes: await readFile(kept), encoding: 'br' };
}

/** The headers that hosts are asked to set. */
async function asked() {
  const text = await readFile(join(DIST, '_headers'), 'utf8');
  return Object.fromEntries([...text.matchAll(/^ {2}([\w-]+): (.*)$/gm)].map(([, name, value]) => [name, value]));
}

/** @returns {Promise<{url: string, sent: () => number, stop: () => Promise<void>}>} `sent`: bytes of files so far */
export async function startHost() {
  const headers = await asked();
  let sent = 0;
  const server = createSecureServer({ ...(await certificate()), allowHTTP1: true }, async (request, response) => {
    const path = normalize(new URL(request.url, 'https://localhost').pathname);
    const file = join(DIST, path.endsWith('/') ? `${path}index.html` : path);
    try {
      const { bytes, encoding } = await packed(file);
      sent += bytes.length;
      response.writeHead(200, {
        'Content-Type': TYPES[extname(file)] ?? 'application/octet-stream', ...headers, ...(encoding && { 'Content-Encoding': encoding }),
      });
      response.end(bytes);
    } catch {
      response.writeHead(404, { 'Content-Type': 'text/plain' });
      response.end('There is no such file.\n');
    }
  });
  await new Promise((resolve) => { server.listen(0, '127.0.0.1', resolve); });
  /** @type {Set<import('node:http2').Http2Session>} */
  const sessions = new Set();
  server.on('session', (session) => {
    sessions.add(session);
    session.on('close', () => sessions.delete(session));
    // A browser that goes away in the middle of a file is no concern of this.
    session.on('error', () => {});
  });
  return {
    url: `https://localhost:${server.address().port}/`,
    sent: () => sent,
    stop: () => new Promise((resolve) => {
      for (const session of sessions) session.destroy();
      server.close(() => resolve());
    }),
  };
}

/** Packs all that is served beforehand, so that no measurement waits for it. @param {string[]} names */
export async function packAll(names) {
  await mkdir(KEPT, { recursive: true });
  for (const name of names) await packed(join(DIST, name));
}
