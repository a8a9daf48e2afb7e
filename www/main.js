// Puts the page together: what the core's scene changes is drawn, what a person does is sent to the core.

import { watchArrivals } from './arrivals.js';
import { Board } from './board.js';
import { breath, byId, drawing, keepList, remakeLists, say, show } from './dom.js';
import { Door } from './door.js';
import { Files } from './files.js';
import { Jobs } from './jobs.js';
import { Keeper } from './keeper.js';
import { Keyboard, dodgeKeyboard } from './keyboard.js';
import { Keypad } from './keypad.js';
import { fillKey, makeKey, watchGuards } from './keys.js';
import { LANGUAGES, keepLanguage, languageHere, languageKeys, wordsOf } from './language.js';
import { Ledge, Top } from './ledge.js';
import { Magnifier } from './magnifier.js';
import { Notes, pageKey } from './notes.js';
import { keepOffline } from './offline.js';
import { OnHand } from './onhand.js';
import { dressed, ownScript } from './own.js';
import { watchPrinting } from './paper.js';
import { Press } from './press.js';
import { Seeker } from './seek.js';
import { Sizes } from './sizes.js';
import { openStore, persist } from './store.js';
import { Touch } from './touch.js';
import { language, spoken, takeWords, word } from './words.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/scene').Key} Key */

/** Keys of the empty board. */
const FIRST = ['take-picture', 'find-picture', 'example', 'open-job'];

/** The parts of a scene that take room from the board: each is the same object while it is the same. @param {Scene} scene */
const roundOf = (scene) => [
  scene.step, scene.guide, scene.aside, scene.ledge, scene.entry, scene.pictures, scene.notes, scene.table, scene.detail?.mark,
  scene.hand === null, scene.rows.length,
];

/**
 * The store, or why there is none, as a sentence's name.
 * @param {() => void} onclosed @returns {Promise<{store: import('./store.js').Store | null, why: string}>}
 */
async function storeOrNone(onclosed) {
  try {
    return { store: await openStore({ onclosed }), why: '' };
  } catch (error) {
    console.error(error);
    const name = error instanceof Error || error instanceof DOMException ? error.name : '';
    if (name === 'VersionError') return { store: null, why: 'page.store-newer' };
    return { store: null, why: name === 'TimeoutError' ? 'page.store-blocked' : 'page.store-none' };
  }
}

class Page {
  /** @param {string} words @param {import('./store.js').Store | null} store @param {string} why there is none */
  constructor(words, store, why) {
    this.store = store;
    this.keeper = new Keeper(store, (state, why) => this.keeping(state, why));
    this.door = new Door(words, this.keeper, {
      scene: (scene, quiet) => this.draw(scene, quiet),
      refused: (refusal) => this.ledge.refuse(refusal.text),
      waits: (on) => this.files.wait(on ? word('page.coming') : ''),
      broke: (restored, report) => this.broke(restored, report),
    });
    this.board = new Board(
      byId('floor'),
      /** @type {HTMLCanvasElement} */ (byId('sheet')),
      /** @type {HTMLCanvasElement} */ (byId('still')),
      /** @type {HTMLCanvasElement} */ (byId('board')),
    );
    this.magnifier = new Magnifier(this.board);
    this.board.drawn = () => this.magnifier.draw();
    /** @type {import('./ledge.js').Hands} */
    const hands = {
      press: (key) => this.pressKey(key),
      send: (intent) => void this.send(intent),
      nudge: (dx, dy) => this.nudge(dx, dy),
    };
    this.top = new Top(hands);
    this.ledge = new Ledge(hands);
    this.sizes = new Sizes(hands);
    this.keypad = new Keypad(hands);
    this.notes = new Notes(
      () => this.drawNotes(),
      (text) => this.ledge.refuse(text),
    );
    this.jobs = new Jobs(store, this.keeper, this.door, this.notes);
    this.onHand = new OnHand(this.jobs, { saveAll: () => void this.files.saveAll(), send: (intent) => this.send(intent) });
    this.touch = new Touch(this.board, this.magnifier, this.door);
    const { door, board, touch, keypad } = this;
    this.keyboard = new Keyboard({ door, board, touch, keypad, nudge: hands.nudge, press: hands.press });
    /** The mark that is chosen. @type {number | null} */
    this.chosen = null;
    /** What stood round the board when it was last looked at. @type {unknown[]} */
    this.round = [];
    /** The person has been told that nothing can be kept. */
    this.toldFailed = false;
    this.ready = this.start();
    this.ready.catch((error) => console.error(error));
    this.files = new Files({
      door,
      board,
      store,
      keeper: this.keeper,
      notes: this.notes,
      ready: this.ready,
      jobs: this.jobs,
    });
    this.jobs.preview = () => this.files.preview();
    if (why) this.notes.warn('no-store', word(why), ['save-job']);
    this.press = new Press(async (window) => (await this.withLists()).pixels(window));
    /** What makes patterns and lists, once it has been needed. @type {import('./lists.js').Lists | null} */
    this.lists = null;
    this.hands = hands;
    this.seeker = new Seeker(this.door, () => this.files.open, this.press);
    this.print = watchPrinting(() => this.door.scene);
    this.keypad.closed = () => this.board.takeFocus();
    this.actions();
    dodgeKeyboard();
    this.zoomKeys();
    this.first();
    watchArrivals(this);
  }

