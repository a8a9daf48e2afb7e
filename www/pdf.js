// Pages of a PDF: small ones to choose from, and one drawn as a picture that knows its own size on paper.
//
// The reading is done by a library (pdfjs-dist; see licences.txt), fetched when the first PDF comes. It runs in a Worker
// under the page's own policy, without eval, and asks nothing of any network: fonts that a file doesn't hold are the
// system's own, and tables of letters for East Asian files that don't hold theirs are done without, which is told.

import { Refused } from './mill-start.js';
import { startWorker } from './own.js';
import { PngWriter } from './png.js';

/** @typedef {import('./types/pdf').Library} Library */
/** @typedef {import('./types/pdf').Page} Page */

/** A canvas of more pixels than this some tablets don't make. */
const BAND = 12_000_000;
/** So many at once are read back and packed, to give way in between. */
const STRIP = 1_000_000;

const POINT = 0.0254 / 72;

/** After what has come in meanwhile. @returns {Promise<void>} */
const later = () => new Promise((resolve) => setTimeout(resolve));

/** A refusal in the page's words. @param {string} key @param {string} name */
const refusal = (key, name) => new Refused({ key, args: [['name', { text: name }]] });

/** @returns {Promise<Library>} */
const library = () => import(String(new URL('./pdf/library.js', import.meta.url)));

/** One of the library's own files, of this page's. @param {string} file */
async function own(file) {
  const response = await fetch(new URL(`./pdf/${file}`, import.meta.url));
  if (!response.ok) throw new Error(`${file}: ${response.status}`);
  return new Uint8Array(await response.arrayBuffer());
}

/** What the library may ask for: fonts of signs, and decoders of kinds of pictures. */
class Own {
  /** @param {{ filename: string }} ask */
  async fetch({ filename }) {
    return own(filename);
  }
}

/** A PDF that is open. Close it. */
export class Pdf {
  /**
   * Rejects with Refused when it can't be read.
   * @param {Blob} blob @param {string} name as the person knows it @returns {Promise<Pdf>}
   */
  static async open(blob, name) {
    const [{ PDFWorker, getDocument }, data] = await Promise.all([
      library().catch((error) => {
        console.warn(error);
        throw refusal('page.pdf-no-reader', name);
      }),
      blob.arrayBuffer(),
    ]);
    const port = startWorker('./pdf/worker.js', 'pdf');
    /** @type {Promise<never>} */
    const lost = new Promise((_, reject) => {
      port.onerror = (event) => {
        event.preventDefault();
        reject(refusal('page.pdf-no-reader', name));
      };
    });
    // What is said to it before it listens would be lost; it says when it does.
    const listens = new Promise((resolve) => port.addEventListener('message', resolve, { once: true }));
    await Promise.race([listens, lost]);
    lost.catch(() => {});
    const worker = PDFWorker.create({ port, verbosity: 0 });
    const pdf = new Pdf(lost);
    const loading = getDocument({
      data: new Uint8Array(data), worker, verbosity: 0, isEvalSupported: false, useWorkerFetch: false, useSystemFonts: true,
      CMapReaderFactory: pdf.letters(), StandardFontDataFactory: Own, WasmFactory: Own,
    });
    pdf.close = () => {
      Promise.race([loading.destroy(), lost]).catch(() => {}).then(() => {
        worker.destroy();
        port.terminate();
      });
    };
    try {
      pdf.document = await Promise.race([loading.promise, lost]);
      if (pdf.document.numPages < 1) throw new Error('no pages');
      return pdf;
    } catch (/** @type {any} */ error) {
      pdf.close();
      if (error instanceof Refused) throw error;
      throw refusal(error?.name === 'PasswordException' ? 'page.pdf-locked' : 'picture.pdf', name);
    }
  }

