// Printers that were measured, kept for other jobs: a printer stays the same when the job is another.

/** @typedef {import('./types/scene').Printer} Printer */

const KEPT = 'scrieve-printers';
/** No more are kept, the last measured first. */
const MOST = 8;

/** @returns {Printer[]} */
export function knownPrinters() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT) ?? '[]');
    return Array.isArray(kept) ? kept : [];
  } catch {
    // A store that is closed to us, or not ours: the printer is measured again.
    return [];
  }
}

/** @param {Printer} printer */
export function rememberPrinter(printer) {
  const same = (/** @type {Printer} */ other) => other.name === printer.name && other.paper === printer.paper;
  const before = knownPrinters();
  if (before.length > 0 && JSON.stringify(before[0]) === JSON.stringify(printer)) return;
  try {
    localStorage.setItem(KEPT, JSON.stringify([printer, ...before.filter((other) => !same(other))].slice(0, MOST)));
  } catch {
    // Full or closed: the job itself has it.
  }
}
