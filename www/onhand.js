// Shows the jobs on hand: each with its picture, name, day and size, and what can be done with it; the deleted ones that can be
// put back; how much room is left; the moments of the open job.

import { byId, el, keepList, say, show } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { pageKey } from './notes.js';
import { room } from './store.js';
import { locale, spoken, word } from './words.js';

/** @typedef {import('./store.js').Job} Job */
/** @typedef {import('./types/scene').Scene} Scene */

/** So many jobs are shown at once; a key shows as many more. */
const SHOWN = 12;

/** Bytes in words. @param {number} bytes */
export function bytesText(bytes) {
  const units = ['kilobyte', 'megabyte', 'gigabyte'];
  let size = Math.max(bytes, 0) / 1000;
  let unit = 0;
  while (size >= 1000 && unit < units.length - 1) {
    size /= 1000;
    unit += 1;
  }
  return size.toLocaleString(locale(), { style: 'unit', unit: units[unit], maximumFractionDigits: size < 10 ? 1 : 0 });
}

/** @param {string} id @param {string} label @param {import('./types/scene').Weight} [weight] @param {boolean} [on] */
const keyOf = (id, label, weight = 'plain', on = false) => ({ ...pageKey(id, weight, label), on });

/** A key that does something by itself. @param {string} id @param {string} label @param {() => void} act @param {import('./types/scene').Weight} [weight] */
function ownKey(id, label, act, weight = 'plain') {
  const key = makeKey(act);
  fillKey(key, keyOf(id, label, weight));
  return key;
}

/**
 * A line to write on, with a key that takes it.
 * @param {string} id @param {string} label @param {string} text @param {string} key @param {(text: string) => void} take
 */
function nameForm(id, label, text, key, take) {
  const input = el('input', 'name-input', { type: 'text', maxlength: '120', autocomplete: 'off', spellcheck: 'false', 'aria-label': label, id });
  input.value = text;
  input.placeholder = label;
  const done = () => take(input.value.trim());
  input.addEventListener('keydown', (event) => {
    event.stopPropagation();
    if (event.key === 'Enter') done();
  });
  return el('div', 'name-form', {}, input, ownKey(`${id}-ok`, key, done));
}

export class OnHand {
  /**
   * @param {import('./jobs.js').Jobs} jobs
   * @param {{saveAll: () => void, send: (intent: import('./types/scene').Intent) => boolean}} acts
   */
  constructor(jobs, acts) {
    this.jobs = jobs;
    this.acts = acts;
    this.shown = SHOWN;
    /** The job whose keys are open. */
    this.open = '';
    /** The job that is being renamed. */
    this.naming = '';
    this.showsDeleted = false;
    /** Addresses of the previews, by job and what they show. @type {Map<string, string>} */
    this.urls = new Map();
    this.box = byId('jobs');
    this.list = byId('job-list');
    this.deleted = byId('deleted-list');
    this.more = makeKey(() => {
      this.shown += SHOWN;
      this.draw();
    });
    const all = makeKey(() => acts.saveAll());
    this.deletedKey = makeKey(() => {
      this.showsDeleted = !this.showsDeleted;
      this.draw();
    });
    byId('jobs-keys').append(this.more, all, this.deletedKey);
    this.moments = byId('moments');
    jobs.changed = () => this.draw();
    spoken(() => {
      say(byId('jobs-title'), word('page.jobs'));
      fillKey(this.more, keyOf('more-jobs', word('page.more-jobs'), 'plain'));
      fillKey(all, keyOf('save-all', word('page.save-all'), 'plain'));
      byId('history-keys').replaceChildren(nameForm('moment-name', word('page.moment-name'), '', word('page.name-moment'), (name) => {
        if (name && this.acts.send({ kind: 'name-moment', name })) /** @type {HTMLInputElement} */ (byId('moment-name')).value = '';
      }));
      this.draw();
    });
  }

  draw() {
    const { jobs } = this;
    const live = jobs.live;
    const deleted = jobs.jobs.filter((job) => job.deleted);
    show(this.box, live.length + deleted.length > 0);
    const some = live.slice(0, this.shown);
    show(this.more, live.length > some.length);
    keepList(this.list, some.map((job) => this.look(job)), (job) => job.id, (job) => this.makeJob(job.id), (node, job) => this.fillJob(node, job));
    show(this.deletedKey, deleted.length > 0);
    if (deleted.length === 0) this.showsDeleted = false;
    fillKey(this.deletedKey, keyOf('show-deleted', word('page.deleted-jobs', { count: deleted.length }), 'plain', this.showsDeleted));
    show(this.deleted, this.showsDeleted);
    keepList(this.deleted, this.showsDeleted ? deleted : [], (job) => job.id, (job) => this.makeDeleted(job), (node, job) => {
      const [title, left] = /** @type {HTMLElement[]} */ ([.../** @type {HTMLElement} */ (node.firstChild).children]);
      say(title, job.name || word('page.no-name'));
      say(left, word('page.days-left', { count: Math.ceil(job.deleted?.left ?? 0) }));
    });
    void this.drawRoom();
  }

  /** A job as it is to be shown now. @param {Job} job */
  look(job) {
    return { ...job, isOpen: this.open === job.id, isNamed: this.naming === job.id, onBoard: job.id === this.jobs.keeper.job };
  }

