// The plan of the sheets, over the board: how each whole lies on its sheets, and where these are joined.

import { byId, drawing, el, say, show } from './dom.js';
import { spoken, word } from './words.js';

/** @typedef {import('./types/press').Plan} Plan */
/** @typedef {import('./types/press').Whole} Whole */
/** @typedef {import('./types/press').Sheet} Sheet */

/**
 * One thing to be shown: a whole with its joints, or a sheet with what lies on it.
 * @typedef {object} Shown
 * @property {[number, number]} size mm
 * @property {string} label
 * @property {number | null} whole which whole it is, when its sheets can be shifted
 * @property {(brush: CanvasRenderingContext2D, px: number) => void} draw in mm; `px` is a CSS px in mm
 */

/** Room round and between what is shown, CSS px. */
const GAP = 26;
/** Room for what is written under it, CSS px. */
const LABEL = 30;
/** Room for the keys that shift the sheets, CSS px. */
const KEYS = 92;
/** How wide that is at most and, where several stand side by side, at least, CSS px. */
const WIDE = [80, 130];
/** How large a sheet's number stands on it, CSS px. */
const NUMBER = 22;
/** How far one touch shifts the sheets, mm. */
const STEP = 10;
/** Ways to shift: the sheets move so, mm. @type {[string, 'up' | 'left' | 'right' | 'down', number, number][]} */
const WAYS = [['up', 'up', 0, -STEP], ['left', 'left', -STEP, 0], ['right', 'right', STEP, 0], ['down', 'down', 0, STEP]];

export class PlanBoard {
  /** @param {(whole: number, by: [number, number]) => void} shift moves the sheets of a whole, mm */
  constructor(shift) {
    this.shift = shift;
    this.canvas = /** @type {HTMLCanvasElement} */ (byId('plan'));
    this.keys = byId('plan-shift');
    /** @type {Plan | null} */
    this.plan = null;
    /** The whole whose sheets are shifted. */
    this.chosen = 0;
    /** Where each thing shown lies, CSS px. @type {{ shown: Shown, left: number, top: number, right: number, bottom: number }[]} */
    this.places = [];
    this.open = false;
    this.makeKeys();
    this.canvas.addEventListener('pointerup', (event) => this.touch(event.offsetX, event.offsetY));
    new ResizeObserver(() => this.draw()).observe(this.canvas);
  }

  makeKeys() {
    for (const [name, sign, dx, dy] of WAYS) {
      const button = el('button', `nudge nudge-${name}`, { type: 'button', 'data-key': `shift-${name}` });
      spoken(() => button.setAttribute('aria-label', word(`page.shift-${name}`)));
      button.append(drawing(sign));
      button.addEventListener('click', () => this.shift(this.chosen, [dx, dy]));
      this.keys.append(button);
    }
  }

  /** @param {Plan | null} plan @param {boolean} open whether that step is open */
  set(plan, open) {
    this.plan = plan;
    this.open = open && plan !== null;
    show(this.canvas, this.open);
    document.body.dataset.plan = this.open ? 'yes' : 'no';
    if (!this.open) show(this.keys, false);
    else this.draw();
  }

  /** @param {number} x @param {number} y CSS px */
  touch(x, y) {
    const at = this.places.find((p) => x >= p.left && x <= p.right && y >= p.top && y <= p.bottom);
    if (!at || at.shown.whole === null) return;
    this.chosen = at.shown.whole;
    this.draw();
  }

  draw() {
    if (!this.plan || !this.open) return;
    const { clientWidth: width, clientHeight: height } = this.canvas;
    if (width === 0 || height === 0) return;
    const fine = window.devicePixelRatio || 1;
    this.canvas.width = Math.round(width * fine);
    this.canvas.height = Math.round(height * fine);
    const brush = this.canvas.getContext('2d');
    if (!brush) return;
    const shown = shownOf(this.plan);
    const joined = shown.filter((one) => one.whole !== null);
    if (!joined.some((one) => one.whole === this.chosen)) this.chosen = joined[0]?.whole ?? 0;
    show(this.keys, joined.length > 0);
    const zoom = zoomFor(shown, width, height - (joined.length > 0 ? KEYS : 0));
    this.places = flow(shown, zoom, width);
    const style = getComputedStyle(this.canvas);
    brush.setTransform(fine, 0, 0, fine, 0, 0);
    brush.clearRect(0, 0, width, height);
    for (const { shown: one, left, top } of this.places) {
      brush.save();
      brush.strokeStyle = brush.fillStyle = style.color;
      brush.translate(left, top);
      brush.scale(zoom, zoom);
      one.draw(brush, 1 / zoom);
      brush.restore();
      brush.fillStyle = style.color;
      const chosen = one.whole !== null && one.whole === this.chosen && joined.length > 1;
      brush.font = `${chosen ? 600 : 400} 18px ${style.fontFamily}`;
      brush.textBaseline = 'top';
      brush.fillText(one.label, left, top + one.size[1] * zoom + 6, Math.max(broad(shown, width), one.size[0] * zoom));
    }
  }

