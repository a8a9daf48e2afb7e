// What fingers, pens, mice and the wheel do on the board. What a touch means is the core's business.


/** @typedef {import('./types/scene').By} By */
/** @typedef {{x: number, y: number}} Spot */

/** A press that moves less than this is a tap, CSS px. */
const SLOP = 8;
/** How far from an end a tap still picks it up, CSS px. */
const REACH = { touch: 24, pen: 16, mouse: 12, key: 24 };
/** Finger speeds, CSS px per ms: below the first a slide is as fine as the magnified window, above the second
 * it follows the finger on the board. */
const SLOW = 0.25;
const FAST = 1.4;

/** @param {string} kind @returns {By} */
function byOf(kind) {
  return kind === 'pen' || kind === 'mouse' ? kind : 'touch';
}

export class Touch {
  /**
   * @param {import('./board.js').Board} board
   * @param {import('./magnifier.js').Magnifier} magnifier
   * @param {import('./door.js').Door} door
   */
  constructor(board, magnifier, door) {
    this.board = board;
    this.magnifier = magnifier;
    this.door = door;
    /** @type {Map<number, Spot>} */
    this.down = new Map();
    /** @type {'idle' | 'press' | 'pan' | 'slide' | 'pinch'} */
    this.state = 'idle';
    /** @type {By} */
    this.by = 'touch';
    this.start = { x: 0, y: 0 };
    this.last = { x: 0, y: 0, time: 0, speed: 0 };
    this.eyeBefore = board.eye;
    /** The press began on the magnified window. */
    this.onGlass = false;
    /** The space bar is down: a drag pans. */
    this.space = false;
    this.listen();
  }

  listen() {
    const node = this.board.ink;
    const active = { passive: false };
    /** @type {[string, (event: PointerEvent) => void][]} */
    const hears = [
      ['pointerdown', (event) => this.pressed(event)],
      ['pointermove', (event) => this.moved(event)],
      ['pointerup', (event) => this.released(event)],
      ['pointercancel', (event) => this.cancelled(event)],
    ];
    for (const [name, hear] of hears) {
      for (const under of [node, this.magnifier.window]) {
        under.addEventListener(name, (event) => hear(/** @type {PointerEvent} */ (event)), active);
      }
    }
    node.addEventListener('wheel', (event) => this.wheeled(event), active);
    for (const name of ['contextmenu', 'gesturestart', 'touchstart', 'mousedown']) {
      for (const under of [node, this.magnifier.window]) {
        under.addEventListener(name, (event) => event.preventDefault(), active);
      }
    }
  }

  /** @param {PointerEvent} event @returns {Spot} CSS px from the board's corner */
  spot(event) {
    const { left, top } = this.board.floor.getBoundingClientRect();
    return { x: event.clientX - left, y: event.clientY - top };
  }

  /** @param {PointerEvent} event */
  pressed(event) {
    event.preventDefault();
    this.board.takeFocus();
    // A palm that comes down while an end is being slid is not meant.
    if (this.state === 'slide' || this.down.size >= 2) return;
    const spot = this.spot(event);
    this.down.set(event.pointerId, spot);
    try {
      this.onGlass = event.currentTarget === this.magnifier.window;
      /** @type {Element} */ (event.currentTarget).setPointerCapture(event.pointerId);
    } catch {
      // The pointer has gone already.
    }
    this.eyeBefore = this.board.eye;
    if (this.down.size === 2) {
      this.state = 'pinch';
      this.magnifier.finger = null;
      return;
    }
    this.by = byOf(event.pointerType);
    this.start = spot;
    this.last = { ...spot, time: event.timeStamp, speed: 0 };
    this.state = event.button > 0 || this.space ? 'pan' : 'press';
  }

  /** @param {PointerEvent} event */
  moved(event) {
    const before = this.down.get(event.pointerId);
    if (!before) return;
    event.preventDefault();
    const spot = this.spot(event);
    this.down.set(event.pointerId, spot);
    if (this.state === 'pinch') return this.pinched(event.pointerId, before, spot);
    if (this.state === 'press') {
      if (Math.hypot(spot.x - this.start.x, spot.y - this.start.y) <= SLOP) return;
      this.begin(spot, event.timeStamp);
      return;
    }
    if (this.state === 'pan') this.board.pan(spot.x - this.last.x, spot.y - this.last.y);
    if (this.state === 'slide') this.slid(spot, event.timeStamp);
    else this.last = { ...spot, time: event.timeStamp, speed: 0 };
  }

