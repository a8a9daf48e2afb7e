// Draws the scene's marks over the picture. Everything in one style is drawn in one go: 300 marks cost a
// dozen strokes.

import { pieces } from './type.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/scene').MarkShown} MarkShown */
/** @typedef {import('./types/page').At} At */
/** @typedef {import('./types/page').Eye} Eye */
/** @typedef {CanvasRenderingContext2D} Ctx */

/**
 * @typedef {object} Look
 * @property {string} ink
 * @property {string} ground what sets the ink off from the picture
 * @property {string} font family
 * @property {number} scale 1, or more where lines are to be bolder
 */

/** Dashes, CSS px. */
const DASHES = { solid: [], chain: [18, 5, 4, 5], dash: [9, 6], dot: [1, 6] };

const LINE = 2.2;
const HEAVY = 3.6;
const HALO = 3;
const VEE = 15;
/** From one label down to the next, CSS px. */
const LABEL_LINE = 28;
/** Half the opening of a carpenter's V. */
const SPREAD = 0.55;

/** @param {Path2D} path @param {At[]} places @param {Eye} eye */
function trace(path, places, eye) {
  places.forEach(([x, y], i) => {
    const sx = x * eye.zoom + eye.x;
    const sy = y * eye.zoom + eye.y;
    if (i === 0) path.moveTo(sx, sy);
    else path.lineTo(sx, sy);
  });
}

/** @param {Path2D} path @param {[number, number, number]} vee @param {Eye} eye @param {number} size */
function traceVee(path, [x, y, way], eye, size) {
  const sx = x * eye.zoom + eye.x;
  const sy = y * eye.zoom + eye.y;
  path.moveTo(sx - size * Math.cos(way - SPREAD), sy - size * Math.sin(way - SPREAD));
  path.lineTo(sx, sy);
  path.lineTo(sx - size * Math.cos(way + SPREAD), sy - size * Math.sin(way + SPREAD));
}

/** @param {Ctx} ctx @param {Path2D} path @param {string} colour @param {number} width @param {number[]} [dash] */
function stroke(ctx, path, colour, width, dash = []) {
  ctx.strokeStyle = colour;
  ctx.lineWidth = width;
  ctx.setLineDash(dash);
  ctx.lineCap = dash.length === 2 && dash[0] === 1 ? 'round' : 'butt';
  ctx.stroke(path);
}

/** The marks on the picture that is shown. @param {Scene} scene */
function shown(scene) {
  return scene.marks.filter((mark) => mark.picture === scene.picture);
}

/** @param {MarkShown} mark */
function isHeld(mark) {
  return mark.held != null;
}

/**
 * Draws views' boxes and rectangles.
 * @param {Ctx} ctx @param {Scene} scene @param {Eye} eye @param {Look} look
 */
function drawViews(ctx, scene, eye, look) {
  for (const view of scene.views) {
    if (view.picture !== scene.picture) continue;
    if (!view.whole && view.corners.length > 2) {
      const box = new Path2D();
      trace(box, view.corners, eye);
      box.closePath();
      stroke(ctx, box, look.ground, 1.6 + HALO);
      stroke(ctx, box, look.ink, view.selected ? 2.4 : 1.4, [3, 5]);
      const [x, y] = view.corners[3] ?? view.corners[0];
      setLabel(ctx, view.name, x * eye.zoom + eye.x + 8, y * eye.zoom + eye.y - 12, 17, 400, look);
    }
    if (view.rectangle) {
      const sheet = new Path2D();
      trace(sheet, view.rectangle, eye);
      sheet.closePath();
      stroke(ctx, sheet, look.ground, 1.2 + HALO);
      stroke(ctx, sheet, look.ink, 1.2);
    }
  }
}

/**
 * Draws all that lies on the picture.
 * @param {Ctx} ctx in CSS px
 * @param {Scene} scene
 * @param {Eye} eye
 * @param {Look} look
 */
