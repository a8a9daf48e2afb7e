// Types that only the page knows: the core's door as the page uses it, and what its own rooms hand round.

import type { Intent, Row, Scene, SceneChange } from "./scene";

/** A place in picture px. */
export type At = [number, number];

/** A picture of a job file. */
export interface JobPicture {
  digest: string;
  bytes: Uint8Array;
}

/** The document, in the core. */
export interface Desk {
  intend(intent: Intent): SceneChange | Scene;
  scene(): Scene;
  /** Every row of the size board with all that is known of its mark, open or not. */
  sizes(): Row[];
  /** From now on it speaks the words of this words file; the job and the hand stay as they are. */
  speak(words: string): void;
  look(): SceneChange;
  slide(dx: number, dy: number, by: string, zoom: number): Float64Array;
  /** How many facts could be taken. */
  restore(facts: string[]): number;
  factsFrom(from: number): string[];
  /** While it is closed every fact is refused. */
  close(closed: boolean): void;
  /** Takes what another desk has added to this very job. */
  follow(facts: string[]): SceneChange | Scene;
  jobFile(pictures: JobPicture[], preview: Uint8Array): Uint8Array;
  openJob(bytes: Uint8Array): { facts: string[]; pictures: JobPicture[]; preview: Uint8Array };
  /** Where in a file of many job files each stands: from, to, from, to, … */
  bundled(bytes: Uint8Array): Uint32Array;
  free(): void;
  csv(): string;
  /** The cutting list as comma-separated values. */
  cuttingTable(): string;
  /** The cuts in the order of the bench. */
  bench(): Cuts;
  /** Pixels to the metre for a page of so many points of 1/72 in. */
  fineness(across: number, down: number): number;
  /** A sentence of the mill's or the press's, in the person's words and units. */
  tell(say: import("./mill").Say): string;
  /** JSON for the press: `patterns`, `stick`, `grid`, `offsets`, `sector`, `cutting-list`, `boards` or `test`. */
  order(make: string, date: string): string;
}

/** One cut at the bench: job::BenchCut. */
export interface BenchCut {
  letter: string;
  name: string;
  cut: string;
  shoulder: string;
  from: string;
  setting: string;
  first: boolean;
  done: boolean;
  tick: Intent;
}

/** All cuts, in order: job::Bench. */
export interface Cuts {
  done: string;
  caution: string;
  cuts: BenchCut[];
}

/** A zip of files that the page holds. */
export interface Bundle {
  /** What goes before a file; nothing when there is no room left for it. */
  enter(name: string, bytes: Uint8Array): Uint8Array | undefined;
  /** What goes behind the last one. */
  end(): Uint8Array | undefined;
  free(): void;
}

/** The core's module. */
export interface Core {
  default(how?: { module_or_path: Promise<Response> }): Promise<unknown>;
  Desk: new (words: string) => Desk;
  Bundle: new () => Bundle;
}

/** What the core says when it refuses. */
export interface Refusal {
  key: string;
  text: string;
  at?: number;
  len?: number;
}

/** Where the eye is: place on screen = picture px · zoom + (x, y), in CSS px. */
export interface Eye {
  zoom: number;
  x: number;
  y: number;
}

/** A picture that can be drawn. */
export interface Drawable {
  width: number;
  height: number;
  draw(ctx: CanvasRenderingContext2D, eye: Eye): void;
  close(): void;
}
