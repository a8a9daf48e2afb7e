// Files for the page to open, and files that it hands over, caught by a test.
import { existsSync } from 'node:fs';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';

const own = join(ROOT, '.venv/bin/python');
/** Python with what tests/requirements.txt names. */
export const PYTHON = existsSync(own) ? own : 'python3';

/** Run in the page: files that it hands over are put where the test finds them, as text of bytes. */
function catchFiles() {
  window.caught = [];
  const blobs = new Map();
  const { createObjectURL } = URL;
  URL.createObjectURL = (blob) => {
    const url = createObjectURL.call(URL, blob);
    blobs.set(url, blob);
    return url;
  };
  HTMLAnchorElement.prototype.click = async function click() {
    const bytes = new Uint8Array(await blobs.get(this.href).arrayBuffer());
    let text = '';
    for (const byte of bytes) text += String.fromCharCode(byte);
    window.caught.push({ name: this.download, base64: btoa(text) });
  };
}

/** Writes files to a folder of their own, for as long as `run` takes. */
export async function withFiles(files, run) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-'));
  try {
    for (const [name, bytes] of Object.entries(files)) await writeFile(join(dir, name), bytes);
    return await run((name) => join(dir, name));
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

/** The file that the page hands over when a key is touched: its name and bytes. */
export async function handedOver(t, key) {
  if (t.browser === 'chromium') {
    const download = t.driver.page.waitForEvent('download');
    await t.tapOn(`[data-key="${key}"]`);
    const file = await download;
    return { name: file.suggestedFilename(), bytes: await readFile(await file.path()) };
  }
  // Elsewhere a driver has no word for downloads: the page's own link is watched.
  await t.run(catchFiles);
  await t.tapOn(`[data-key="${key}"]`);
  const [{ name, base64 }] = await t.waitFor(() => (window.caught.length > 0 ? window.caught : null));
  return { name, bytes: Buffer.from(base64, 'base64') };
}
