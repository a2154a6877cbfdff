// @ts-check
/**
 * The verdict in plain sentences, the same as the Python engine's, word by word; no HTML. What was
 * found is told of the parts and never of the owner. Nothing here says that an instrument is what it
 * is said to be; at best, no sign of change was seen.
 *
 * @import { Model, NextLook, Sentence, Sheet, Verdict } from './types.js'
 */
import { tellFinding, tellWhy } from './explain_finding.js';
import * as parts from './explain_parts.js';
import { caseOf } from './sentences.js';
import { knownChanges } from './witnesses.js';

/** @type {Record<string, string>} */
export const VERDICT_WORDS = {
  agrees: 'Agrees',
  'agrees-with-changes': 'Agrees; some parts do not',
  'in-doubt': 'In doubt',
  'too-little-seen': 'Too little seen',
  disagrees: 'Does not agree',
};

const TELL = [
  tellFinding,
  tellWhy,
  parts.tellWidth,
  parts.tellClaim,
  parts.tellBest,
  parts.tellApart,
  parts.tellFound,
  parts.tellCount,
  parts.tellDeclared,
  parts.tellBorder,
  parts.tellLeaning,
  parts.tellUnseen,
  parts.tellNext,
];

/**
 * Everything there is to say on a verdict, the finding first.
 * @param {Model} model @param {Sheet} sheet @param {Verdict} verdict @param {NextLook[]} looks
 * @returns {Sentence[]}
 */
export function explain(model, sheet, verdict, looks) {
  const told = caseOf(model, sheet, verdict, looks, knownChanges(model, sheet).silent);
  return TELL.flatMap((tell) => tell(told));
}