  /** Loads the core and opens the last job. */
  async start() {
    try {
      await this.door.open();
    } catch (error) {
      this.ledge.refuse(word('page.core-failed'));
      throw error;
    }
    try {
      await breath();
      await this.jobs.openLast();
    } catch (error) {
      console.error(error);
      this.notes.refuse(word('page.job-failed'));
    }
  }

  actions() {
    const { actions } = this.notes;
    actions.set('take-picture', () => void this.files.choose('camera'));
    actions.set('find-picture', () => void this.files.choose('picture'));
    actions.set('open-job', () => void this.files.choose('job'));
    actions.set('save-job', () => void this.files.saveJob());
    actions.set('csv', () => this.files.saveCsv());
    actions.set('cutting-table', () => this.files.saveCuttingTable());
    actions.set('print', () => {
      this.print();
      this.printed();
    });
    actions.set('pdf', () => this.make('pdf'));
    actions.set('glass', () => {
      this.withLists().then((lists) => lists.showOnGlass()).catch((error) => this.listsFailed(error));
    });
    actions.set('svg', () => this.make('svg'));
    actions.set('boards', () => {
      this.withLists().then((lists) => lists.showBoards()).catch((error) => this.listsFailed(error));
    });
    actions.set('bench', () => {
      this.withLists().then((lists) => lists.showBench()).catch((error) => this.listsFailed(error));
    });
    actions.set('print-sheets', () => this.make('print'));
    actions.set('test-sheet', () => this.make('pdf', 'test'));
    actions.set('propeller-pattern', () => this.make('pdf', 'propeller'));
    for (const make of ['stick', 'grid', 'offsets', 'sector', 'cutting-list']) actions.set(make, () => this.make('pdf', make));
    actions.set('example', () => void this.files.examples());
    actions.set('help', () => this.help());
    actions.set('help-first', () => this.help('take'));
    actions.set('keep-again', () => {
      this.toldFailed = false;
      void this.files.keepWaiting();
      this.keeper.retry();
    });
    actions.set('read-aloud', () => {
      Promise.all([import('./aloud.js'), dressed('aloud.css')]).then(([{ readAloud }]) => readAloud(() => this.door.scene?.rows ?? [])).catch((error) => console.error(error));
    });
    actions.set('new-job', () => void this.jobs.begin([]));
  }

  /** Pages to read; fetched when they are first opened. @param {string} [page] which of them */
  help(page) {
    import('./help.js').then(({ openHelp }) => openHelp(page)).catch((error) => {
      console.error(error);
      this.ledge.refuse(word('page.help-failed'));
    });
  }

  /** Patterns and lists come last: what makes them is fetched when it is first needed. @returns {Promise<import('./lists.js').Lists>} */
  async withLists() {
    const { door, files, notes, press, hands } = this;
    const [{ Lists }] = await Promise.all([import('./lists.js'), door.whole()]);
    this.lists ??= new Lists({ door, files, notes, press, hands });
    return this.lists;
  }

