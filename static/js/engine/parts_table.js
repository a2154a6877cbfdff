// @ts-check
// Made by `python -m tests.vectors.make_tables`; change the Python it comes from, not this.
/** Symbols of whoever made a part. */
/** Registered symbol: what it is met on, and how well that is known. @type {Readonly<Record<string, string>>} */
export const USUAL = {
  "137": "potentiometers (reported by others)",
  "220": "loudspeakers (reported by others)",
  "285": "loudspeakers (reported by others)",
  "575": "loudspeakers (reported by others)",
  "328": "loudspeakers (reported by others)",
  "391": "loudspeakers (reported by others)",
  "649": "loudspeakers (reported by others)",
  "188": "tubes, loudspeakers, components (reported by others)",
  "190": "components (reported by others)",
  "106": "resistors, potentiometers (from memory: check before you rely on it)",
  "134": "potentiometers, switches, ceramic capacitors (from memory: check before you rely on it)",
  "140": "potentiometers (from memory: check before you rely on it)",
  "235": "capacitors, potentiometers, switches (from memory: check before you rely on it)",
  "270": "loudspeakers (from memory: check before you rely on it)",
  "274": "tubes, components (from memory: check before you rely on it)",
  "280": "tubes (from memory: check before you rely on it)",
  "304": "potentiometers, switches (from memory: check before you rely on it)",
  "312": "tubes (from memory: check before you rely on it)",
  "322": "tubes (from memory: check before you rely on it)",
  "336": "tubes, transformers (from memory: check before you rely on it)",
  "337": "tubes, components (from memory: check before you rely on it)",
  "343": "components (from memory: check before you rely on it)",
  "381": "potentiometers (from memory: check before you rely on it)",
  "465": "loudspeakers (from memory: check before you rely on it)",
  "606": "transformers (from memory: check before you rely on it)",
  "830": "transformers (from memory: check before you rely on it)",
  "918": "loudspeakers (from memory: check before you rely on it)"
};