  /** The press has become a drag. @param {Spot} spot @param {number} time */
  begin(spot, time) {
    const hand = this.door.scene?.hand;
    this.state = hand ? 'slide' : 'pan';
    this.last = { ...spot, time, speed: 0 };
    if (hand) {
      this.magnifier.finger = [spot.x, spot.y];
      this.board.ask(false, true);
    }
  }

  /** @param {Spot} spot @param {number} time */
  slid(spot, time) {
    const dx = spot.x - this.last.x;
    const dy = spot.y - this.last.y;
    const span = Math.max(1, time - this.last.time);
    const speed = this.last.speed * 0.6 + (Math.hypot(dx, dy) / span) * 0.4;
    this.last = { ...spot, time, speed };
    const t = Math.min(1, Math.max(0, (speed - SLOW) / (FAST - SLOW)));
    const fine = 1 / this.magnifier.zoom;
    const gain = fine + (1 / this.board.eye.zoom - fine) * t * t * (3 - 2 * t);
    this.magnifier.finger = [spot.x, spot.y];
    this.shift(dx * gain, dy * gain);
  }

  /** Slides the held end by picture px. @param {number} dx @param {number} dy */
  shift(dx, dy) {
    const at = this.door.slide(dx, dy, this.by, this.magnifier.zoom);
    if (!at || !this.door.scene) return;
    this.door.lookSoon();
  }

  /** @param {number} id @param {Spot} before @param {Spot} spot */
  pinched(id, before, spot) {
    const other = [...this.down].find(([key]) => key !== id)?.[1];
    if (!other) return;
    const apart = (/** @type {Spot} */ a) => Math.max(1, Math.hypot(a.x - other.x, a.y - other.y));
    const middle = { x: (spot.x + other.x) / 2, y: (spot.y + other.y) / 2 };
    this.board.pan((spot.x - before.x) / 2, (spot.y - before.y) / 2);
    this.board.zoomAt(middle.x, middle.y, apart(spot) / apart(before));
  }

  /** @param {PointerEvent} event */
  released(event) {
    if (!this.down.delete(event.pointerId)) return;
    event.preventDefault();
    if (this.state === 'press' && this.onGlass) this.magnifier.hop(this.start);
    else if (this.state === 'press') this.tap(event);
    if (this.state === 'slide') {
      this.magnifier.finger = null;
      this.settle();
    }
    this.after();
  }

  settle() {
    if (!this.door.send({ kind: 'settle' }) && this.door.scene) this.board.setScene(this.door.scene);
  }

  /** @param {PointerEvent} event */
  tap(event) {
    const { scene } = this.door;
    if (!scene || scene.picture == null) return;
    const at = this.board.toPicture(event.clientX, event.clientY);
    const by = byOf(event.pointerType);
    this.door.send({ kind: 'tap', at, by, zoom: this.board.eye.zoom, reach: REACH[by] });
  }

  /** One finger left of two goes on panning; none is rest. */
  after() {
    const left = [...this.down.values()][0];
    if (left) {
      this.state = 'pan';
      this.last = { ...left, time: 0, speed: 0 };
    } else {
      this.state = 'idle';
      this.board.ask(false, true);
    }
  }

  /** The system has taken the touch away: it undoes itself. @param {PointerEvent} event */
  cancelled(event) {
    if (!this.down.delete(event.pointerId)) return;
    if (this.state === 'pan' || this.state === 'pinch') {
      this.board.eye = this.eyeBefore;
      this.board.ask(true, true);
    }
    if (this.state === 'slide') {
      this.magnifier.finger = null;
      this.slideBack();
    }
    this.after();
  }

  /**
   * Anything but settling undoes a slide in the core: what is shown already changes nothing else, neither what is
   * half placed nor what is being typed.
   */
  slideBack() {
    const { scene } = this.door;
    if (scene?.hand) this.door.send({ kind: 'show', table: scene.table });
  }

  /** @param {WheelEvent} event */
  wheeled(event) {
    event.preventDefault();
    const { left, top } = this.board.floor.getBoundingClientRect();
    const lines = event.deltaMode === 1 ? 18 : event.deltaMode === 2 ? 400 : 1;
    // A pinch on a trackpad comes as small steps with Ctrl.
    const rate = event.ctrlKey ? 0.01 : 0.0016;
    const factor = Math.exp(-Math.max(-400, Math.min(400, event.deltaY * lines)) * rate);
    this.board.zoomAt(event.clientX - left, event.clientY - top, factor);
  }

  /** A touch by the keyboard, where the cross stands. */
  tapMiddle() {
    const { left, top } = this.board.floor.getBoundingClientRect();
    const at = this.board.toPicture(left + this.board.width / 2, top + this.board.height / 2);
    this.door.send({ kind: 'tap', at, by: 'key', zoom: this.board.eye.zoom, reach: REACH.key });
  }
}
