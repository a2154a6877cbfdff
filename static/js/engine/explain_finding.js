// @ts-check
/**
 * The finding in one line, and why: every reason of the rule that decided, in plain words.
 *
 * @import { Sentence } from './types.js'
 * @import { Case } from './sentences.js'
 */
import { runWords } from './months.js';
import { r9 } from './numbers.js';
import { isVeryFar } from './rules.js';
import { listed, names, number, oneIn, reads, sentence } from './sentences.js';
import { ACCESS } from './sheet.js';

/**
 * Claim and finding in one line: the word alone would be taken for a certificate.
 * @param {Case} told @returns {Sentence[]}
 */
export const tellFinding = (told) => [sentence('finding', `${claimed(told)} ${finding(told)} ${looked(told)}`)];

/** @param {Case} told */
function claimed({ model, verdict }) {
  const [claim, window] = [runWords(verdict.claimed), runWords(verdict.window)];
  if (verdict.claimed.every((month, i) => month === verdict.window[i])) return `Claimed ${claim}.`;
  return `Claimed ${claim}; the reference covers ${runWords(model.covers)}, so ${window} was judged.`;
}

/** @param {Case} told */
function finding({ verdict }) {
  const months = reads(verdict.reads_as);
  switch (verdict.verdict) {
    case 'agrees':
      return `What was seen agrees with ${months}.`;
    case 'agrees-with-changes':
      return `What was seen agrees with ${months}; some parts do not.`;
    case 'in-doubt':
      return `What was seen reads as ${months}, with doubt about the claim.`;
    case 'disagrees':
      return `What was seen reads as ${months}, not as the months claimed.`;
    default:
      if (!verdict.speaking) return 'Too little was seen to tell.';
      return `Too little was seen to tell; so far it reads as ${months}.`;
  }
}

/** @param {Case} told */
function looked({ seen, witnesses }) {
  const furthest = Math.max(0, ...seen.map((point) => ACCESS.indexOf(point.json.access)));
  const how = ['by eye only, nothing opened', 'nothing opened', 'opened'][furthest];
  return `${seen.length} of ${witnesses.length} ${witnesses.length === 1 ? 'point' : 'points'} looked at; ${how}.`;
}

// Why

/** @param {string} text @param {string[]} points */
const because = (text, points = []) => sentence('why', text, points);

/** What is said for each reason. @type {Record<string, (told: Case) => Sentence>} */
const WHY = {
  'two-against': () =>
    because(
      'Only two of the things looked at speak for a time, but together they fit another time ' +
        'more than 32 times better than the claim.',
    ),
  dates: () =>
    because(
      'Another time fits what was seen more than 32 times better than the claim does, and still ' +
        'more than eight times better whichever one thing is left out.',
    ),
  whole: () => because('The claim takes in all that the reference covers: there is nothing to hold it against.'),
  blunt: () => because('Of the years around the claim, less than half can be ruled out by what was seen.'),
  even: () => because('The claim fits what was seen less than twice as well as the years around it do.'),
  'all-fit': () => because('The months hold, and every part that was looked at fits them.'),
  few: whyFew,
  'dates-doubt': whyDatesDoubt,
  apart: whyApart,
  'never-changed': whyNeverChanged,
  count: (told) =>
    because(
      'More parts do not fit than is usual: of genuine instruments of this age, ' +
        `${oneIn(told.verdict.changed_count.tail)} as many.`,
      told.found,
    ),
  'not-enough': ({ verdict }) =>
    because(
      `So far ${number(verdict.speaking)} of the things looked at speak for a time, and ` +
        'they do not go against the claim; five are the least to say that it agrees.',
    ),
  'some-parts': ({ found }) =>
    found.length
      ? because('The months hold; some parts do not fit them, too few to doubt the claim.', found)
      : because('The months hold, and every part that does not fit was declared.'),
};

/** Every reason of the rule that decided. @param {Case} told @returns {Sentence[]} */
export const tellWhy = (told) => told.verdict.because.map((reason) => WHY[reason](told));

/** @param {Case} told */
function whyFew({ verdict }) {
  const count = verdict.speaking;
  const some = `Only ${number(count)} of the things looked at ${count === 1 ? 'speaks' : 'speak'}`;
  return because(`${count ? some : 'Nothing speaks'} for a time so far; three are the least for a finding.`);
}

/** @param {Case} told */
function whyDatesDoubt({ model, verdict }) {
  if (isVeryFar(model.rules, verdict.ratio_to_best)) {
    return because(
      'Another time fits what was seen much better than the claim does, but that hangs on ' +
        'one thing: without it the difference is small.',
    );
  }
  return because(
    'Another time fits what was seen more than eight times better than the claim does: enough ' +
      'for a doubt, too little to say more.',
  );
}

/** @param {Case} told */
function whyApart({ verdict }) {
  const parts = listed(verdict.apart.map((assembly) => `the ${assembly}`));
  const [verb, itself] = verdict.apart.length === 1 ? ['speaks', 'itself'] : ['speak', 'themselves'];
  return because(`By ${itself}, ${parts} ${verb} for another time than the claim.`);
}

/** @param {Case} told */
function whyNeverChanged(told) {
  const { model, found } = told;
  const rare = found.filter((id) => r9(model.byId.get(id)?.json.changed ?? 1) <= model.rules.never_changed);
  return because(`Hardly ever changed, and ${rare.length === 1 ? 'does' : 'do'} not fit the claim: ${names(told, rare)}.`, rare);
}
