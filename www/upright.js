// Browsers turn a JPEG as its tags say, but not all of them do so with PNG and WebP. Marks lie on the picture
// as shown, so a picture must be shown the same way up everywhere: the mill turns what the browser doesn't.

/** @typedef {import('./types/mill').Format} Format */

/** Two pixels side by side whose tags say that one lies above the other (written by Pillow). */
const PROBES = {
  png: 'iVBORw0KGgoAAAANSUhEUgAAAAIAAAABCAAAAADRSSBWAAAAGmVYSWZNTQAqAAAACAABARIAAwAAAAEABgAAAAAAANZnS2kAAAALSURBVHic'
    + 'Y/zPAAACBAEBxzzXFQAAAABJRU5ErkJggg==',
  webp: 'UklGRlIAAABXRUJQVlA4WAoAAAAIAAAAAQAAAAAAVlA4TBEAAAAvAQAAAAfQ//73v/+BiOh/AABFWElGGgAAAE1NACoAAAAIAAEBEgADAAAA'
    + 'AQAGAAAAAAAA',
};

/**
 * How a picture must still be turned after decoding: its orientation, or 1 for not at all.
 * @param {Format} format @param {number} orientation 1 to 8, as in EXIF
 * @returns {Promise<number>}
 */
export async function turnLeft(format, orientation) {
  if (orientation === 1 || (format !== 'png' && format !== 'webp')) return 1;
  const bytes = Uint8Array.from(atob(PROBES[format]), (letter) => letter.charCodeAt(0));
  const probe = await createImageBitmap(new Blob([bytes]));
  const obeyed = probe.height === 2;
  probe.close();
  return obeyed ? 1 : orientation;
}

/** Whether rows become columns. @param {number} orientation */
export const isOnItsSide = (orientation) => orientation >= 5;

/**
 * The canvas transform from a picture as stored to the picture as shown.
 * @param {number} orientation @param {number} w stored width, px @param {number} h stored height, px
 * @returns {[number, number, number, number, number, number]}
 */
export function turnOf(orientation, w, h) {
  // CIPA DC-008, tag Orientation: which side of the picture row 0 and column 0 are.
  switch (orientation) {
    case 2: return [-1, 0, 0, 1, w, 0]; // Left and right changed over.
    case 3: return [-1, 0, 0, -1, w, h]; // Half a turn.
    case 4: return [1, 0, 0, -1, 0, h]; // Top and bottom changed over.
    case 5: return [0, 1, 1, 0, 0, 0]; // Rows for columns.
    case 6: return [0, 1, -1, 0, h, 0]; // A quarter turn clockwise.
    case 7: return [0, -1, -1, 0, h, w]; // Rows for columns about the other diagonal.
    case 8: return [0, -1, 1, 0, 0, w]; // A quarter turn counter-clockwise.
    default: return [1, 0, 0, 1, 0, 0];
  }
}
