// What the page and the press say to one another, and the part of the core's door that the press uses.

import type { Say } from "./mill";
import type { Spot } from "./scene";

/** All sheets of an order: sheet::plan::Plan, of which the page draws these. Lengths in mm. */
export interface Plan {
  sheets: Sheet[];
  wholes: Whole[];
  remarks: Say[];
}

/** One sheet. */
export interface Sheet {
  size: [number, number];
  /** What can't be printed on: left, top, right, bottom. */
  margins: [number, number, number, number];
  printer: [number, number];
  name: string;
  shows: {
    whole: number;
    row: number;
    column: number;
    /** What of the whole is drawn, as it lies: left, top, right, bottom. */
    window: [number, number, number, number];
    /** Where that begins, from the corner inside the margins, mm as printed. */
    at: [number, number];
  }[];
}

/** What is drawn in one piece, as it lies on the sheets. */
export interface Whole {
  title: string;
  size: [number, number];
  /** Where its sheets are joined, across and down. */
  joints: [number[], number[]];
  /** Its main lines, for the plan. */
  preview: [number, number][][];
}

/** The core's module, as the press sees it. */
export interface PressCore {
  default(from: { module_or_path: URL }): Promise<unknown>;
  shape(ask: unknown): unknown;
  Boards: new (order: string) => BoardsWork;
  Press: new (order: string, regular: Uint8Array, bold: Uint8Array) => PressWork;
}

/** One order being made. */
export interface PressWork {
  plan(): Plan;
  /** Picture, x, y, width, height of the luminance that it needs next; empty when it needs none. */
  wants(): Uint32Array;
  give(luminance: Uint8Array): void;
  /** The pictures whose own files may be used in the PDF, if they are JPEGs. */
  reusable(): Uint32Array;
  reuse(picture: number, file: Uint8Array, orientation: number): void;
  /** Done, of. */
  step(): Uint32Array;
  pdf(): Uint8Array;
  svg(piece: number): string;
  /** A sheet as an SVG picture of its own size. */
  sheet(index: number): string;
  free(): void;
}

/** Boards being laid out. */
export interface BoardsWork {
  /** Done, of. */
  step(): Uint32Array;
  shown(): BoardsShown;
  free(): void;
}

/** Boards as they are laid out: sheet::boards::Shown. Lengths in mm, from a board's upper left corner as drawn. */
export interface BoardsShown {
  lots: LotShown[];
}

/** The boards of one stock. */
export interface LotShown {
  name: string;
  title: string;
  lines: string[];
  boards: BoardShown[];
}

/** One board. */
export interface BoardShown {
  number: number;
  size: [number, number];
  label: string;
  pieces: PieceShown[];
  spots: Spot[];
  cuts: CutShown[];
  lines: string[];
}

/** One piece on a board. */
export interface PieceShown {
  part: number;
  copy: number;
  letter: string;
  text: string;
  at: [number, number];
  over: [number, number];
  turned: boolean;
  pinned: boolean;
}

/** One straight cut. */
export interface CutShown {
  across: boolean;
  at: number;
  span: [number, number];
  level: number;
  text: string;
}

/** What is asked of the press. */
export type Ask =
  | { kind: "shape"; ask: unknown }
  | { kind: "boards"; order: string }
  | { kind: "plan"; order: string }
  | { kind: "pdf"; order: string }
  | { kind: "print"; order: string }
  | { kind: "svg"; order: string; piece: number };

/** Page to press. */
export type ToPress = { id: number; ask: Ask } | Given | { pixels: null } | { enough: true };

/** The luminance of a window; or the picture's own file, no bytes where it won't do, and its way up as in EXIF. */
export interface Given {
  pixels: Uint8Array;
  orientation?: number;
}

/** A window of a picture's luminance; one without width is the picture's own file. */
export interface Window {
  picture: number;
  x: number;
  y: number;
  width: number;
  height: number;
}

/** Press to page: an answer, a refusal, how far it has come, or a window of pixels that it needs. */
export type FromPress =
  | { id: number; answer: unknown }
  | { id: number; refusal: Say }
  | { done: number; of: number; boards?: true }
  | { wants: Window };
