// @ts-check
/**
 * The small pattern language for serial numbers, and the number that a serial holds.
 *
 * A pattern is literals, [classes], groups, |, ?, *, + and {m,n}. It is not given to RegExp, which
 * can go back and forth without end: a file is written by someone else, and "(a*)*b" would hang the
 * phone. From each place in the text, each piece of the pattern is tried once and its ends are kept.
 * Patterns come from a reference that was read without faults, so nothing is refused here.
 */
import { strip } from './text.js';

/** @typedef {{ form: 'signs', signs: Set<string> }} Signs */
/** @typedef {{ form: 'row' | 'either', parts: Node[] }} Parts */
/** @typedef {{ form: 'repeat', part: Node, least: number, most: number }} Repeat */
/** @typedef {Signs | Parts | Repeat} Node */

const LONGEST_SERIAL = 64;
const DIGITS = '0123456789';
const BRACES = /^\{([0-9]{1,3})(?:(,)([0-9]{0,3}))?\}/;
/** @type {Record<string, [number, number]>} */
const TIMES = { '?': [0, 1], '*': [0, Infinity], '+': [1, Infinity] };

/** A serial pattern, ready to match. */
export class SerialPattern {
  /** @param {string} text */
  constructor(text) {
    this.tree = new Parser(text).either();
    this.example = example(this.tree);
  }

  /** Whether the whole text, without blanks around it, fits. @param {string} text */
  matches(text) {
    const signs = [...strip(text)];
    if (!signs.length || signs.length > LONGEST_SERIAL) return false;
    return new Matcher(signs).ends(this.tree, 0).has(signs.length);
  }
}

/** Reads a pattern, one sign after the other. */
class Parser {
  /** @param {string} text */
  constructor(text) {
    this.text = text;
    this.at = 0;
  }

  get next() {
    return this.text.charAt(this.at);
  }

  take() {
    this.at += 1;
    return this.text.charAt(this.at - 1);
  }

  /** @returns {Node} */
  either() {
    const rows = [this.row()];
    while (this.next === '|') {
      this.at += 1;
      rows.push(this.row());
    }
    return rows.length === 1 ? rows[0] : { form: 'either', parts: rows };
  }

  /** @returns {Node} */
  row() {
    const parts = [];
    while (this.next && !'|)'.includes(this.next)) parts.push(this.times(this.one()));
    return parts.length === 1 ? parts[0] : { form: 'row', parts };
  }

  /** @returns {Node} */
  one() {
    const sign = this.take();
    if (sign === '(') {
      const inner = this.either();
      this.at += 1;
      return inner;
    }
    if (sign === '[') return { form: 'signs', signs: this.class() };
    return { form: 'signs', signs: new Set(sign === '\\' ? this.take() : sign) };
  }

  class() {
    const signs = new Set();
    while (this.next && this.next !== ']') {
      const low = this.classSign();
      let high = low;
      if (this.next === '-' && this.text.charAt(this.at + 1) !== ']') {
        this.at += 1;
        high = this.classSign();
      }
      for (let code = low.charCodeAt(0); code <= high.charCodeAt(0); code += 1) signs.add(String.fromCharCode(code));
    }
    this.at += 1;
    return signs;
  }

  classSign() {
    const sign = this.take();
    return sign === '\\' ? this.take() : sign;
  }

  /** @param {Node} part @returns {Node} */
  times(part) {
    const [least, most] = TIMES[this.next] ?? this.braces();
    if (this.next in TIMES) this.at += 1;
    return least === 1 && most === 1 ? part : { form: 'repeat', part, least, most };
  }

  /** @returns {[number, number]} */
  braces() {
    const found = BRACES.exec(this.text.slice(this.at));
    if (!found) return [1, 1];
    this.at += found[0].length;
    const least = Number(found[1]);
    if (found[2] === undefined) return [least, least];
    return [least, found[3] ? Number(found[3]) : Infinity];
  }
}

/** Where each piece of a pattern can end, for one text. */
class Matcher {
  /** @param {string[]} signs */
  constructor(signs) {
    this.signs = signs;
    /** @type {Map<Node, Map<number, Set<number>>>} */
    this.known = new Map();
  }

  /** @param {Node} node @param {number} at @returns {Set<number>} */
  ends(node, at) {
    let known = this.known.get(node);
    if (!known) this.known.set(node, (known = new Map()));
    let ends = known.get(at);
    if (!ends) known.set(at, (ends = this.find(node, at)));
    return ends;
  }

  /** @param {Node} node @param {number} at @returns {Set<number>} */
  find(node, at) {
    if (node.form === 'signs') return new Set(node.signs.has(this.signs[at] ?? '') ? [at + 1] : []);
    if (node.form === 'repeat') return this.repeated(node, at);
    if (node.form === 'either') return new Set(node.parts.flatMap((part) => [...this.ends(part, at)]));
    return node.parts.reduce((from, part) => this.from(part, from), new Set([at]));
  }

  /** @param {Node} part @param {Set<number>} starts */
  from(part, starts) {
    /** @type {Set<number>} */
    const ends = new Set();
    for (const start of starts) for (const end of this.ends(part, start)) ends.add(end);
    return ends;
  }

  /** @param {Repeat} node @param {number} at */
  repeated({ part, least, most }, at) {
    let reached = new Set([at]);
    for (let i = 0; i < least; i += 1) reached = this.from(part, reached);
    const all = new Set(reached);
    // Once nothing new is reached, more repeats reach nothing new either.
    for (let i = least; i < most && reached.size; i += 1) {
      reached = new Set([...this.from(part, reached)].filter((end) => !all.has(end)));
      for (const end of reached) all.add(end);
    }
    return all;
  }
}

/** A serial that fits, digits counting 1, 2, 3 …, the fewest repeats. @param {Node} tree */
function example(tree) {
  let digits = 0;
  return spell(tree)
    .map((choice) => {
      if ([...choice].every((sign) => DIGITS.includes(sign))) digits += 1;
      const wanted = String(digits % 10);
      return choice.has(wanted) ? wanted : [...choice].sort()[0];
    })
    .join('');
}

/** @param {Node} node @returns {Set<string>[]} */
function spell(node) {
  if (node.form === 'signs') return [node.signs];
  if (node.form === 'repeat') return Array.from({ length: node.least }, () => spell(node.part)).flat();
  return node.form === 'either' ? spell(node.parts[0]) : node.parts.flatMap(spell);
}

/** The number a serial holds, its digits joined; -1 where it holds none. @param {string} text */
export function serialNumber(text) {
  const digits = [...text].filter((sign) => DIGITS.includes(sign)).join('');
  return digits.length && digits.length <= LONGEST_SERIAL ? Number(digits) : -1;
}
