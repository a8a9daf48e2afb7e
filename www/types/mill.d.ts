// What the mill and the page say to one another, and the part of the core's door that the mill uses.

import type { Ask as Seek, Found } from "./scene";

/** A sentence by name with what goes into it, as the core hands it over. */
export interface Say {
  key: string;
  args: [string, { text?: string; count?: number }][];
}

export type Format =
  | "jpeg" | "png" | "webp" | "gif" | "bmp" | "avif" | "heic" | "tiff" | "pdf" | "svg" | "unknown";

/** What a picture file says about itself: raster::header::Header. */
export interface Header {
  format: Format;
  stored: [number, number] | null;
  shown: [number, number] | null;
  orientation: number;
  /** Pixels per inch across and down the picture as shown. */
  resolution: [number, number] | null;
  resolution_means_something: boolean;
  animated: boolean;
  focal_35mm: number | null;
  from_camera: boolean;
  more: boolean;
  flags: Say[];
}

export interface MillPixels {
  seek(ask: Seek): Found;
  /** Where a look at colour is worth it: x, y, width, height, px; empty for nowhere. */
  colour_window(ask: Seek): Uint32Array;
  seek_in_colour(ask: Seek, window: Uint32Array, rgba: Uint8Array): Found;
  set_tile(x: number, y: number, width: number, height: number, rgba: Uint8Array): void;
  window(x: number, y: number, width: number, height: number): Uint8Array;
  free(): void;
}

/** The core's module, as the mill sees it. */
export interface MillCore {
  default(from: { module_or_path: URL }): Promise<unknown>;
  Mill: new (width: number, height: number, name: string) => MillPixels;
  picture_head(): number;
  picture_header(bytes: Uint8Array, name: string): Header;
  picture_fits(width: number, height: number, name: string): void;
  picture_remedy(format: Format, name: string): Say;
  /** How many bytes the file says it has; 0 where it doesn't say. */
  picture_own_length(bytes: Uint8Array): number;
  picture_ends_in(format: Format, part: Uint8Array): boolean;
}

/** A picture opened: its size as shown, px, and the first, reduced, picture of it. */
export interface Opened {
  header: Header;
  width: number;
  height: number;
  /** The whole picture, reduced to half of what it will be, so that it shows soon. */
  level: ImageBitmap;
  /** How much smaller than the picture the reduced one will be. */
  scale: number;
  /** How many levels of tiles there are; none when the reduced picture is the whole one. */
  levels: number;
  /** What a person should be told, from the header and from decoding. */
  flags: Say[];
}

/** What is asked of the mill. */
export type Ask =
  | { kind: "open"; blob: Blob; name: string }
  | { kind: "tile"; level: number; column: number; row: number }
  | { kind: "luminance"; x: number; y: number; width: number; height: number }
  | { kind: "seek"; ask: Seek };

/** Page to mill. */
export type ToMill = { id: number; ask: Ask };

/** Mill to page: an answer, a refusal, how far the picture has been cut up, or the finer reduced picture. */
export type FromMill =
  | { id: number; answer: unknown }
  | { id: number; refusal: Say }
  | { cut: number; of: number }
  | { level: ImageBitmap };
