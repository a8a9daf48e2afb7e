// What the core wants to know of a picture's pixels goes to that picture's mill, and the answer back to the core.
// Only the newest question matters, and one is under way at a time. What needs no pixels goes to the press.

import { Refused } from './mill-start.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/scene').SeekShown} SeekShown */

export class Seeker {
  /**
   * @param {import('./door.js').Door} door
   * @param {() => {digest: string, picture: import('./picture.js').Picture} | null} opened the picture on the board
   * @param {import('./press.js').Press} press
   */
  constructor(door, opened, press) {
    this.door = door;
    this.press = press;
    this.opened = opened;
    /** The question that has been put last, and the desk that asked: each desk numbers its own. */
    this.put = 0;
    /** @type {import('./types/page').Desk | null} */
    this.of = null;
    this.busy = false;
  }

  /** Nothing is being asked, and nothing waits to be. */
  get idle() {
    const seek = this.door.scene?.seek;
    return !this.busy && (!seek || this.isPut(seek) || this.door.closed);
  }

  /** @param {SeekShown} seek */
  isPut(seek) {
    return this.of === this.door.desk && seek.serial === this.put;
  }

  /** @param {Scene} scene */
  follow(scene) {
    const { seek } = scene;
    if (this.busy || !seek || this.isPut(seek)) return;
    const open = this.opened();
    const digest = scene.pictures.find((picture) => picture.id === seek.picture)?.digest;
    if (!open || open.digest !== digest) return;
    const { desk } = this.door;
    this.put = seek.serial;
    this.of = desk;
    this.busy = true;
    const ask = /** @type {any} */ (seek.ask);
    const asked = 'shape' in ask ? this.press.ask({ kind: 'shape', ask: ask.shape }).then((shaped) => ({ shaped })) : open.picture.seek(ask);
    asked.then(
      (found) => this.answer(seek, open.picture, desk, found),
      (reason) => this.answer(seek, open.picture, desk, null, reason),
    );
  }

  /**
   * @param {SeekShown} seek @param {import('./picture.js').Picture} picture that was asked
   * @param {import('./types/page').Desk | null} desk that wanted to know
   * @param {import('./types/scene').Found | null} found @param {unknown} [reason]
   */
  answer(seek, picture, desk, found, reason) {
    this.busy = false;
    // A mill that was lost is built again by the picture, and one whose picture has gone is of no interest.
    if (reason && !(reason instanceof Refused) && this.opened()?.picture === picture) console.error(reason);
    if (desk && this.door.desk === desk) this.door.send({ kind: 'found', serial: seek.serial, found }, true);
    const { scene } = this.door;
    if (scene) this.follow(scene);
  }
}
