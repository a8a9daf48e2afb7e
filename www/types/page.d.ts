// Types that only the page knows: the core's door as the page uses it, and what its own rooms hand round.

import type { Scene } from "./scene";

/** A list of the scene as it changed: what is new or different, what went, and the order when that changed. */
export interface ListChange<T> {
  changed: T[];
  removed: number[];
  order?: number[] | null;
}

/** What an intent changed. A whole scene is taken as well. */
export interface SceneChange {
  revision: number;
  changed: Partial<Scene>;
  marks?: ListChange<Scene["marks"][number]>;
  rows?: ListChange<Scene["rows"][number]>;
  views?: ListChange<Scene["views"][number]>;
}

/** A picture of a job file. */
export interface JobPicture {
  digest: string;
  name: string;
  bytes: Uint8Array;
}

/** The document, in the core. */
export interface Desk {
  intend(intent: object): SceneChange | Scene;
  scene(): Scene;
  slide(dx: number, dy: number, by: string, zoom: number): Float64Array;
  restore(facts: string[]): SceneChange | Scene;
  facts_from(seq: number): string[];
  job_json(): string;
  job_file(pictures: JobPicture[]): Uint8Array;
  open_job(bytes: Uint8Array): { facts: string[]; pictures: JobPicture[] };
  csv(): string;
}

/** The core's module. */
export interface Core {
  default(): Promise<unknown>;
  Desk: new (words: string) => Desk;
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

/** A job in the browser's own database. */
export interface StoredJob {
  id: string;
  name: string;
  /** Milliseconds since 1970. */
  when: number;
}

/** The browser's database as the page uses it. */
export interface Store {
  append(job: string, seq: number, fact: string): Promise<void>;
  load(job: string): Promise<string[]>;
  putPicture(digest: string, blob: Blob): Promise<void>;
  picture(digest: string): Promise<Blob | null>;
  jobs(): Promise<StoredJob[]>;
  putJob(job: StoredJob): Promise<void>;
  deleteJob(job: string): Promise<void>;
  /** Whether the browser has promised not to throw the site's data away. */
  persist(): Promise<boolean>;
}
