// @ts-check
/** What is wrong with a document: where, what was expected, what came, what to do. */

/** @typedef {{ where: string, expected: string, came: string, remedy: string }} Fault */

/**
 * A fault in one line, as a screen shows it.
 * @param {Fault} fault
 */
export const faultWords = ({ where, expected, came, remedy }) => `${where}: expected ${expected}; got ${came}. ${remedy}`;

/** Carries one or more faults. */
export class FaultsError extends Error {
  /** @param {Fault[]} faults */
  constructor(faults) {
    super(faults.map(faultWords).join('\n'));
    this.name = new.target.name;
    this.faults = faults;
  }
}

/** A marking, a number or a unit that can't be read. */
export class ReadingError extends FaultsError {}

/** A claim or an answer that the reference has no place for. */
export class AnswerError extends FaultsError {}

/**
 * @param {string} where @param {string} expected @param {string} came @param {string} remedy
 */
export const refusal = (where, expected, came, remedy) => new AnswerError([{ where, expected, came, remedy }]);

/**
 * @param {string} where @param {string} expected @param {string} came @param {string} remedy
 */
export const unreadable = (where, expected, came, remedy) => new ReadingError([{ where, expected, came, remedy }]);