  /** @param {'pdf' | 'svg' | 'print'} what @param {string} [make] as {@link Lists.make} */
  make(what, make) {
    this.withLists().then((lists) => lists.make(what, make)).then((made) => {
      if (made && make !== 'test') this.printed();
    }).catch((error) => this.listsFailed(error));
  }

  /** Paper is about to be cut by these sizes: what changes from now on is told. */
  printed() {
    const { scene, closed } = this.door;
    if (!scene || closed) return;
    /** @type {[number, number, string][]} */
    const sizes = scene.rows.flatMap(({ id, finished }) => (finished ? [[id, finished.value, finished.figure.text]] : []));
    this.door.send({ kind: 'printed', sizes }, true);
  }

  /** @param {Scene} scene */
  drawLists(scene) {
    if (this.lists) this.lists.draw(scene);
    else if (scene.lists) {
      this.withLists().then((lists) => {
        if (this.door.scene) lists.draw(this.door.scene);
      }).catch((error) => this.listsFailed(error));
    }
  }

  /** @param {unknown} error */
  listsFailed(error) {
    console.error(error);
    this.notes.refuse(word('page.press-failed'));
  }

  zoomKeys() {
    const middle = () => /** @type {const} */ ([this.board.width / 2, this.board.height / 2]);
    /** @type {['plus' | 'minus' | 'whole', string, () => void][]} */
    const keys = [
      ['plus', 'page.zoom-in', () => this.board.zoomAt(...middle(), 1.5)],
      ['minus', 'page.zoom-out', () => this.board.zoomAt(...middle(), 1 / 1.5)],
      ['whole', 'page.zoom-whole', () => this.board.fit()],
    ];
    for (const [name, label, act] of keys) {
      const button = byId(`zoom-${name}`);
      button.append(drawing(name));
      spoken(() => button.setAttribute('aria-label', word(label)));
      button.addEventListener('click', act);
    }
    // On a tall screen they stand beside the size board's handle: on the board they would hide some of it.
    const tall = window.matchMedia('(max-aspect-ratio: 1/1), (max-width: 899px) and (min-height: 560px)');
    const settle = () => {
      byId(tall.matches ? 'handle-row' : 'floor').append(byId('zoom'));
      this.board.left = tall.matches ? 0 : 66;
    };
    tall.addEventListener('change', settle);
    settle();
  }

  /** The empty board, which needs no core yet. */
  first() {
    const [fresh, aloud, ...helps] = ['new-job', 'aloud-key', 'help-key', 'first-help'].map((place) => {
      const key = makeKey((one) => this.pressKey(one));
      byId(place).append(key);
      return key;
    });
    const about = makeKey(() => void import('./about.js').then((one) => one.about()).catch((error) => console.error(error)));
    byId('about-key').append(about);
    spoken(() => {
      byId('board').setAttribute('aria-label', word('page.board'));
      byId('foot').setAttribute('aria-label', word('page.ledge'));
      byId('zoom').setAttribute('aria-label', word('page.zoom'));
      byId('tabs').setAttribute('aria-label', word('page.tables'));
      byId('magnifier').setAttribute('aria-label', word('page.magnifier'));
      byId('first').setAttribute('aria-label', word('page.first'));
      say(byId('first-drop'), word('page.first-drop'));
      // Until the core says what to do next.
      if (!this.door.scene) say(byId('guide'), word('guide.empty'));
      const keys = FIRST.map((page) => pageKey(page, page.endsWith('picture') ? 'main' : 'plain'));
      keepList(byId('first-keys'), keys, (key) => key.id, () => makeKey((key) => this.pressKey(key)), fillKey);
      fillKey(fresh, pageKey('new-job'));
      fillKey(about, pageKey('about', 'plain', word('page.about')));
      fillKey(aloud, pageKey('read-aloud', 'plain', word('page.aloud')));
      fillKey(helps[0], pageKey('help', 'plain', word('page.help')));
      fillKey(helps[1], pageKey('help-first', 'plain', word('page.help-first')));
    });
    for (const place of ['first-languages', 'languages']) {
      languageKeys(byId(place), (code) => void this.chooseLanguage(code));
    }
  }