  /** @param {Promise<never>} lost rejects when the Worker is lost */
  constructor(lost) {
    this.lost = lost;
    /** Gives back what it took. */
    this.close = () => {};
    /** The library asked for a table of letters that isn't here: some letters won't show. */
    this.lettersMissing = false;
    /** @type {import('./types/pdf').Document | null} */
    this.document = null;
  }

  letters() {
    const pdf = this;
    return class {
      /** @returns {Promise<Uint8Array>} */
      async fetch() {
        pdf.lettersMissing = true;
        throw new Error('there are no tables of letters here');
      }
    };
  }

  get count() {
    return this.document?.numPages ?? 0;
  }

  /** @param {number} number from 1 @returns {Promise<Page>} */
  page(number) {
    if (!this.document) throw new Error('no document');
    return this.document.getPage(number);
  }

  /** Waits for a drawing, or breaks it off. @param {import('./types/pdf').Drawing} drawing @param {AbortSignal} signal */
  async finish(drawing, signal) {
    const cancel = () => drawing.cancel();
    signal.addEventListener('abort', cancel);
    try {
      await Promise.race([drawing.promise, this.lost]);
    } finally {
      signal.removeEventListener('abort', cancel);
    }
    signal.throwIfAborted();
  }

  /**
   * Draws a page small.
   * @param {number} number from 1 @param {HTMLCanvasElement} canvas gets the size it needs
   * @param {number} side the most px that it may have either way @param {AbortSignal} signal
   */
  async small(number, canvas, side, signal) {
    const page = await this.page(number);
    signal.throwIfAborted();
    const { width, height } = page.getViewport({ scale: 1 });
    const viewport = page.getViewport({ scale: side / Math.max(width, height) });
    canvas.width = Math.max(1, Math.round(viewport.width));
    canvas.height = Math.max(1, Math.round(viewport.height));
    await this.finish(page.render({ canvas, viewport }), signal);
    page.cleanup();
  }

  /**
   * Draws a page as a PNG that says how large it is on paper.
   * @param {number} number from 1
   * @param {(across: number, down: number) => number} fineness pixels to the metre, of points
   * @param {(share: number) => void} tell how much is drawn, 0 to 1
   * @param {AbortSignal} signal
   * @returns {Promise<Blob>}
   */
  async draw(number, fineness, tell, signal) {
    const page = await this.page(number);
    const { width, height } = page.getViewport({ scale: 1 });
    const perMetre = fineness(width, height);
    const scale = perMetre * POINT;
    const [across, down] = [Math.max(1, Math.round(width * scale)), Math.max(1, Math.round(height * scale))];
    const png = new PngWriter(across, down, perMetre);
    const canvas = document.createElement('canvas');
    try {
      const band = Math.max(1, Math.floor(BAND / across));
      for (let top = 0; top < down; top += band) {
        canvas.width = across;
        canvas.height = Math.min(band, down - top);
        await this.finish(page.render({ canvas, viewport: page.getViewport({ scale, offsetY: -top }) }), signal);
        await strips(canvas, async (rgba, row) => {
          signal.throwIfAborted();
          await png.rows(rgba);
          tell((top + row) / down);
          await later();
        });
      }
      return await png.end();
    } catch (error) {
      png.drop();
      throw error;
    } finally {
      // Some browsers keep a canvas's memory until it is small.
      canvas.width = canvas.height = 0;
      page.cleanup();
    }
  }
}

/** @param {HTMLCanvasElement} canvas @param {(rgba: Uint8ClampedArray, row: number) => Promise<void>} take `row`: so many are done with it */
async function strips(canvas, take) {
  const brush = canvas.getContext('2d');
  if (!brush) throw new Error('no canvas to be had');
  const step = Math.max(1, Math.floor(STRIP / canvas.width));
  for (let y = 0; y < canvas.height; y += step) {
    const rows = Math.min(step, canvas.height - y);
    await take(brush.getImageData(0, y, canvas.width, rows).data, y + rows);
  }
}
