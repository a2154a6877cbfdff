// @ts-check
/** What no card can say: the words of a fault are the engine's, the kind is the card's own. */
import { FaultsError } from '../engine/errors.js';

/** A card that can't be made. */
export class CardError extends FaultsError {}

/** @param {string} where @param {string} expected @param {string} came @param {string} remedy */
export const noCard = (where, expected, came, remedy) => new CardError([{ where, expected, came, remedy }]);
