// @ts-check
/**
 * The answers of a card as a document: what anybody who reads the code has before him, and no more.
 *
 * @import { Answer, Model } from '../engine/types.js'
 * @import { Card } from './payload.js'
 */
import { hasReading } from '../engine/answers.js';
import { monthText } from '../engine/months.js';

/** A document that is judged as the sheet was that the card is of. @param {Model} model @param {Card} card */
export function documentOf(model, card) {
  return {
    reference: model.json.id,
    window: card.claimed.map(monthText),
    claim: { nothing_changed: card.nothing_changed },
    access: card.access,
    serial_text: card.serial_text,
    marks: card.marks,
    disclosures: card.disclosures,
    answers: Object.fromEntries([...card.answers].map(([id, answer]) => [id, answerDocument(answer)])),
  };
}

/** An answer as it stands in a document, values in the point's own unit. @param {Answer} answer */
function answerDocument(answer) {
  const { seen, value, read, state, not_seen, where } = answer;
  /** @type {Record<string, unknown>} */
  const fields = {
    sure: hasReading(answer) ? answer.sure : null,
    seen: seen.length > 1 ? seen : (seen[0] ?? null),
    value,
    read,
    state,
    not_seen,
    where: where.length ? where : null,
  };
  return Object.fromEntries(Object.entries(fields).filter(([, held]) => held !== null));
}