export function drawInk(ctx, scene, eye, look) {
  ctx.lineJoin = 'round';
  drawViews(ctx, scene, eye, look);
  const marks = shown(scene);
  drawThin(ctx, marks, eye, look);
  drawLines(ctx, marks, eye, look);
  for (const mark of marks) if (isHeld(mark)) drawHeld(ctx, mark, eye, look);
  drawHandles(ctx, marks, eye, look);
  drawPending(ctx, scene, eye, look);
  drawLabels(ctx, marks, eye, look);
}

/** @param {Ctx} ctx @param {MarkShown[]} marks @param {Eye} eye @param {Look} look */
function drawThin(ctx, marks, eye, look) {
  const thin = new Path2D();
  for (const mark of marks) for (const path of mark.thin) trace(thin, path, eye);
  stroke(ctx, thin, look.ground, 1 + HALO);
  stroke(ctx, thin, look.ink, 1 * look.scale);
}

/** @param {Ctx} ctx @param {MarkShown[]} marks @param {Eye} eye @param {Look} look */
function drawLines(ctx, marks, eye, look) {
  const halo = new Path2D();
  /** @type {Map<string, {path: Path2D, dash: number[], width: number}>} */
  const styles = new Map();
  const vees = new Path2D();
  for (const mark of marks) {
    if (isHeld(mark)) continue;
    const width = (mark.selected ? HEAVY : LINE) * look.scale;
    const name = `${mark.line} ${width}`;
    let style = styles.get(name);
    if (!style) {
      style = { path: new Path2D(), dash: DASHES[mark.line], width };
      styles.set(name, style);
    }
    for (const path of mark.paths) {
      trace(style.path, path, eye);
      trace(halo, path, eye);
    }
    for (const vee of mark.vees) traceVee(vees, vee, eye, VEE);
  }
  halo.addPath(vees);
  stroke(ctx, halo, look.ground, LINE * look.scale + 2 * HALO);
  for (const { path, dash, width } of styles.values()) stroke(ctx, path, look.ink, width, dash);
  stroke(ctx, vees, look.ink, 2.6 * look.scale);
}

/**
 * A held mark: a double line, and a bar across the held end.
 * @param {Ctx} ctx @param {MarkShown} mark @param {Eye} eye @param {Look} look
 */
function drawHeld(ctx, mark, eye, look) {
  const line = new Path2D();
  for (const path of mark.paths) trace(line, path, eye);
  const vees = new Path2D();
  for (const vee of mark.vees) traceVee(vees, vee, eye, VEE + 3);
  stroke(ctx, line, look.ground, 12);
  stroke(ctx, vees, look.ground, 9);
  stroke(ctx, line, look.ink, 7.5);
  stroke(ctx, line, look.ground, 3);
  stroke(ctx, vees, look.ink, 4);
  const at = mark.held == null ? undefined : mark.handles[mark.held];
  if (at) drawBar(ctx, at, mark, eye, look);
}

/** @param {Ctx} ctx @param {At} at @param {MarkShown} mark @param {Eye} eye @param {Look} look */
function drawBar(ctx, at, mark, eye, look) {
  const vee = mark.vees.find(([x, y]) => x === at[0] && y === at[1]);
  const way = vee ? vee[2] : 0;
  const x = at[0] * eye.zoom + eye.x;
  const y = at[1] * eye.zoom + eye.y;
  const across = [-Math.sin(way) * 17, Math.cos(way) * 17];
  const bar = new Path2D();
  bar.moveTo(x - across[0], y - across[1]);
  bar.lineTo(x - across[0] * 0.3, y - across[1] * 0.3);
  bar.moveTo(x + across[0] * 0.3, y + across[1] * 0.3);
  bar.lineTo(x + across[0], y + across[1]);
  stroke(ctx, bar, look.ground, 8);
  stroke(ctx, bar, look.ink, 4.5);
}

/** @param {Path2D} path @param {At} at @param {Eye} eye @param {number} arm */
function cross(path, at, eye, arm) {
  const x = at[0] * eye.zoom + eye.x;
  const y = at[1] * eye.zoom + eye.y;
  path.moveTo(x - arm, y);
  path.lineTo(x + arm, y);
  path.moveTo(x, y - arm);
  path.lineTo(x, y + arm);
}

