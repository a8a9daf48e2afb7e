// Watches for what the page is opened for: files that another app shares or opens with it, and the shortcuts of its icon. What is done with
// files is fetched when some come (arrive.js).

/** What a shortcut may ask for, as the fragment of its address: names of the page's own actions. */
const SHORTCUTS = ['new-job', 'help-first'];

/**
 * @param {object} page
 * @param {import('./files.js').Files} page.files
 * @param {import('./notes.js').Notes} page.notes
 * @param {Promise<unknown>} page.ready the core is there and the last job open
 */
export function watchArrivals({ files, notes, ready }) {
  const arrive = (/** @type {(one: typeof import('./arrive.js')) => Promise<File[]>} */ bring) => {
    import('./arrive.js').then(async (one) => one.lay(files, await bring(one))).catch((error) => console.error(error));
  };
  const asked = () => {
    const what = location.hash.slice(1);
    if (!what) return;
    history.replaceState(null, '', location.pathname);
    if (what === 'shared') arrive((one) => one.takeShared());
    else if (SHORTCUTS.includes(what)) void ready.then(() => notes.actions.get(what)?.());
  };
  window.addEventListener('hashchange', asked);
  asked();
  /** @type {any} */ (window).launchQueue?.setConsumer((/** @type {{files?: readonly FileSystemFileHandle[]}} */ { files: opened = [] }) => {
    if (opened.length > 0) arrive(() => Promise.all(opened.map((file) => file.getFile())));
  });
}
