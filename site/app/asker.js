/** Questions to the worker that answers them: numbered, answered, or dropped for a newer one. */

/**
 * A reply: its value, or what is wrong and what to do about it.
 * @typedef {{id: number, value?: any, error?: {message: string, remedy: string}}} Reply
 */

/** @typedef {{done: (value: any) => void, fail: (error: Refused) => void, kind: string}} Waiting */

const NO_WORKER = [
  "Search needs the web address of this site",
  "the ways in below work here too",
];
const LOST = ["The search could not be loaded", "check the connection and try again"];

/** A question that has no answer: what is wrong, and what to do about it. */
export class Refused extends Error {
  /**
   * @param {string} message
   * @param {string} remedy
   */
  constructor(message, remedy) {
    super(message);
    this.remedy = remedy;
  }
}

/** One worker and the questions put to it. */
export class Asker {
  /**
   * @param {string} address  of the worker's script
   * @param {string} root  of the site
   * @param {string} start  path of the piece of data to begin with, "" where it must be looked up
   */
  constructor(address, root, start) {
    this.address = address;
    this.opening = { root, start };
    /** @type {Worker | null} */
    this.worker = null;
    this.last = 0;
    /** @type {Map<number, Waiting>} */
    this.waiting = new Map();
  }

  /**
   * Return the answer to a question. A question of kind "find" that a newer one overtakes is
   * answered with null. Refused where it cannot be answered.
   * @param {string} kind
   * @param {Record<string, unknown>} fields
   * @returns {Promise<any>}
   */
  ask(kind, fields) {
    return new Promise((done, fail) => {
      if (kind === "find") this.overtake();
      const worker = this.started();
      if (!worker) return fail(new Refused(NO_WORKER[0], NO_WORKER[1]));
      this.put(worker, kind, fields, { done, fail, kind });
    });
  }

  /**
   * @param {Worker} worker
   * @param {string} kind
   * @param {Record<string, unknown>} fields
   * @param {Waiting} waiting
   */
  put(worker, kind, fields, waiting) {
    this.last += 1;
    this.waiting.set(this.last, waiting);
    worker.postMessage({ ...fields, id: this.last, kind });
  }

  /** A newer question takes the place of those that still wait. */
  overtake() {
    for (const [id, { kind, done }] of this.waiting) {
      if (kind !== "find") continue;
      this.waiting.delete(id);
      done(null);
    }
  }

  /** @returns {Worker | null} */
  started() {
    try {
      this.worker ??= this.start();
    } catch {
      // Browsers refuse workers to pages opened from a disk.
    }
    return this.worker;
  }

  start() {
    const worker = new Worker(this.address);
    worker.addEventListener("message", ({ data }) => this.answer(data));
    worker.addEventListener("error", (event) => {
      event.preventDefault();
      this.lose();
    });
    const nothing = { done: () => undefined, fail: () => undefined };
    this.put(worker, "open", this.opening, { ...nothing, kind: "open" });
    void this.fetchStart().then((bytes) => {
      if (worker !== this.worker) return;
      this.put(worker, "first", { bytes }, { ...nothing, kind: "first" });
    });
    return worker;
  }

  /** Fetch what the worker begins with while its script is on its way; null where that fails. */
  async fetchStart() {
    const { root, start } = this.opening;
    if (!start) return null;
    const reply = await fetch(new URL(start, root)).catch(() => null);
    return reply?.ok ? reply.arrayBuffer().catch(() => null) : null;
  }

  /** @param {Reply} reply */
  answer({ id, value, error }) {
    const waiting = this.waiting.get(id);
    this.waiting.delete(id);
    if (error) waiting?.fail(new Refused(error.message, error.remedy));
    else waiting?.done(value);
  }

  /** The worker's script did not come or broke: say so, and start anew with the next question. */
  lose() {
    const lost = [...this.waiting.values()];
    this.worker?.terminate();
    this.worker = null;
    this.waiting.clear();
    const disk = location.protocol === "file:";
    for (const { fail } of lost) fail(new Refused(...pair(disk ? NO_WORKER : LOST)));
  }
}

/** @param {string[]} words @returns {[string, string]} */
function pair([message, remedy]) {
  return [message, remedy];
}

/**
 * Return who answers questions of this page; the worker starts with the first one.
 * @param {string} root  the way from the page up to the site, as body[data-root]
 * @param {string} start  as body[data-start]
 */
export function openAsker(root, start) {
  const site = new URL(root || ".", document.baseURI).href;
  return new Asker(document.body.dataset.worker ?? "", site, start);
}

/** @type {Asker | undefined} */
let common;

/** @returns {Asker} the one asker of this page */
function asker() {
  const { root = "", start = "" } = document.body.dataset;
  common ??= openAsker(root, start);
  return common;
}

/** Start the worker before the first question, so that its answer comes the sooner. */
export function warmUp() {
  asker().started();
}

/**
 * Put a question to the one asker of this page.
 * @param {string} kind
 * @param {Record<string, unknown>} fields
 * @returns {Promise<any>}
 */
export function ask(kind, fields) {
  return asker().ask(kind, fields);
}