/** @param {Ctx} ctx @param {MarkShown[]} marks @param {Eye} eye @param {Look} look */
function drawHandles(ctx, marks, eye, look) {
  const rings = new Path2D();
  const crosses = new Path2D();
  for (const mark of marks) {
    if (!mark.selected && !mark.open && !isHeld(mark) && mark.paths.length > 0) continue;
    mark.handles.forEach((at, i) => {
      const x = at[0] * eye.zoom + eye.x;
      const y = at[1] * eye.zoom + eye.y;
      if (mark.open || mark.paths.length === 0) return cross(crosses, at, eye, 9);
      if (i === mark.held || mark.vees.some((vee) => vee[0] === at[0] && vee[1] === at[1])) return;
      rings.moveTo(x + 5, y);
      rings.arc(x, y, 5, 0, 7);
    });
  }
  stroke(ctx, crosses, look.ground, 2.4 + 2 * HALO);
  stroke(ctx, crosses, look.ink, 2.4);
  ctx.fillStyle = look.ground;
  ctx.fill(rings);
  stroke(ctx, rings, look.ink, 2);
}

/** @param {Ctx} ctx @param {Scene} scene @param {Eye} eye @param {Look} look */
function drawPending(ctx, scene, eye, look) {
  if (scene.pending.length === 0) return;
  const crosses = new Path2D();
  for (const at of scene.pending) cross(crosses, at, eye, 11);
  const line = new Path2D();
  trace(line, scene.pending, eye);
  stroke(ctx, line, look.ground, 1 + HALO);
  stroke(ctx, line, look.ink, 1.2, [3, 5]);
  stroke(ctx, crosses, look.ground, 2.6 + 2 * HALO);
  stroke(ctx, crosses, look.ink, 2.6);
}

/** @param {Ctx} ctx @param {MarkShown[]} marks @param {Eye} eye @param {Look} look */
function drawLabels(ctx, marks, eye, look) {
  /** @type {[number, number][]} */
  const taken = [];
  for (const mark of marks) {
    const at = besideHandles(mark, eye);
    const x = at[0];
    const y = freeHeight(taken, x, at[1]);
    taken.push([x, y]);
    const after = setLabel(ctx, String(mark.number), x, y, 22, 600, look);
    if (mark.caption) setLabel(ctx, mark.caption, after + 7, y, 17, 400, look);
  }
}

/** A label's place, CSS px, moved off an end that it would cover. @param {MarkShown} mark @param {Eye} eye */
function besideHandles(mark, eye) {
  const x = mark.label_at[0] * eye.zoom + eye.x;
  const y = mark.label_at[1] * eye.zoom + eye.y;
  const covers = mark.handles.some(
    (at) => Math.abs(at[0] * eye.zoom + eye.x - x) < 16 && Math.abs(at[1] * eye.zoom + eye.y - y) < 20,
  );
  return covers ? [x + 18, y - 20] : [x, y];
}

/**
 * Where a label can stand without covering another: at `y`, or a line or more above or below.
 * @param {readonly [number, number][]} taken @param {number} x @param {number} y
 */
function freeHeight(taken, x, y) {
  const near = taken.filter((other) => Math.abs(other[0] - x) < 80);
  for (const step of [0, 1, -1, 2, -2, 3, -3]) {
    const at = y + step * LABEL_LINE;
    if (near.every((other) => Math.abs(other[1] - at) >= LABEL_LINE - 1)) return at;
  }
  return y;
}

/** Widths of texts already measured, by font and text. @type {Map<string, number>} */
const widths = new Map();

/** @param {Ctx} ctx @param {string} font @param {string} text */
function widthOf(ctx, font, text) {
  const name = `${font}|${text}`;
  let width = widths.get(name);
  if (width === undefined) {
    ctx.font = font;
    width = ctx.measureText(text).width;
    if (widths.size > 4000) widths.clear();
    widths.set(name, width);
  }
  return width;
}

