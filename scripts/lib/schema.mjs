// Writes docs/job.schema.json, a JSON Schema of job.json: the shapes of all facts from the door's types (www/types/scene.d.ts, which
// are made from the Rust ones), and which fields may be left out from crate/src/job/intent.rs. `--check` only says whether it is stale.
//   node scripts/lib/schema.mjs [--check]
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const FILE = join(ROOT, 'docs/job.schema.json');
const TYPES = join(ROOT, 'www/types/scene.d.ts');
const RUST = readFileSync(join(ROOT, 'crate/src/job/intent.rs'), 'utf8');

const kebab = (name) => name.replace(/(?<!^)([A-Z])/g, '-$1').replaceAll('_', '-').toLowerCase();

/** Kinds that are no facts: those that `is_fact` names. */
function gestures() {
  const source = readFileSync(join(ROOT, 'crate/src/job/journal.rs'), 'utf8');
  const body = source.slice(source.indexOf('pub fn is_fact'));
  return new Set([...body.slice(0, body.indexOf('}\n}')).matchAll(/^\s+\|? ?([A-Z]\w+)/gm)].map((match) => kebab(match[1])));
}

/** Fields that may be left out, by kind: those with a default. */
function defaults() {
  const body = RUST.slice(RUST.indexOf('pub enum Intent'));
  const found = new Map();
  let kind = '';
  let free = false;
  for (const line of body.split('\n')) {
    const variant = line.match(/^    ([A-Z]\w+)/);
    if (variant) kind = kebab(variant[1]);
    if (/#\[serde\([^)]*default/.test(line)) free = line.match(/rename = "([^"]+)"/)?.[1] ?? true;
    const field = line.match(/^        (\w+): /);
    if (field) {
      if (free) found.set(kind, [...(found.get(kind) ?? []), free === true ? kebab(field[1]) : free]);
      free = false;
    }
  }
  return found;
}

const free = defaults();

/** Each type of the door by name, as text without its comments. */
const texts = new Map(
  [...readFileSync(TYPES, 'utf8').replace(/\/\*[^]*?\*\//g, '').matchAll(/export type (\w+) = ([^]*?);\s*(?=export|$)/g)]
    .map(([, name, text]) => [name, text]),
);
const defs = {};

/** Reads the few forms that these types have: names, literals, unions, lists, tuples, objects. */
class Reader {
  constructor(text) {
    this.tokens = text.match(/"[^"]*"|[\w-]+\??(?=\s*:)|-?\w+|[^\s]/g) ?? [];
    this.at = 0;
  }

  pass(token) {
    const there = this.tokens[this.at] === token;
    if (there) this.at += 1;
    return there;
  }

  want(token) {
    if (!this.pass(token)) throw new Error(`expected ${token}, found ${this.tokens.slice(this.at, this.at + 6).join(' ')}`);
  }

  union() {
    this.pass('|');
    const parts = [this.listed()];
    while (this.pass('|')) parts.push(this.listed());
    if (parts.length === 1) return parts[0];
    return parts.every((part) => 'const' in part) ? { enum: parts.map((part) => part.const) } : { anyOf: parts };
  }

  listed() {
    let one = this.one();
    while (this.pass('[')) {
      this.want(']');
      one = { type: 'array', items: one };
    }
    return one;
  }

  one() {
    if (this.pass('(')) {
      const inside = this.union();
      this.want(')');
      return inside;
    }
    if (this.pass('[')) return this.tuple();
    if (this.pass('{')) return this.object();
    const token = this.tokens[this.at++];
    if (token.startsWith('"')) return { const: JSON.parse(token) };
    if (token === 'unknown') return {};
    if (['string', 'number', 'boolean', 'null'].includes(token)) return { type: token };
    if (token === 'Array') {
      this.want('<');
      const items = this.union();
      this.want('>');
      return { type: 'array', items };
    }
    if (!texts.has(token)) throw new Error(`there is no type ${token}`);
    if (!(token in defs)) {
      defs[token] = {};
      defs[token] = read(texts.get(token));
    }
    return { $ref: `#/$defs/${token}` };
  }

  tuple() {
    const items = [];
    while (!this.pass(']')) {
      items.push(this.union());
      this.pass(',');
    }
    return { type: 'array', prefixItems: items, items: false, minItems: items.length };
  }

  object() {
    const properties = {};
    const optional = new Set();
    while (!this.pass('}')) {
      const token = this.tokens[this.at++];
      const name = token.replace(/^"|"$|\?$/g, '');
      if (token.endsWith('?') || this.pass('?')) optional.add(name);
      this.want(':');
      properties[name] = this.union();
      if (!this.pass(',')) this.pass(';');
    }
    // A fact says which of its fields may be left out; elsewhere whatever may be nothing, or an empty list, may.
    const kind = properties.kind?.const;
    const out = (name) => optional.has(name) || free.get(kind)?.includes(name) || (kind ? nothing : maybe)(properties[name]);
    return { type: 'object', properties, required: Object.keys(properties).filter((name) => !out(name)), additionalProperties: false };
  }
}

const nothing = (schema) => schema.type === 'null' || Boolean(schema.anyOf?.some(nothing));
const maybe = (schema) => nothing(schema) || (schema.type === 'array' && !schema.prefixItems);

/** Only what these schemas speak of, and what that speaks of. */
function spokenOf(schemas) {
  const found = new Map();
  const look = (text) => {
    for (const [, name] of text.matchAll(/"#\/\$defs\/(\w+)"/g)) {
      if (found.has(name)) continue;
      found.set(name, defs[name]);
      look(JSON.stringify(defs[name]));
    }
  };
  look(JSON.stringify(schemas));
  return Object.fromEntries([...found].sort(([a], [b]) => (a < b ? -1 : 1)));
}

function read(text) {
  const reader = new Reader(text);
  const schema = reader.union();
  if (reader.at < reader.tokens.length) throw new Error(`left over: ${reader.tokens.slice(reader.at, reader.at + 6).join(' ')}`);
  return schema;
}

function whole() {
  const none = gestures();
  const facts = read(texts.get('Intent')).anyOf.filter((one) => !none.has(one.properties.kind.const));
  if (facts.length < 50) throw new Error(`only ${facts.length} facts were found`);
  const list = { type: 'array', items: { type: 'object' } };
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'job.json of a Scrieve job file, version 1',
    description: 'The log is what is read back. The document is what it comes to, for people and other programs to read. Lengths in mm, points in picture px from the top left corner.',
    type: 'object',
    required: ['format', 'version', 'log'],
    properties: {
      format: { const: 'scrieve-job' },
      version: { const: 1 },
      document: {
        type: 'object',
        properties: { name: { type: 'string' }, units: { type: 'object' }, pictures: list, views: list, marks: list },
      },
      log: { type: 'array', items: { oneOf: facts } },
    },
    $defs: spokenOf(facts),
  };
}

const fresh = `${JSON.stringify(whole(), null, 1)}\n`;
if (process.argv.includes('--check')) {
  if (!existsSync(FILE) || readFileSync(FILE, 'utf8') !== fresh) {
    console.error('docs/job.schema.json is stale: node scripts/lib/schema.mjs writes it anew');
    process.exit(1);
  }
  console.log('docs/job.schema.json is fresh');
} else writeFileSync(FILE, fresh);
