// @ts-check
// Made by `python -m tests.vectors.make_tables`; change the Python it comes from, not this.
/** Symbols of whoever made a part. */
/** Registered symbol: what it is met on, and how well that is known. @type {Readonly<Record<string, string>>} */
export const USUAL = {
  "137": "said to be met on potentiometers (reported by others)",
  "220": "said to be met on loudspeakers (reported by others)",
  "285": "said to be met on loudspeakers (reported by others)",
  "575": "said to be met on loudspeakers (reported by others)",
  "328": "said to be met on loudspeakers (reported by others)",
  "391": "said to be met on loudspeakers (reported by others)",
  "649": "said to be met on loudspeakers (reported by others)",
  "188": "said to be met on tubes, loudspeakers, components (reported by others)",
  "190": "said to be met on components (reported by others)",
  "106": "said to be met on resistors, potentiometers (from memory: check before you rely on it)",
  "134": "said to be met on potentiometers, switches, ceramic capacitors (from memory: check before you rely on it)",
  "140": "said to be met on potentiometers (from memory: check before you rely on it)",
  "235": "said to be met on capacitors, potentiometers, switches (from memory: check before you rely on it)",
  "270": "said to be met on loudspeakers (from memory: check before you rely on it)",
  "274": "said to be met on tubes, components (from memory: check before you rely on it)",
  "280": "said to be met on tubes (from memory: check before you rely on it)",
  "304": "said to be met on potentiometers, switches (from memory: check before you rely on it)",
  "312": "said to be met on tubes (from memory: check before you rely on it)",
  "322": "said to be met on tubes (from memory: check before you rely on it)",
  "336": "said to be met on tubes, transformers (from memory: check before you rely on it)",
  "337": "said to be met on tubes, components (from memory: check before you rely on it)",
  "343": "said to be met on components (from memory: check before you rely on it)",
  "381": "said to be met on potentiometers (from memory: check before you rely on it)",
  "465": "said to be met on loudspeakers (from memory: check before you rely on it)",
  "606": "said to be met on transformers (from memory: check before you rely on it)",
  "830": "said to be met on transformers (from memory: check before you rely on it)",
  "918": "said to be met on loudspeakers (from memory: check before you rely on it)"
};