  /** @param {string} id */
  makeJob(id) {
    const open = el('button', 'job-open', { type: 'button' }, el('span', 'job-title'), el('span', 'job-when'));
    open.dataset.job = id;
    open.addEventListener('click', () => void this.jobs.open(id));
    const more = makeKey(() => {
      this.open = this.open === id ? '' : id;
      this.naming = '';
      this.draw();
    });
    const picture = el('img', 'job-picture', { alt: '', width: '72', height: '56' });
    return el('li', 'job', {}, el('div', 'job-row', {}, picture, open, more), el('div', 'job-keys', { hidden: '' }));
  }

  /** @param {HTMLElement} node @param {ReturnType<OnHand['look']>} job */
  fillJob(node, job) {
    const [picture, open, more] = /** @type {HTMLElement[]} */ ([.../** @type {HTMLElement} */ (node.firstChild).children]);
    const [title, when] = /** @type {HTMLElement[]} */ ([...open.children]);
    say(title, job.name || word('page.no-name'));
    const day = job.when > 0 ? new Date(job.when).toLocaleDateString(locale()) : '';
    const size = job.bytes ? bytesText(job.bytes) : '';
    say(when, [job.onBoard ? word('page.on-board') : day, size].filter(Boolean).join(' · '));
    open.toggleAttribute('aria-current', job.onBoard);
    fillKey(more, keyOf(`job-keys-${job.id}`, word('page.job-keys'), 'plain', job.isOpen));
    void this.fillPicture(/** @type {HTMLImageElement} */ (picture), job);
    const keys = /** @type {HTMLElement} */ (node.lastChild);
    show(keys, job.isOpen);
    const state = job.isNamed ? 'named' : job.isOpen ? 'open' : '';
    if (keys.dataset.state === state && state !== '') return;
    keys.dataset.state = state;
    keys.replaceChildren(...(job.isNamed ? [this.makeNaming(job)] : job.isOpen ? this.makeKeys(job) : []));
    if (job.isNamed) byId('new-job-name').focus();
  }

  /** @param {Job} job */
  makeKeys(job) {
    const { id } = job;
    const rename = ownKey(`rename-job-${id}`, word('page.rename-job'), () => {
      this.naming = id;
      this.draw();
    });
    const copy = ownKey(`copy-job-${id}`, word('page.copy-job'), () => void this.jobs.copy(id));
    const remove = ownKey(`delete-job-${id}`, word('page.delete-job'), () => void this.jobs.remove(id), 'guarded');
    return [rename, copy, remove];
  }

  /** @param {Job} job */
  makeNaming(job) {
    return nameForm('new-job-name', word('page.rename-job'), job.name, word('page.rename-ok'), (name) => {
      this.naming = '';
      this.open = '';
      if (name && name !== job.name) void this.jobs.rename(job.id, name);
      this.draw();
    });
  }

  /** @param {Job} job */
  makeDeleted(job) {
    const { id } = job;
    const words = el('div', 'deleted-words', {}, el('span', 'job-title'), el('span', 'job-when'));
    const back = ownKey(`put-back-${id}`, word('page.put-back'), () => void this.jobs.putBack(id));
    const gone = ownKey(`purge-job-${id}`, word('page.purge-job'), () => void this.jobs.purge(id), 'guarded');
    return el('li', 'job-deleted', {}, words, back, gone);
  }

  /** @param {HTMLImageElement} image @param {Job} job */
  async fillPicture(image, job) {
    const name = job.shows ? `${job.id} ${job.shows}` : '';
    if (image.dataset.of === name) return;
    image.dataset.of = name;
    if (!name) return image.removeAttribute('src');
    try {
      if (!this.urls.has(name)) {
        const bytes = await this.jobs.store?.preview(job.id);
        if (bytes) this.urls.set(name, URL.createObjectURL(new Blob([bytes], { type: 'image/jpeg' })));
      }
      const url = this.urls.get(name);
      if (url && image.dataset.of === name) image.src = url;
    } catch (error) {
      console.error(error);
    }
    return undefined;
  }

  /** How much room the jobs take and how much is left, and whether the browser may throw them away. */
  async drawRoom() {
    const there = this.jobs.store ? await room().catch(() => null) : null;
    const persisted = await navigator.storage?.persisted?.().catch(() => false);
    const used = there && word('page.room', { used: bytesText(there.used), left: bytesText(there.of - there.used) });
    const promise = this.jobs.store ? word(persisted ? 'page.room-kept' : 'page.room-may-go') : word('page.room-none');
    say(byId('room'), [used, promise].filter(Boolean).join(' '));
  }

  /** Moments of the open job, and what has changed since it was printed. @param {Scene} scene */
  drawHistory(scene) {
    const { history } = scene;
    show(byId('history'), scene.pictures.length > 0 && (scene.step === 'lists' || scene.step === 'picture'));
    say(byId('printed'), history.printed);
    show(byId('printed'), history.printed !== '');
    keepList(byId('since'), history.since, (line) => line, () => el('li'), say);
    const moments = history.moments.map((name, at) => ({ name, at }));
    keepList(this.moments, moments.reverse(), ({ at }) => String(at), ({ at }) => {
      const key = makeKey(() => this.acts.send({ kind: 'go-back', moment: at }));
      return el('li', 'moment', {}, key);
    }, (node, { name, at }) => fillKey(/** @type {HTMLElement} */ (node.firstChild), keyOf(`moment-${at}`, word('page.go-back', { name }))));
  }
}
