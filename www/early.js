// The words are asked for before the rest of the page's code is there: nothing can be shown without them.

import { languageHere, wordsOf } from './language.js';

// Who needs them asks again, and is told if they don't come.
wordsOf(languageHere()).catch(() => {});
