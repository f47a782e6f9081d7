/** Following a part number, for one model, to what can be ordered in its place. */

import { branchOf, differ, merged, notYet, remark, together, waiting } from "./branches.js";
import { fold } from "./folding.js";
import { fits } from "./modelsets.js";
import { moves } from "./partlist.js";

/** @typedef {import("./branches.js").Branch} Branch */
/** @typedef {import("./partlist.js").Catalogue} Catalogue */
/** @typedef {import("./records.js").PartRow} PartRow */
/** @typedef {import("./records.js").KitRow} KitRow */

/**
 * A number (folded) that is followed, and how many of it are needed.
 * @typedef {{number: string, quantity: number}} Wanted
 */

/** @typedef {Generator<Wanted, Branch[], Branch[]>} Work */

const NONE_LEFT = "is gone and nothing that can be ordered takes its place";

/** Stands for all models that no row names, where the models of the house are not known. */
export const ANY_OTHER = "\u0002";

/**
 * Return what to order for a number and a model; nothing if the number is unknown. There is more
 * than one branch where several rows speak for the model. A successor that leads back to a number
 * on the way to it counts as one that cannot be had.
 * @param {Catalogue} catalogue
 * @param {string} number
 * @param {string} model
 */
export function follow(catalogue, number, model) {
  return new Follower(catalogue, model).run({ number: fold(number), quantity: 1 });
}

/** Walks one number's successors and contents. A stack of its own lets chains be long. */
class Follower {
  /**
   * @param {Catalogue} catalogue
   * @param {string} model
   */
  constructor(catalogue, model) {
    this.catalogue = catalogue;
    this.model = model;
    /** @type {Map<string, Branch[]>} */
    this.known = new Map();
    /** @type {Set<string>} */
    this.onTheWay = new Set();
  }

  /**
   * @param {Wanted} wanted
   * @returns {Branch[]}
   */
  run(wanted) {
    const stack = [this.begun(wanted)];
    /** @type {Branch[]} */
    let answer = [];
    while (stack.length) {
      const now = stack[stack.length - 1];
      const { done, value } = now.work.next(answer);
      if (done) {
        answer = value;
        this.known.set(keyOf(now.wanted), answer);
        this.onTheWay.delete(now.wanted.number);
        stack.pop();
        continue;
      }
      const known = this.known.get(keyOf(value));
      if (known) answer = known;
      else stack.push(this.begun(value));
    }
    return answer;
  }

  /** @param {Wanted} wanted */
  begun(wanted) {
    this.onTheWay.add(wanted.number);
    return { wanted, work: this.visit(wanted) };
  }

  /**
   * @param {Wanted} wanted
   * @returns {Work}
   */
  *visit(wanted) {
    const branches = [];
    for (const { row, remarks } of this.speaking(wanted.number)) {
      for (const branch of yield* this.row(row, wanted)) {
        branches.push({ ...branch, notes: [...remark(row), ...remarks, ...branch.notes] });
      }
    }
    return branches.length ? merged(branches) : this.unfitted(wanted.number);
  }

  // Which rows speak

  /**
   * Return the rows that decide, each with the notes of the rows beside it.
   * @param {string} number
   */
  speaking(number) {
    return this.groups(number).flatMap((rows) => {
      const moving = rows.filter((row) => row.relation !== "changed" || moves(row));
      const deciding = moving.length ? moving : rows.slice(0, 1);
      const remarks = rows.filter((row) => !deciding.includes(row)).flatMap(remark);
      return deciding.map((row) => ({ row, remarks }));
    });
  }

  /**
   * Return the rows for the model, those that are limited alike together. A row without models
   * speaks for the models that no limited row names.
   * @param {string} number
   */
  groups(number) {
    /** @type {Map<string, PartRow[]>} */
    const groups = new Map();
    for (const row of this.catalogue.rows(number)) {
      const key = JSON.stringify(row.models.map(fold).sort());
      groups.set(key, [...(groups.get(key) ?? []), row]);
    }
    const general = groups.get("[]");
    const limited = [...groups.values()].filter((rows) => fits(rows[0].models, this.model));
    return limited.length || !general ? limited : [general];
  }

  /**
   * Return a branch that says so where no row of a known number fits the model.
   * @param {string} number
   */
  unfitted(number) {
    const rows = this.catalogue.rows(number);
    const listed = [...new Set(rows.flatMap((row) => row.models))].join(", ");
    const model = this.model === ANY_OTHER ? "other models" : this.model;
    const told = `is listed for ${listed}, not for ${model}`;
    return rows.slice(0, 1).map((row) => branchOf({ notes: [`${row.number} ${told}`] }));
  }

  // What one row leads to

