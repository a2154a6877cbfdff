// @ts-check
/**
 * What the modules of the engine hand to each other. No code: only the shapes of things.
 *
 * @import { Months } from './months.js'
 * @import { SerialPattern } from './serials.js'
 */

/**
 * The constants of the arithmetic, from model.json; each with its reason in the Python engine.
 * @typedef {object} Rules
 * @property {number} later_production
 * @property {number} other_weight
 * @property {number} misread_sure
 * @property {number} misread_unsure
 * @property {number} measure_steps
 * @property {number} step_decimals
 * @property {number} code_lead
 * @property {number} kappa
 * @property {number} speaks
 * @property {number} interval
 * @property {number} around
 * @property {number} fair
 * @property {number} strong
 * @property {number} equally
 * @property {number} likely
 * @property {number} lasting
 * @property {number} fewest_lasting
 * @property {number} never_changed
 * @property {number} rare_tail
 * @property {number} fewest_doubt
 * @property {number} fewest
 * @property {number} enough
 * @property {number} ruled_out
 * @property {number} bayes_factor
 * @property {number} look_bins
 * @property {Record<string, [number, number]>} states
 * @property {string[]} not_seen
 * @property {string} still_open
 * @property {number[]} lags
 */

/**
 * Fields that hold nothing are absent.
 * @typedef {object} VariantJson
 * @property {string} id
 * @property {string} label
 * @property {string} [picture]
 * @property {number} [first]
 * @property {number} [last]
 * @property {[number, number][]} [knots]
 * @property {number} [mean]
 * @property {number} [spread]
 * @property {[number, number]} [block]
 * @property {number} [odds]
 * @property {boolean} [silent]
 * @property {boolean} [border]
 * @property {number} [if_changed]
 */

/** Whole numbers in a row; [n, k] stands for k times n. @typedef {(number | [number, number])[]} Runs */
/** @typedef {'look' | 'handle' | 'open'} Access */

/**
 * @typedef {object} PointJson
 * @property {string} id
 * @property {string} [name]
 * @property {string} area
 * @property {string} assembly
 * @property {'pick' | 'measure' | 'serial' | 'datecode' | 'sign'} kind
 * @property {string} place
 * @property {Access} access
 * @property {string} ask
 * @property {string[]} [tools]
 * @property {number} minutes
 * @property {number} changed
 * @property {string} [changed_with]
 * @property {number} other
 * @property {number} [other_if_changed]
 * @property {string} [unit]
 * @property {[number, number]} [span]
 * @property {number} [tolerance]
 * @property {string} [pattern]
 * @property {string} [scheme]
 * @property {string[]} [bears_on]
 * @property {boolean} [many]
 * @property {VariantJson[]} [seen]
 * @property {Runs[]} [made]
 */

/**
 * model.json
 * @typedef {object} ModelJson
 * @property {number} format
 * @property {number} rules
 * @property {string} id
 * @property {string} title
 * @property {string} hash
 * @property {string} edition
 * @property {Months} covers
 * @property {number | null} kappa
 * @property {Runs} weights
 * @property {Record<string, { label: string, changed: number }>} sets
 * @property {Record<string, { own?: string[], others?: string[] }>} disclosures
 * @property {Rules} constants
 * @property {PointJson[]} points
 */

/**
 * A point with its tables; `witness`: whether an answer can speak for months at all.
 * @typedef {object} Point
 * @property {PointJson} json
 * @property {string} id
 * @property {number} place  in the reference's order
 * @property {boolean} witness
 * @property {string} group  its set, "codes", or itself
 * @property {number} together  γ
 * @property {boolean} lasting
 * @property {VariantJson[]} seen
 * @property {Set<string>} bearsOn
 * @property {Float64Array[]} made  U, one row a variant, "other" last
 * @property {(row: number) => Float64Array} later  Q, by the row
 * @property {[number, number][]} normals  mean and deviation of each variant measured
 * @property {SerialPattern | null} pattern
 */

/**
 * @typedef {object} Model
 * @property {ModelJson} json
 * @property {Rules} rules
 * @property {Months} covers
 * @property {number} months  T
 * @property {Float64Array} weights  w
 * @property {Point[]} points
 * @property {Map<string, Point>} byId
 */

/**
 * One answer, checked; months and number are what a marking read means.
 * @typedef {object} Answer
 * @property {string[]} seen
 * @property {number | null} value  in the point's unit
 * @property {string | null} read
 * @property {boolean} sure
 * @property {string | null} state
 * @property {string | null} not_seen
 * @property {string} note
 * @property {string[]} where
 * @property {number[]} months
 * @property {number} number  -1: none
 */

/**
 * One instrument's answers, checked against its reference.
 * @typedef {object} Sheet
 * @property {Months} claimed
 * @property {Months} window
 * @property {string} claim_words
 * @property {boolean} nothing_changed
 * @property {Access} access
 * @property {Set<string> | null} tools
 * @property {string} serial_text
 * @property {{ place: string, kind: string, mm: number }[]} marks
 * @property {string[]} disclosures
 * @property {Map<string, Answer>} answers
 */

/** First and last index of months, both inclusive. @typedef {[number, number]} Run */

/** @typedef {{ changed: number, fits: number, leaning: string }} PartFit */
/** @typedef {{ points: number, ratio_to_best: number, reads_as: Months[] }} AssemblyFit */
/** @typedef {{ point: string, window_bits: number, date_bits: number, minutes: number }} NextLook */

/**
 * What was found; months are numbers, ids stand in the reference's order.
 * @typedef {object} Verdict
 * @property {string} verdict
 * @property {Months} claimed
 * @property {Months} window
 * @property {number} rules
 * @property {number} groups
 * @property {number} speaking
 * @property {number} temper
 * @property {number} likeliest
 * @property {Months[]} reads_as
 * @property {Months} equally
 * @property {number} ratio_to_best
 * @property {number | null} bayes_factor
 * @property {number} in_window
 * @property {number} ruled_out
 * @property {string[]} flagged
 * @property {string[]} odd
 * @property {string[]} declared
 * @property {string[]} apart
 * @property {Map<string, AssemblyFit>} assemblies
 * @property {{ window: Months, flagged: string[] }} best_window
 * @property {{ expected: number, usual: number, tail: number }} changed_count
 * @property {Map<string, PartFit>} points
 * @property {Float64Array} posterior
 * @property {string[]} because  every reason of the rule that decided
 */

/** One thing to say, what it is about, and the points that it names. @typedef {{ about: string, text: string, points: string[] }} Sentence */

export {};