/** Forgets measured widths, as when a font has arrived. */
export function forgetWidths() {
  widths.clear();
}

/**
 * Sets a label on its own ground, from `x` on, its middle at `y`. Gives where it ends.
 * @param {Ctx} ctx @param {string} text @param {number} x @param {number} y
 * @param {number} size @param {number} weight @param {Look} look
 */
function setLabel(ctx, text, x, y, size, weight, look) {
  const font = `${weight} ${size}px ${look.font}`;
  const small = `${weight} ${Math.round(size * 0.76)}px ${look.font}`;
  /** @type {{text: string, font: string, dx: number, dy: number}[]} */
  const runs = [];
  let width = 0;
  /** @param {string} part @param {string} face @param {number} dy */
  const put = (part, face, dy) => {
    runs.push({ text: part, font: face, dx: width, dy });
    width += widthOf(ctx, face, part);
  };
  for (const piece of pieces(text)) {
    if ('text' in piece) put(piece.text, font, 0);
    else {
      width += runs.length > 0 ? size * 0.16 : 0;
      put(piece.num, small, -size * 0.18);
      put('\u2044', font, 0);
      put(piece.den, small, size * 0.14);
    }
  }
  ctx.fillStyle = look.ground;
  ctx.fillRect(x - 4, y - size * 0.62, width + 8, size * 1.24);
  ctx.fillStyle = look.ink;
  ctx.textBaseline = 'middle';
  ctx.textAlign = 'left';
  for (const run of runs) {
    ctx.font = run.font;
    ctx.fillText(run.text, x + run.dx, y + run.dy);
  }
  return x + width;
}

/**
 * Draws what the magnified window shows: everything thin, so that the edge under it can be judged; what is
 * held as a pair of lines with its V.
 * @param {Ctx} ctx @param {Scene} scene @param {Eye} eye @param {Look} look
 */
export function drawFine(ctx, scene, eye, look) {
  ctx.lineJoin = 'miter';
  const others = new Path2D();
  const held = new Path2D();
  const vees = new Path2D();
  for (const mark of shown(scene)) {
    for (const path of mark.thin) trace(others, path, eye);
    if (!isHeld(mark)) {
      for (const path of mark.paths) trace(others, path, eye);
      continue;
    }
    for (const path of mark.paths) tracePair(held, path, eye, 4);
    for (const vee of mark.vees) traceVee(vees, vee, eye, 30);
  }
  for (const [path, width] of /** @type {[Path2D, number][]} */ ([[others, 1], [held, 1.6], [vees, 2.6]])) {
    stroke(ctx, path, look.ground, width + 2);
    stroke(ctx, path, look.ink, width);
  }
}

/** Two lines beside a path. @param {Path2D} out @param {At[]} places @param {Eye} eye @param {number} apart */
function tracePair(out, places, eye, apart) {
  for (let i = 1; i < places.length; i += 1) {
    const [ax, ay, bx, by] = [...places[i - 1], ...places[i]].map((v, k) => v * eye.zoom + (k % 2 ? eye.y : eye.x));
    const long = Math.hypot(bx - ax, by - ay);
    if (long === 0) continue;
    const nx = (-(by - ay) / long) * apart;
    const ny = ((bx - ax) / long) * apart;
    out.moveTo(ax + nx, ay + ny);
    out.lineTo(bx + nx, by + ny);
    out.moveTo(ax - nx, ay - ny);
    out.lineTo(bx - nx, by - ny);
  }
}

/**
 * A cross of thin lines that leaves its middle open, over the whole of a window.
 * @param {Ctx} ctx @param {number} x @param {number} y @param {number} reach @param {number} gap @param {Look} look
 */
export function drawSight(ctx, x, y, reach, gap, look) {
  const sight = new Path2D();
  for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
    sight.moveTo(x + dx * gap, y + dy * gap);
    sight.lineTo(x + dx * reach, y + dy * reach);
  }
  stroke(ctx, sight, look.ground, 3);
  stroke(ctx, sight, look.ink, 1);
}
