// @ts-check
/** A card's bytes as decimal digits, and the lower-case address that ends in them. */
import { noCard } from './errors.js';
import { LARGEST } from './tables.js';

/** The number written by the byte 1, which keeps leading zeros, and then the bytes. @param {Uint8Array} data */
export function digits(data) {
  if (data.length > LARGEST) {
    const remedy = 'The reference has too many points for one code; issue a card for fewer.';
    throw noCard('card', `at most ${LARGEST} bytes`, String(data.length), remedy);
  }
  const hex = [...data].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return BigInt(`0x01${hex}`).toString();
}

/** The address of a card, for a base like https://cards.example @param {string} base @param {Uint8Array} data */
export const cardUrl = (base, data) => `${base.replace(/\/+$/, '')}/c/${digits(data)}`;
