// Written by hand until it is generated from the core's own types (job::intent and job::scene).

/** A place in picture px. */
export type At = [number, number];

export type By = "touch" | "pen" | "mouse" | "key";
export type Role = "front" | "side" | "top" | "other";
export type StepName = "picture" | "true-length" | "marks" | "build" | "lists";
export type TableName = "sizes" | "ratios";
export type Weight = "main" | "plain" | "guarded";
export type Line = "solid" | "chain" | "dash" | "dot";
export type Tone = "ask" | "warn" | "say";
export type Pad = "length" | "number" | "text";
export type About =
  | "length"
  | "build"
  | "build-scale"
  | "build-percent"
  | "plus-minus"
  | "mark-name"
  | "view-name"
  | "job-name"
  | "drawing-scale"
  | "resolution"
  | "width"
  | "height";

/** What the page itself sends; the rest comes ready made on keys. */
export type Intent =
  | {
      kind: "add-picture";
      name: string;
      width: number;
      height: number;
      resolution: [number, number] | null;
      digest: string;
    }
  | { kind: "tap"; at: At; by: By; zoom: number; reach: number }
  | { kind: "settle" }
  | { kind: "nudge"; by: [number, number]; zoom: number }
  | { kind: "let-go" }
  | { kind: "forget" }
  | { kind: "go"; step: StepName }
  | { kind: "show-picture"; picture: number }
  | { kind: "select"; mark: number | null }
  | { kind: "show"; table: TableName }
  | { kind: "ask"; about: About }
  | { kind: "entry"; text: string }
  | { kind: "dismiss" }
  | { kind: "hush"; note: string }
  | { kind: "undo" }
  | { kind: "redo" };

export interface Figure {
  negative: boolean;
  feet: string | null;
  whole: string | null;
  num: string | null;
  den: string | null;
  unit: string;
  text: string;
}

export interface StepShown {
  step: StepName;
  label: string;
  done: boolean;
}

export interface Key {
  id: string;
  label: string;
  weight: Weight;
  on: boolean;
  intent: Intent | null;
  page: string | null;
}

export interface PictureShown {
  id: number;
  name: string;
  width: number;
  height: number;
  digest: string;
}

export interface ViewShown {
  id: number;
  picture: number;
  name: string;
  role: Role;
  whole: boolean;
  corners: At[];
  rectangle: At[] | null;
  scale: string;
  selected: boolean;
}

export interface MarkShown {
  id: number;
  picture: number;
  number: number;
  line: Line;
  paths: At[][];
  thin: At[][];
  vees: [number, number, number][];
  handles: At[];
  label_at: At;
  caption: string;
  known: boolean;
  selected: boolean;
  held: number | null;
  open: boolean;
}

export interface Hand {
  mark: number | null;
  point: number;
  at: At;
  what: string;
  good: string;
}

export interface Size {
  value: number;
  minus: number;
  plus: number;
  figure: Figure;
  pm: string;
  unrounded: string;
}

export interface Measured {
  label: string;
  size: Size;
}

export interface Missing {
  text: string;
  intent: Intent;
}

export interface Row {
  id: number;
  number: number;
  name: string;
  line: Line;
  under: string;
  picture: string;
  real: Size | null;
  finished: Size | null;
  more: Measured[];
  from: string;
  missing: Missing | null;
  flags: string[];
  selected: boolean;
}

export interface RatioRow {
  id: number;
  number: number;
  name: string;
  ratio: string;
  value: number;
  half_width: number | null;
  percent: string;
  inverse: string;
  whole: string[];
  golden: string | null;
  base: boolean;
}

export interface SourceShown {
  text: string;
  share: number;
}

export interface Detail {
  mark: number;
  lines: [string, string][];
  sources: SourceShown[];
  keys: Key[];
}

export interface Note {
  id: string;
  tone: Tone;
  text: string;
  keys: Key[];
}

export interface EntryError {
  text: string;
  at: number;
  len: number;
}

export interface Entry {
  title: string;
  text: string;
  pad: Pad;
  unit: string;
  reads: string;
  error: EntryError | null;
  how: Key[];
  ways: Key[];
  choices: Key[];
}

export interface Scene {
  name: string;
  step: StepName;
  steps: StepShown[];
  guide: string;
  aside: string;
  ledge: Key[];
  undo: string | null;
  redo: string | null;
  picture: number | null;
  pictures: PictureShown[];
  views: ViewShown[];
  marks: MarkShown[];
  pending: At[];
  hand: Hand | null;
  table: TableName;
  head: [string, string];
  rows: Row[];
  ratios: RatioRow[];
  detail: Detail | null;
  notes: Note[];
  entry: Entry | null;
}
