/** The answer to a typed line: bulletins in order, each with why it is there and if it applies. */

import { answer } from "./applies.js";
import { readLine } from "./asking.js";
import { atOnce } from "./atonce.js";
import { KbError } from "./errors.js";
import { canApply, fitting, forUnit } from "./fitting.js";
import { fold } from "./folding.js";
import { KnownNumbers } from "./known.js";
import { Matcher } from "./matching.js";
import { orderFor } from "./partorder.js";
import { plateOf } from "./plate.js";
import { Ranking } from "./ranking.js";
import { Reasons } from "./reasons.js";
import { nothing, otherOf, resultsOf, serialAlone, standing, unitJson } from "./results.js";
import { isElsewhere } from "./subject.js";
import { nearestLines } from "./suggest.js";
import { makeUnit, splitModel } from "./units.js";
import { Wording, plain } from "./wording.js";

/** @typedef {import("./asking.js").Asked} Asked */
/** @typedef {import("./hits.js").Hits} Hits */
/** @typedef {import("./matching.js").Group} Group */
/** @typedef {import("./plate.js").Line} Line */
/** @typedef {import("./records.js").Unit} Unit */
/** @typedef {import("./results.js").Pick} Pick */
/** @typedef {import("../data/house.js").House} House */

/**
 * What a line was read as and what was picked for it; `docs` are all that would be shown.
 * @typedef {object} Picked
 * @property {Asked} asked
 * @property {Unit | null} unit
 * @property {Map<number, Line>} lines
 * @property {Pick[]} picks
 * @property {Set<number>} docs
 */

/**
 * What the words led to; nothing is found where they ask nothing, or not about this trade.
 * @typedef {object} Searched
 * @property {boolean} asksNothing
 * @property {{hits: Hits, groups: Group[]} | null} found
 */

/** Answers typed lines from one house on one day. */
export class Finder {
  /**
   * @param {House} house
   * @param {number} today
   */
  constructor(house, today) {
    this._house = house;
    this._today = today;
    this._wording = new Wording(house);
    this._known = new KnownNumbers(house, today);
    this._matcher = new Matcher(this._wording, house);
    this._ranking = new Ranking(house, this._wording);
    this._reasons = new Reasons(house);
    /** @type {{key: string, lines: Map<number, Line>}} */
    this._plate = { key: "", lines: new Map() };
  }

  /**
   * Return the bulletins that answer a text, those that apply to the unit first. NotFound for an
   * unknown model. What is not in memory throws Missing: ask through `settle`.
   * @param {string} text
   * @param {{model?: string, serial?: string, limit?: number}} [given]
   */
  find(text, { model = "", serial = "", limit = 20 } = {}) {
    const house = this._house;
    const { asked, unit, lines, picks, docs } = this._pick(text, model, serial, limit);
    const shown = picks.slice(0, limit);
    const others = [...lines.values()].filter((line) => canApply(line) && !docs.has(line.card.doc));
    const safety = others.filter(({ card }) => card.kind === "safety");
    const [, results, orders, nearest] = atOnce([
      () => { house.needCards(safety.map(({ card }) => card.doc)); return []; },
      () => resultsOf(house, this._ranking.closer, this._reasons, shown),
      () => this._orders(asked),
      () => (shown.length ? [] : this._nearest(asked, model, serial)),
    ], (/** @type {() => any[]} */ ask) => ask());
    return {
      asked,
      unit: unit && unitJson(unit, house),
      results: /** @type {import("./results.js").Result[]} */ (results),
      others: others.map((line) => otherOf(house, line)),
      safety: safety.map((line) => otherOf(house, line)),
      note: this._note(asked, shown.length > 0),
      nearest: /** @type {string[]} */ (nearest),
      orders: /** @type {ReturnType<typeof orderFor>[]} */ (orders),
    };
  }

