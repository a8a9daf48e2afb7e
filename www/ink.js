// Draws the scene's marks over the picture. Everything in one style is drawn in one go: 300 marks cost a
// dozen strokes.

import { Labels } from './labels.js';

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

/** How long a mark's Vs are: no longer than suits a short mark. @param {MarkShown} mark @param {Eye} eye */
function veeSize(mark, eye) {
  const [a, b] = mark.handles;
  if (!a || !b) return VEE;
  return Math.min(VEE, Math.max(5, Math.hypot(a[0] - b[0], a[1] - b[1]) * eye.zoom * 0.4));
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
export function shown(scene) {
  return scene.marks.filter((mark) => mark.picture === scene.picture);
}

/** @param {MarkShown} mark */
function isHeld(mark) {
  return mark.held != null;
}

/**
 * Draws views' boxes and rectangles.
 * @param {Ctx} ctx @param {Scene} scene @param {Eye} eye @param {Look} look @param {Labels} labels
 */
function drawViews(ctx, scene, eye, look, labels) {
  for (const view of scene.views) {
    if (view.picture !== scene.picture) continue;
    if (!view.whole && view.corners.length > 2) {
      const box = new Path2D();
      trace(box, view.corners, eye);
      box.closePath();
      stroke(ctx, box, look.ground, 1.6 + HALO);
      stroke(ctx, box, look.ink, view.selected ? 2.4 : 1.4, [3, 5]);
      const [x, y] = [view.label_at[0] * eye.zoom + eye.x + 8, view.label_at[1] * eye.zoom + eye.y - 12];
      labels.put(ctx, [[view.name, 17, 400]], x, labels.free(x, y).y, look);
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

/** Whether a mark is one that a person is at work on. @param {MarkShown} mark */
export function isLive(mark) {
  return mark.selected || mark.open || isHeld(mark);
}

/**
 * Draws what lies still on the picture: the views and these marks.
 * @param {Ctx} ctx in CSS px
 * @param {Scene} scene
 * @param {readonly MarkShown[]} marks
 * @param {Eye} eye
 * @param {Look} look
 * @param {Labels} labels
 * @param {boolean} more they come on top of what is drawn already
 */
export function drawStill(ctx, scene, marks, eye, look, labels, more) {
  ctx.lineJoin = 'round';
  if (!more) drawViews(ctx, scene, eye, look, labels);
  drawMarks(ctx, marks, eye, look, labels);
}

/**
 * Draws what a person is at work on.
 * @param {Ctx} ctx in CSS px
 * @param {Scene} scene
 * @param {Eye} eye
 * @param {Look} look
 * @param {Labels} labels with those of the still marks already set
 */
export function drawLive(ctx, scene, eye, look, labels) {
  ctx.lineJoin = 'round';
  const marks = shown(scene).filter(isLive);
  drawMarks(ctx, marks, eye, look, labels);
  drawReckoned(ctx, scene, eye, look, labels);
  drawPending(ctx, scene, eye, look, labels);
}

/** @param {Ctx} ctx @param {readonly MarkShown[]} marks @param {Eye} eye @param {Look} look @param {Labels} labels */
function drawMarks(ctx, marks, eye, look, labels) {
  drawThin(ctx, marks, eye, look);
  drawLines(ctx, marks, eye, look);
  labels.uncover(ctx);
  for (const mark of marks) if (isHeld(mark)) drawHeld(ctx, mark, eye, look);
  drawHandles(ctx, marks, eye, look);
  for (const mark of marks) labels.name(ctx, mark, eye, look);
  labels.flush(ctx, look);
}

/** @param {Ctx} ctx @param {readonly MarkShown[]} marks @param {Eye} eye @param {Look} look */
function drawThin(ctx, marks, eye, look) {
  const thin = new Path2D();
  for (const mark of marks) for (const path of mark.thin) trace(thin, path, eye);
  stroke(ctx, thin, look.ground, 1 + HALO);
  stroke(ctx, thin, look.ink, 1 * look.scale);
}

/** @param {Ctx} ctx @param {readonly MarkShown[]} marks @param {Eye} eye @param {Look} look */
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
    const size = veeSize(mark, eye);
    for (const vee of mark.vees) traceVee(vees, vee, eye, size);
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
  for (const vee of mark.vees) traceVee(vees, vee, eye, veeSize(mark, eye) + 3);
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

/** @param {Ctx} ctx @param {readonly MarkShown[]} marks @param {Eye} eye @param {Look} look */
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

/**
 * Places that were reckoned, each with a line, a ringed cross and its name.
 * @param {Ctx} ctx @param {Scene} scene @param {Eye} eye @param {Look} look @param {Labels} labels
 */
function drawReckoned(ctx, scene, eye, look, labels) {
  for (const one of scene.drawn) {
    if (one.picture !== scene.picture) continue;
    const line = new Path2D();
    for (const path of one.paths) trace(line, path, eye);
    const spot = new Path2D();
    cross(spot, one.at, eye, 13);
    const [x, y] = [one.at[0] * eye.zoom + eye.x, one.at[1] * eye.zoom + eye.y];
    spot.moveTo(x + 9, y);
    spot.arc(x, y, 9, 0, 7);
    stroke(ctx, line, look.ground, 2 + 2 * HALO);
    stroke(ctx, line, look.ink, 2 * look.scale, DASHES[one.line]);
    stroke(ctx, spot, look.ground, 3 + 2 * HALO);
    stroke(ctx, spot, look.ink, 3 * look.scale);
    labels.put(ctx, [[one.label, 17, 600]], x + 16, labels.free(x + 16, y - 16).y, look);
  }
  labels.flush(ctx, look);
}

/** @param {Ctx} ctx @param {Scene} scene @param {Eye} eye @param {Look} look @param {Labels} labels */
function drawPending(ctx, scene, eye, look, labels) {
  if (scene.pending.length + scene.pending_paths.length === 0) return;
  const crosses = new Path2D();
  for (const at of scene.pending) cross(crosses, at, eye, 11);
  const line = new Path2D();
  for (const path of scene.pending_paths) trace(line, path, eye);
  stroke(ctx, line, look.ground, 1 + HALO);
  stroke(ctx, line, look.ink, 1.2, [3, 5]);
  stroke(ctx, crosses, look.ground, 2.6 + 2 * HALO);
  stroke(ctx, crosses, look.ink, 2.6);
  scene.pending_names.forEach((name, i) => {
    const [x, y] = [scene.pending[i][0] * eye.zoom + eye.x + 14, scene.pending[i][1] * eye.zoom + eye.y - 16];
    labels.put(ctx, [[name, 20, 600]], x, labels.free(x, y).y, look);
  });
  labels.flush(ctx, look);
}

/**
 * Draws what the magnified window shows: everything thin, so that the edge under it can be judged; what is
 * held as a pair of lines with its V.
 * @param {Ctx} ctx @param {Scene} scene @param {Eye} eye @param {Look} look
 * @param {number} width CSS px @param {number} height
 */
export function drawFine(ctx, scene, eye, look, width, height) {
  ctx.lineJoin = 'miter';
  const others = new Path2D();
  const held = new Path2D();
  const vees = new Path2D();
  for (const mark of shown(scene)) {
    if (!isIn(mark, eye, width, height)) continue;
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

/** The box round a mark's lines, picture px: left, top, right, bottom; by its paths, which stay when only its size is another. @type {WeakMap<object, [number, number, number, number]>} */
const boxes = new WeakMap();

/** @param {MarkShown} mark */
function boxOf(mark) {
  const kept = boxes.get(mark.paths);
  if (kept) return kept;
  let [left, top, right, bottom] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const path of [...mark.paths, ...mark.thin, mark.handles]) {
    for (const [x, y] of path) {
      left = Math.min(left, x);
      top = Math.min(top, y);
      right = Math.max(right, x);
      bottom = Math.max(bottom, y);
    }
  }
  /** @type {[number, number, number, number]} */
  const box = [left, top, right, bottom];
  boxes.set(mark.paths, box);
  return box;
}

/** Whether a mark may be seen in a window of that size. @param {MarkShown} mark @param {Eye} eye @param {number} width @param {number} height */
function isIn(mark, { zoom, x, y }, width, height) {
  const [left, top, right, bottom] = boxOf(mark);
  const near = 40;
  return right * zoom + x > -near && left * zoom + x < width + near && bottom * zoom + y > -near && top * zoom + y < height + near;
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

/**
 * What an end holds on to: a double line along an edge, a bar across a corner or the end of a line; broken while the
 * end is still being slid and only would hold it.
 * @param {Ctx} ctx @param {import('./types/scene').HoldShown} hold @param {Eye} eye @param {Look} look
 */
export function drawHold(ctx, { at, along, half, glimpse }, eye, look) {
  const held = new Path2D();
  const [x, y] = [at[0] * eye.zoom + eye.x, at[1] * eye.zoom + eye.y];
  if (along) {
    const apart = Math.max(5, Math.hypot(...half) * eye.zoom);
    for (const side of [-1, 1]) {
      const [ox, oy] = [x - along[1] * apart * side, y + along[0] * apart * side];
      held.moveTo(ox - along[0] * 34, oy - along[1] * 34);
      held.lineTo(ox + along[0] * 34, oy + along[1] * 34);
    }
  } else {
    held.rect(x - 9, y - 9, 18, 18);
  }
  stroke(ctx, held, look.ground, 4.5);
  stroke(ctx, held, look.ink, 2.2, glimpse ? [5, 4] : []);
}