  /**
   * @param {PartRow} row
   * @param {Wanted} wanted
   * @returns {Work}
   */
  *row(row, wanted) {
    if (row.status === "pending") return [branchOf({ notes: [notYet(row)], waitsFor: row })];
    if (!moves(row)) return yield* this.itself(row, wanted, []);
    const after = this.catalogue.find(row.replacedBy);
    const problem = this.problem(row, after);
    if (!after || problem) return yield* this.itself(row, wanted, [problem]);
    const branches = [];
    const next = { number: fold(after.number), quantity: this.quantity(row, wanted.quantity) };
    for (const branch of yield next) {
      if (branch.lines.length && !this.looseAgain(row, branch)) {
        branches.push(this.taken(row, after, branch));
      } else {
        const own = yield* this.itself(row, wanted, branch.notes);
        branches.push(...own.map((mine) => waiting(mine, row, branch)));
      }
    }
    return branches;
  }

  /**
   * Return why the next number is no help, or nothing.
   * @param {PartRow} row
   * @param {PartRow | undefined} after
   */
  problem(row, after) {
    if (!after) return `${row.replacedBy}, said to replace ${row.number}, is not in parts.csv`;
    if (!this.onTheWay.has(fold(after.number))) return "";
    return `${after.number}, said to replace ${row.number}, leads back to it`;
  }

  /**
   * Return how many of the next are needed: a kit may hold several of the part.
   * @param {PartRow} row
   * @param {number} needed
   */
  quantity(row, needed) {
    const held = row.relation === "kit" ? this.catalogue.held(row.replacedBy, row.number) : 1;
    return Math.ceil(needed / Math.max(held, 1));
  }

  /**
   * Tell whether a branch dissolves the very kit that the part was sold in.
   * @param {PartRow} row
   * @param {Branch} branch
   */
  looseAgain(row, branch) {
    const held = row.relation === "kit" && this.catalogue.held(row.replacedBy, row.number) > 0;
    return held && branch.opened.includes(fold(row.replacedBy));
  }

  /**
   * @param {PartRow} row
   * @param {PartRow} after
   * @param {Branch} branch
   * @returns {Branch}
   */
  taken(row, after, branch) {
    const relation = row.relation || "forward"; // unsaid: the safer of the two
    const step = { from: row.number, to: after.number, relation, since: row.since };
    const note = relation === "kit" ? [this.kitNote(row, after)] : [];
    return { ...branch, steps: [step, ...branch.steps], notes: [...note, ...branch.notes] };
  }

  /**
   * @param {PartRow} row
   * @param {PartRow} kit
   */
  kitNote(row, kit) {
    const held = this.catalogue.contents(kit.number).map((line) => this.named(line)).join(", ");
    const said = `${row.number} is sold only in kit ${kit.number}`;
    return held ? `${said}, which holds ${held}` : said;
  }

  /** @param {KitRow} line */
  named(line) {
    const part = this.catalogue.find(line.number);
    const name = part?.name ? ` ${part.name}` : "";
    return `${line.quantity} × ${part ? part.number : line.number}${name}`;
  }

  // Where the number stands for itself

  /**
   * Order the number itself, open it if it is a kit that is gone, or say that it is gone.
   * @param {PartRow} row
   * @param {Wanted} wanted
   * @param {string[]} why
   * @returns {Work}
   */
  *itself(row, wanted, why) {
    if (row.status === "current" || row.status === "running-out") {
      return [branchOf({ lines: [{ part: row, quantity: wanted.quantity }], notes: why })];
    }
    const contents = this.catalogue.contents(row.number);
    if (contents.length) {
      const branch = yield* this.opened(row, wanted, contents);
      const notes = [...why, ...branch.notes];
      const left = branch.lines.length ? branch : branchOf({ coming: branch.coming });
      return [{ ...left, notes }];
    }
    const end = why.length ? NONE_LEFT : "is gone and nothing takes its place";
    const before = why.filter((note) => !note.endsWith(NONE_LEFT)); // said once is enough
    return [branchOf({ notes: [...before, `${row.number} ${end}`] })];
  }

  /**
   * Return one branch with all that stands for the contents of a kit.
   * @param {PartRow} kit
   * @param {Wanted} wanted
   * @param {KitRow[]} contents
   * @returns {Generator<Wanted, Branch, Branch[]>}
   */
  *opened(kit, wanted, contents) {
    /** @type {Branch[]} */
    const found = [];
    const missing = [];
    let choose = false;
    for (const held of contents) {
      const part = this.catalogue.find(held.number);
      const number = fold(held.number);
      const followed = part && !this.onTheWay.has(number);
      const inside = followed ? yield { number, quantity: held.quantity * wanted.quantity } : [];
      if (!inside.some((branch) => branch.lines.length)) {
        const shown = part ? part.number : held.number;
        missing.push(`${shown}, held by kit ${kit.number}, cannot be ordered`);
      }
      choose ||= differ(inside);
      found.push(...inside);
    }
    const end = found.some((branch) => branch.lines.length)
      ? ": what it held is ordered instead"
      : " and nothing that it held can be ordered";
    return together(kit, found, [`kit ${kit.number} is gone${end}`, ...missing], choose);
  }
}

/** @param {Wanted} wanted */
function keyOf(wanted) {
  return `${wanted.quantity} ${wanted.number}`;
}
