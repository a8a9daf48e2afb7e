// What every Worker of the page does alike: answers what it is asked, refuses in the core's words, and gives way in between.

/** After what has come in meanwhile, and what is being answered now has gone out. @returns {Promise<void>} */
export const later = () => new Promise((resolve) => setTimeout(resolve));

/** What nobody expected ends the Worker: the page hears of it and builds another. @param {unknown} reason */
export function stop(reason) {
  setTimeout(() => {
    throw reason;
  });
}

/**
 * Answers one ask.
 * @template A
 * @param {{ id: number, ask: A }} message @param {(ask: A) => Promise<any>} answer
 * @param {(made: any) => Transferable[]} movable what of an answer is given away rather than copied
 */
export async function reply({ id, ask }, answer, movable) {
  try {
    const made = await answer(ask);
    self.postMessage({ id, answer: made }, { transfer: movable(made) });
  } catch (/** @type {any} */ reason) {
    if (reason?.say) self.postMessage({ id, refusal: reason.say });
    else if (reason?.key) self.postMessage({ id, refusal: reason });
    else stop(reason);
  }
}
