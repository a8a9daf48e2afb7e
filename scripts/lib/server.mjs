// A small server of static files, for working on the page and for its tests.
import { createServer } from 'node:http';
import { readFile } from 'node:fs/promises';
import { extname, join, normalize, sep } from 'node:path';

export const TYPES = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.mjs': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.webmanifest': 'application/manifest+json; charset=utf-8',
  '.wasm': 'application/wasm',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.jpg': 'image/jpeg',
  '.webp': 'image/webp',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.pdf': 'application/pdf',
  '.txt': 'text/plain; charset=utf-8',
};

/** The file that a request's path names inside `dir`, or null when it points outside. */
function fileOf(dir, url) {
  let path;
  try {
    path = decodeURIComponent(new URL(url, 'http://localhost').pathname);
  } catch {
    return null;
  }
  if (path.endsWith('/')) path += 'index.html';
  const file = normalize(join(dir, path));
  return file.startsWith(normalize(dir) + sep) && !path.includes('\0') ? file : null;
}

async function answer(server, request, response) {
  const { dir, headers, requests } = server;
  requests.push({ method: request.method, url: request.url });
  if (request.method !== 'GET' && request.method !== 'HEAD') {
    response.writeHead(405, { Allow: 'GET, HEAD' }).end();
    return;
  }
  const file = fileOf(dir, request.url);
  let bytes;
  try {
    if (file === null) throw new Error('outside');
    bytes = await readFile(file);
  } catch {
    response.writeHead(404, { 'Content-Type': 'text/plain' }).end('There is no such file.\n');
    return;
  }
  response.writeHead(200, {
    'Content-Type': TYPES[extname(file)] ?? 'application/octet-stream',
    'Content-Length': bytes.length,
    // Work on the page shows at the next load.
    'Cache-Control': 'no-cache',
    ...headers,
  });
  response.end(request.method === 'HEAD' ? undefined : bytes);
}

/**
 * Serves `dir`.
 * @param {string} dir
 * @param {{port?: number, host?: string, headers?: Record<string, string>}} [options] port 0: any free one
 * @returns {Promise<{url: string, port: number, dir: string, requests: {method: string, url: string}[],
 *   stop: () => Promise<void>, start: () => Promise<void>}>} `stop` cuts every connection, as a lost network
 *   does; `start` listens again on the same port; `dir` may be changed at any time
 */
export async function serveFiles(dir, { port = 0, host = '127.0.0.1', headers = {} } = {}) {
  const self = { dir, headers, requests: [], url: '', port };
  const http = createServer((request, response) => {
    answer(self, request, response).catch((error) => response.destroy(error));
  });
  self.start = () =>
    new Promise((resolve, reject) => {
      http.once('error', reject);
      http.listen(self.port, host, () => {
        http.off('error', reject);
        self.port = http.address().port;
        self.url = `http://${host === '0.0.0.0' ? 'localhost' : host}:${self.port}/`;
        resolve();
      });
    });
  self.stop = () =>
    new Promise((resolve) => {
      if (!http.listening) return resolve();
      http.close(() => resolve());
      http.closeAllConnections();
    });
  await self.start();
  return self;
}
