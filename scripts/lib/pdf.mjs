// What reads PDFs, from the library as npm has it: the edition for browsers that aren't the newest, its decoders for kinds of
// pictures, its two fonts of signs. Left out: the fonts that the system has its own for, and the tables of letters (1.2 MB)
// for East Asian files that don't hold theirs.
import { readFileSync } from 'node:fs';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const FROM = join(dirname(fileURLToPath(import.meta.url)), '../../node_modules/pdfjs-dist');

/** What each file is called here. Not `.mjs`: some hosts don't say of that that it is JavaScript. */
const FILES = {
  'library.js': 'legacy/build/pdf.min.mjs',
  'worker.js': 'legacy/build/pdf.worker.min.mjs',
  'openjpeg.wasm': 'wasm/openjpeg.wasm',
  'jbig2.wasm': 'wasm/jbig2.wasm',
  'FoxitSymbol.pfb': 'standard_fonts/FoxitSymbol.pfb',
  'FoxitDingbats.pfb': 'standard_fonts/FoxitDingbats.pfb',
};

/** Whose work that is: what to call it, and where its terms stand. */
const TERMS = [
  ['pdfjs-dist, which reads PDFs (Apache-2.0)', 'LICENSE'],
  ['OpenJPEG, in pdfjs-dist (BSD-2-Clause)', 'wasm/LICENSE_OPENJPEG'],
  ['How pdfjs-dist calls OpenJPEG (BSD-2-Clause)', 'wasm/LICENSE_PDFJS_OPENJPEG'],
  ['JBIG2 of PDFium, in pdfjs-dist (BSD-3-Clause)', 'wasm/LICENSE_JBIG2'],
  ['How pdfjs-dist calls JBIG2 (Apache-2.0)', 'wasm/LICENSE_PDFJS_JBIG2'],
  ['Fonts of signs of PDFium, in pdfjs-dist (BSD-3-Clause)', 'standard_fonts/LICENSE_FOXIT'],
];

/** @returns {string[]} for each part its name and its terms */
export function pdfLicences() {
  const read = (file) => readFileSync(join(FROM, file), 'utf8').replace(/\r/g, '').trim();
  const { version } = JSON.parse(read('package.json'));
  return TERMS.map(([what, file]) => `${what.replace('pdfjs-dist', `pdfjs-dist ${version}`)}\n\n${read(file)}`);
}

/** Puts it all in `dir`. @param {string} dir */
export async function layPdf(dir) {
  await mkdir(dir, { recursive: true });
  for (const [name, file] of Object.entries(FILES)) {
    const bytes = await readFile(join(FROM, file));
    // A map of the source would be asked for by whoever looks into the page, and isn't there.
    const plain = name.endsWith('.js') ? bytes.toString('utf8').replace(/\n\/\/# sourceMappingURL=.*\s*$/, '\n') : bytes;
    await writeFile(join(dir, name), plain);
  }
}
