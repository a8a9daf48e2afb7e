// Makes the page's icons as pictures, from the one drawing in www/icons/: as it is; and smaller, so that all of its ink lies within the
// circle that a system may cut it to (0.4 of its width from the middle: W3C Web Application Manifest, 'maskable').
//   node scripts/lib/icons.mjs
import { readFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { startChromium } from '../../tests/browser/chromium.mjs';

const HERE = join(dirname(fileURLToPath(import.meta.url)), '../../www/icons');
const MADE = [['icon', 192], ['icon', 512], ['maskable', 192], ['maskable', 512], ['icon', 180]];
/** How large the drawing is on its field. */
const SCALE = { icon: 1.18, maskable: 0.94 };
const drawing = await readFile(join(HERE, 'icon.svg'), 'utf8');
if (!drawing.includes(`scale(${SCALE.icon})`)) throw new Error('icon.svg has another scale');

for (const [name, size] of MADE) {
  const driver = await startChromium({ width: size, height: size, scale: 1 });
  try {
    const svg = drawing.replace(`scale(${SCALE.icon})`, `scale(${SCALE[name]})`);
    await driver.page.setContent(`<style>body{margin:0}svg{display:block;width:${size}px;height:${size}px}</style>${svg}`);
    await driver.screenshot(join(HERE, `${name}-${size}.png`));
  } finally {
    await driver.stop();
  }
}
