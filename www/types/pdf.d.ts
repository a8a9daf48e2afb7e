// The part of the PDF library (pdfjs-dist, served as pdf/library.js) that www/pdf.js uses.

export interface Viewport {
  /** In px at the scale asked for; at scale 1 in points of 1/72 in, the page's own unit and turn included. */
  width: number;
  height: number;
}

export interface Drawing {
  promise: Promise<void>;
  cancel(): void;
}

export interface Page {
  getViewport(how: { scale: number; offsetX?: number; offsetY?: number }): Viewport;
  render(how: { canvas: HTMLCanvasElement; viewport: Viewport; background?: string }): Drawing;
  /** Gives back what was kept for drawing it again. */
  cleanup(): boolean;
}

export interface Document {
  numPages: number;
  getPage(number: number): Promise<Page>;
}

export interface Loading {
  promise: Promise<Document>;
  destroy(): Promise<void>;
}

/** Told the settings below; `fetch` gives the bytes of what is asked for by name. */
export type Fetcher<A> = new (settings: object) => { fetch(ask: A): Promise<Uint8Array> };

export interface Library {
  PDFWorker: { create(how: { port: Worker; verbosity: number }): { destroy(): void } };
  getDocument(how: {
    data: Uint8Array;
    worker: object;
    verbosity: number;
    isEvalSupported: boolean;
    useWorkerFetch: boolean;
    useSystemFonts: boolean;
    CMapReaderFactory: Fetcher<{ name: string }>;
    StandardFontDataFactory: Fetcher<{ filename: string }>;
    WasmFactory: Fetcher<{ filename: string }>;
  }): Loading;
}