  /** Speaks another language from now on, here and the next time. @param {string} code one of {@link LANGUAGES} */
  async chooseLanguage(code) {
    if (code === language()) return;
    try {
      this.speak(code, await wordsOf(code));
    } catch (error) {
      console.error(error);
      this.ledge.refuse(word('page.words-failed'));
      return;
    }
    keepLanguage(code);
  }

  /** Says everything in another language; nothing else changes. @param {string} code as BCP 47 has it @param {string} words */
  speak(code, words) {
    remakeLists();
    takeWords(words, code);
    this.door.speak(words);
  }

  /** @param {import('./types/scene').Intent} intent @returns {boolean} */
  send(intent) {
    return this.door.send(intent);
  }

  /** @param {Key} key */
  pressKey(key) {
    const { intent, page } = key;
    if (intent && 'note' in intent && intent.kind === 'hush' && this.notes.drop(intent.note)) return;
    if (intent) this.send(intent);
    if (!page) return;
    this.ledge.refuse('');
    this.notes.drop(page);
    this.notes.actions.get(page)?.();
  }

  /** @param {number} dx picture px @param {number} dy */
  nudge(dx, dy) {
    if (!this.send({ kind: 'nudge', by: [dx, dy], zoom: this.magnifier.zoom })) return;
    const at = this.door.scene?.hand?.at;
    if (at) this.board.bring([at]);
  }

  /** @param {Scene} scene @param {boolean} [quiet] what is being said stands */
  draw(scene, quiet = false) {
    if (!quiet) this.ledge.refuse('');
    const empty = scene.pictures.length === 0;
    document.body.dataset.step = scene.step;
    document.body.dataset.empty = empty ? 'yes' : 'no';
    document.body.dataset.entry = scene.entry ? scene.entry.pad : 'no';
    show(byId('first'), empty);
    show(byId('zoom'), !empty);
    show(byId('ledge'), !scene.entry);
    this.board.setScene(scene);
    this.top.draw(scene);
    const keys = empty ? scene.ledge.filter((key) => !key.page || !FIRST.includes(key.page)) : scene.ledge;
    this.ledge.draw(scene, keys);
    this.keypad.draw(scene.entry);
    this.drawLists(scene);
    this.onHand.drawHistory(scene);
    this.drawNotes();
    show(byId('jobs-box'), scene.step === 'picture' || empty);
    show(byId('new-job'), !empty);
    show(byId('aloud-key'), scene.table === 'sizes' && scene.rows.some((row) => row.finished ?? row.real));
    // At every step, so that nothing in hand has to be left for it; the empty board has these keys itself.
    show(byId('languages'), !empty);
    show(byId('help-key'), !empty);
    void this.files?.follow(scene);
    // What is sought becomes facts, which are for the window that has the job in hand.
    if (!this.door.closed) this.seeker?.follow(scene);
    // The keys may have taken more room or less: places on the board are right from now on, not from the next frame. To
    // ask costs a layout, so only when something round the board is another; the browser tells of all else.
    const round = roundOf(scene);
    if (round.some((part, i) => part !== this.round[i])) this.board.resize();
    this.round = round;
    this.bringChosen(scene);
  }

  /** A mark that has just been chosen, in its row perhaps, comes in sight. @param {Scene} scene */
  bringChosen(scene) {
    const chosen = scene.marks.find((mark) => mark.selected)?.id ?? null;
    if (chosen !== this.chosen && chosen !== null) this.board.bring(this.board.subject());
    this.chosen = chosen;
  }

  drawNotes() {
    const { scene } = this.door;
    // About keeping the job: said where a person takes it along.
    const here = scene?.step === 'lists';
    if (scene) this.sizes.draw(scene, this.notes.among(scene.notes).filter((note) => here || note.id !== 'may-go'));
  }