  /**
   * @param {string} text
   * @param {string} model
   * @param {string} serial
   * @param {number} limit
   * @returns {Picked}
   */
  _pick(text, model, serial, limit) {
    if (model) splitModel(this._house, model);
    this._needWords(text);
    const asked = readLine(text, this._known, this._wording, model, serial);
    const unit = this._unit(asked, model);
    if (unit) [asked.model, asked.revision] = [unit.model, unit.revision];
    const [lines, numbered, hits] = this._lookUp(asked, unit);
    const worded = this._byWords(asked, lines, hits, limit);
    const every = [...numbered, ...worded.picks];
    if (unit && !every.length && barelyBegun(asked, 2)) every.push(...wholePlate(lines));
    /** @type {Map<number, Pick>} */
    const firsts = new Map();
    for (const pick of every) if (!firsts.has(pick.doc)) firsts.set(pick.doc, pick);
    const docs = new Set([...firsts.keys(), ...worded.docs]);
    return { asked, unit, lines, picks: [...firsts.values()], docs };
  }

  /**
   * Ask at once for what the table says of all words, and for the words that the last one begins.
   * @param {string} text
   */
  _needWords(text) {
    const last = /(?:^|\s)(\p{L}{2,})$/u.exec(text)?.[1] ?? "";
    /** @type {(() => unknown)[]} */
    const needs = [
      () => this._wording.need(text), () => last && this._house.wordsStarting(plain(last)),
    ];
    atOnce(needs, (need) => need());
  }

  /**
   * Return, asked for at once, what can concern the unit, what was asked for by number, and what
   * holds something of the words.
   * @param {Asked} asked
   * @param {Unit | null} unit
   */
  _lookUp(asked, unit) {
    /** @type {[() => Map<number, Line>, () => Pick[], () => Searched]} */
    const asks = [
      () => this._lines(unit), () => this._byNumber(asked, unit), () => this._search(asked),
    ];
    return /** @type {[Map<number, Line>, Pick[], Searched]} */ (
      atOnce(asks, (/** @type {() => any} */ ask) => ask())
    );
  }

  /**
   * @param {Asked} asked
   * @param {string} given
   * @returns {Unit | null}
   */
  _unit(asked, given) {
    if (!asked.model) return null;
    const digit = asked.revision === null ? "" : `/${asked.revision}`;
    return makeUnit(this._house, given || `${asked.model}${digit}`, asked.serial, this._today);
  }

  /**
   * Return what can concern the unit's model, by document, the surest first; kept for the next
   * letter of the same question.
   * @param {Unit | null} unit
   * @returns {Map<number, Line>}
   */
  _lines(unit) {
    if (!unit) return new Map();
    const key = JSON.stringify([unit.model, unit.revision, unit.serial]);
    if (this._plate.key !== key) {
      const { lines } = plateOf(this._house, unit, this._today);
      this._plate = { key, lines: new Map(lines.map((line) => [line.card.doc, line])) };
    }
    return this._plate.lines;
  }

  /**
   * Return the bulletins named by number, whatever their standing, successors behind them.
   * @param {Asked} asked
   * @param {Unit | null} unit
   * @returns {Pick[]}
   */
  _byNumber(asked, unit) {
    /** @type {Map<number, Pick>} */
    const picks = new Map();
    for (let card of atOnce(asked.numbers, (number) => this._house.card(number))) {
      while (card && !picks.has(card.doc)) {
        const verdict = unit && answer(card.where, unit, this._house, this._today);
        const told = [standing(card)];
        picks.set(card.doc, { doc: card.doc, score: 1000, answer: verdict, told, groups: [] });
        card = card.supersededBy ? this._house.card(card.supersededBy) : null;
      }
    }
    return [...picks.values()];
  }