  /** What stands on it, for a screen reader. @param {Plan | null} plan */
  describe(plan) {
    say(byId('plan-words'), plan ? shownOf(plan).map((one) => one.label).join('. ') : '');
  }
}

/** @param {Plan} plan @returns {Shown[]} */
function shownOf(plan) {
  const joined = plan.wholes.flatMap((whole, i) => (isJoined(whole) ? [wholeShown(plan, whole, i)] : []));
  const single = plan.sheets.filter((sheet) => sheet.shows.some((show) => !isJoined(plan.wholes[show.whole])));
  return [...joined, ...single.map((sheet) => sheetShown(plan, sheet))];
}

/** @param {Whole} whole */
const isJoined = ({ joints: [across, down] }) => across.length + down.length > 0;

/** @param {Plan} plan @param {Whole} whole @param {number} index @returns {Shown} */
function wholeShown(plan, whole, index) {
  const sheets = plan.sheets.flatMap((sheet, i) =>
    sheet.shows.filter((show) => show.whole === index).map((show) => ({ ...show, number: i + 1 })));
  return {
    size: whole.size,
    label: word('page.plan-joined', { name: whole.title, count: sheets.length }),
    whole: index,
    draw: (brush, px) => {
      for (const { number, window: [left, top, right, bottom] } of sheets) {
        brush.lineWidth = px;
        brush.setLineDash([6 * px, 4 * px]);
        brush.strokeRect(left, top, right - left, bottom - top);
        brush.setLineDash([]);
        // Where sheets are drawn smaller than their numbers these would only lie over one another.
        if (Math.min(right - left, bottom - top) > 2 * NUMBER * px) tell(brush, String(number), left + NUMBER * px, top + NUMBER * px, px);
      }
      // Over the numbers: it is what matters.
      lines(brush, whole.preview, 2 * px);
    },
  };
}

/** @param {Plan} plan @param {Sheet} sheet @returns {Shown} */
function sheetShown(plan, sheet) {
  const { size, margins, printer } = sheet;
  return {
    size,
    label: sheet.name,
    whole: null,
    draw: (brush, px) => {
      brush.lineWidth = px;
      brush.strokeRect(0, 0, size[0], size[1]);
      for (const { whole, window: [left, top, right, bottom], at } of sheet.shows) {
        brush.save();
        brush.translate(margins[0], margins[1]);
        brush.scale(1 / printer[0], 1 / printer[1]);
        brush.translate(at[0] - left, at[1] - top);
        brush.beginPath();
        brush.rect(left, top, right - left, bottom - top);
        brush.clip();
        lines(brush, plan.wholes[whole].preview, 2 * px);
        brush.restore();
      }
    },
  };
}

/**
 * A sheet's number.
 * @param {CanvasRenderingContext2D} brush @param {string} text @param {number} x @param {number} y @param {number} px
 */
function tell(brush, text, x, y, px) {
  brush.font = `400 ${NUMBER * px}px ${getComputedStyle(brush.canvas).fontFamily}`;
  brush.textAlign = 'center';
  brush.textBaseline = 'middle';
  brush.fillText(text, x, y);
}

/** @param {CanvasRenderingContext2D} brush @param {[number, number][][]} paths @param {number} width */
function lines(brush, paths, width) {
  brush.beginPath();
  for (const path of paths) path.forEach(([x, y], i) => (i === 0 ? brush.moveTo(x, y) : brush.lineTo(x, y)));
  brush.lineWidth = width;
  brush.stroke();
}

/** Room for what is written under each, to the side, CSS px. @param {Shown[]} shown @param {number} width */
const broad = (shown, width) => Math.min(WIDE[1], Math.max(WIDE[0], (width - GAP) / shown.length - GAP));

/**
 * Lays what is shown in rows.
 * @param {Shown[]} shown @param {number} zoom CSS px a mm @param {number} width CSS px
 */
function flow(shown, zoom, width) {
  let [x, y, tall] = [GAP, GAP, 0];
  return shown.map((one) => {
    const [w, h] = one.size.map((mm) => mm * zoom);
    const wide = Math.max(w, broad(shown, width));
    if (x > GAP && x + wide + GAP > width) [x, y, tall] = [GAP, y + tall + LABEL + GAP, 0];
    const place = { shown: one, left: x, top: y, right: x + w, bottom: y + h };
    x += wide + GAP;
    tall = Math.max(tall, h);
    return place;
  });
}

/** The largest scale at which all of it fits. @param {Shown[]} shown @param {number} width @param {number} height */
function zoomFor(shown, width, height) {
  let zoom = 4;
  for (; zoom > 0.001; zoom *= 0.96) {
    const places = flow(shown, zoom, width);
    if (places.every((p) => p.right + GAP <= width && p.bottom + LABEL + GAP <= height)) break;
  }
  return zoom;
}
