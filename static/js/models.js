// @ts-check
/** @import { Model } from './engine/types.js' */
import { compileModel } from './engine/model.js';

/** @param {string} hash  of the edition @returns {Promise<Model>} */
export async function modelOf(hash) {
  const reply = await fetch(`/references/${hash.slice(0, 16)}/model.json`);
  if (!reply.ok) throw new Error(`the reference is not on this device (${reply.status})`);
  return compileModel(await reply.json());
}