  /** @param {import('./keeper.js').State} state @param {unknown} why */
  keeping(state, why) {
    this.top?.tellKept(state);
    if (state === 'failed') {
      const name = why instanceof Error || why instanceof DOMException ? why.name : '';
      if (name === 'TakenOver' || name === 'ConstraintError') {
        void this.jobs.branch();
        return;
      }
      if (this.toldFailed) return;
      // Said once, until it has been well again.
      this.toldFailed = true;
      console.error(why);
      const sentence = name === 'QuotaExceededError' ? 'page.no-room' : 'page.not-kept-why';
      this.notes?.warn('not-kept', word(sentence), ['keep-again', 'save-job']);
    } else if (state === 'kept') {
      this.toldFailed = false;
      this.notes?.drop('not-kept');
      void this.jobs?.note();
      void this.askToStay();
    }
  }

  /** Asks the browser, once, not to throw the jobs away, and says what it answered. */
  async askToStay() {
    if (this.asked || !this.store) return;
    this.asked = true;
    const answer = await persist().catch(() => 'unknown');
    if (answer !== 'kept') this.notes.add(() => ({ id: 'may-go', tone: 'say', text: word('page.may-go'), keys: [pageKey('save-job')] }));
  }

  /** @param {boolean} restored @param {string[]} report */
  broke(restored, report) {
    this.ledge.refuse(word(restored ? 'page.restored' : 'page.broken'));
    this.notes.offer('save-report', word('page.report'), word('page.save-report'), () => {
      const version = document.querySelector('meta[name="version"]')?.getAttribute('content') ?? '';
      this.files.handOver('scrieve-report.jsonl', [[`# version ${version}`, ...report, ''].join('\n')], 'application/jsonl');
    });
  }

  /** The browser has closed the store: what comes next opens it again, or says that it can't. */
  storeClosed() {
    console.error('the store was closed');
    this.keeper.state = 'failed';
    this.keeper.keep(this.door.facts.length, []);
  }
}

/** @param {Page} page */
function stayOffline(page) {
  void keepOffline({
    kept: () => {
      document.body.dataset.offline = 'yes';
      // From what is kept: the line is free for what was asked for first.
      page.door.fetchWhole().catch((error) => console.error(error));
    },
    offer: (take) => {
      page.notes.offer('new-version', () => word('page.new-version'), () => word('page.take-version'), () => {
        void page.keeper.settled().then(take).then((taken) => {
          if (!taken) page.ledge.refuse(word('page.other-window'));
        });
      });
    },
  });
}

/** For the page's own tests: they read the scene and find places on the screen. @param {Promise<Page>} page */
function showTests(page) {
  /** @type {Page | null} */
  let open = null;
  void page.then((one) => {
    open = one;
  });
  Object.defineProperty(window, 'scrieve', {
    value: Object.freeze({
      ready: page.then((one) => one.ready).then(() => true),
      scene: () => open?.door.scene ?? null,
      toScreen: (/** @type {number} */ x, /** @type {number} */ y) => open?.board.toScreen(x, y) ?? null,
      kept: () => open?.keeper.settled(),
      sought: () => (open ? open.seeker.idle && !open.door.held : false),
      boards: () => (open?.lists?.boards?.idle ? open.lists.boards.shown : null),
      planned: () => (open?.lists?.idle ? open.lists.plan : null),
      zoom: () => open?.board.eye.zoom ?? null,
      speak: (/** @type {string} */ code, /** @type {string} */ words) => open?.speak(code, words),
      facts: () => open?.door.facts ?? [],
      ownScript,
      sure: () => (open ? { job: open.keeper.job, count: open.keeper.sure, state: open.keeper.state } : null),
    }),
  });
}

/** The words of the person's own language, or those that come with the page. @returns {Promise<[string, string]>} */
async function ownWords() {
  const code = languageHere();
  try {
    return [code, await wordsOf(code)];
  } catch (error) {
    console.error(error);
    return [LANGUAGES[0], await wordsOf(LANGUAGES[0])];
  }
}

async function boot() {
  /** @type {Page | null} */
  let page = null;
  const [[code, words], { store, why }] = await Promise.all([
    ownWords(),
    storeOrNone(() => page?.storeClosed()),
  ]);
  takeWords(words, code);
  watchGuards();
  await breath();
  page = new Page(words, store, why);
  const made = page;
  // Keeping all files would take the network's room from the core.
  page.ready.catch(() => {}).then(() => stayOffline(made));
  return page;
}

showTests(boot());