  /**
   * Return what holds something of the words, codes and parts; null where nothing is asked by them,
   * or where they are about a thing of which no bulletin speaks.
   * @param {Asked} asked
   * @returns {Searched}
   */
  _search(asked) {
    const { words, codes, parts, quotes, model } = asked;
    const nothingAsked = !(words.length || codes.length || parts.length || quotes.length);
    if (nothingAsked || (model && barelyBegun(asked, 1))) return { asksNothing: true, found: null };
    const [elsewhere, groups, related] = atOnce([
      () => isElsewhere(asked, this._house, this._wording),
      () => this._matcher.groups(words, asked.unfinished),
      () => this._numbers(parts),
    ], (/** @type {() => any} */ ask) => ask());
    if (elsewhere) return { asksNothing: false, found: null };
    const hits = this._ranking.rank(asked, groups, related);
    return { asksNothing: false, found: { hits, groups } };
  }

  /**
   * Return what the words find: at most `limit` picks, and all documents that would be shown.
   * @param {Asked} asked
   * @param {Map<number, Line>} lines  of the unit; a unit is known where a model is
   * @param {Searched} searched
   * @param {number} limit
   * @returns {{picks: Pick[], docs: number[]}}
   */
  _byWords(asked, lines, { asksNothing, found }, limit) {
    if (!found) {
      const picks = asksNothing && !asked.numbers.length ? wholePlate(lines) : [];
      return { picks, docs: picks.map(({ doc }) => doc) };
    }
    const { hits, groups } = found;
    const docs = asked.model ? forUnit(hits, asked, lines, this._wording)
      : fitting(hits, asked, this._ranking, limit);
    const picks = docs.slice(0, limit).map((doc) => ({
      doc,
      score: hits.score[doc],
      answer: lines.get(doc)?.answer ?? null,
      told: hits.told.get(doc) ?? [],
      groups,
    }));
    return { picks, docs };
  }

  /**
   * @param {string[]} parts
   * @returns {Map<string, number>}
   */
  _numbers(parts) {
    const factor = this._wording.weights.substitution;
    const related = atOnce(parts, (part) => this._house.relatedNumbers(fold(part)));
    /** @type {Map<string, number>} */
    const found = new Map();
    for (const [number, steps] of related.flat()) {
      found.set(number, Math.max(found.get(number) ?? 0, factor ** steps));
    }
    return found;
  }

  /** @param {Asked} asked */
  _orders({ parts, model, serial }) {
    return atOnce(parts, (part) => {
      try {
        return [orderFor(this._house, part, model, serial, this._today)];
      } catch (error) {
        if (error instanceof KbError) return [];
        throw error;
      }
    }).flat();
  }

  /**
   * @param {Asked} asked
   * @param {boolean} isFound
   */
  _note(asked, isFound) {
    if (asked.serial && !asked.model) {
      return serialAlone(asked.serial, this._known.familiesOfSerial(fold(asked.serial)));
    }
    return isFound ? "" : nothing(asked);
  }

  /**
   * @param {Asked} asked
   * @param {string} model
   * @param {string} serial
   */
  _nearest(asked, model, serial) {
    if (isElsewhere(asked, this._house, this._wording)) return [];
    return nearestLines({
      wording: this._wording,
      house: this._house,
      groups: (words, unfinished) => this._matcher.groups(words, unfinished),
      count: (line) => this._pick(line, model, serial, 1).picks.length,
    }, asked);
  }
}

/**
 * Return everything for a unit, as where nothing but its plate was typed.
 * @param {Map<number, Line>} lines
 * @returns {Pick[]}
 */
function wholePlate(lines) {
  return [...lines.values()].filter(canApply).map(({ card, answer: verdict }) => (
    { doc: card.doc, score: 0, answer: verdict, told: [verdict.why], groups: [] }
  ));
}

/**
 * Tell whether all that is asked is a word of which at most so many letters are typed.
 * @param {Asked} asked
 * @param {number} letters
 */
function barelyBegun({ words, unfinished, codes, parts, quotes, numbers }, letters) {
  const other = codes.length || parts.length || quotes.length || numbers.length;
  return unfinished && !other && [...words.join("")].length <= letters;
}
