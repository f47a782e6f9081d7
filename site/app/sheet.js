/** The ticks of a bulletin: kept on the phone, laid on today's checks, started over and undone. */

import { dayOf } from "./calendar.js";
import { button, make } from "./elements.js";
import { linesOf } from "./hand.js";
import { checkOf, drawSteps, stepOf } from "./steps.js";
import { isBlank, jobOf, lay, markOf, noJob, origin, readJob, tally, tallyLine } from "./ticks.js";

/** @typedef {import("./ticks.js").Job} Job */
/** @typedef {import("./ticks.js").Laid} Laid */
/** @typedef {import("./ticks.js").State} State */

const REFUSED = "This phone keeps nothing for the page: ticks last until you leave it.";
const TWICE = "Ticks were changed in another window: they are shown as they are there.";

/** One bulletin's sheet as it is worked through. */
export class Sheet {
  /**
   * @param {HTMLElement} article
   * @param {() => string} unit  tells the plate that the page stands for, "" for none
   */
  constructor(article, unit) {
    this.key = `fb-job-${article.dataset.bulletin}`;
    this.edition = article.dataset.edition ?? "";
    this.unit = unit;
    const set = this.set.bind(this);
    const items = [.../** @type {NodeListOf<HTMLElement>} */ (article.querySelectorAll(".step"))];
    this.checks = items.map(checkOf);
    this.steps = items.map((item, at) => stepOf(item, at, set));
    this.lines = linesOf(article, () => this.ticked());
    /** @type {Job | null} what "Undo" brings back */
    this.undo = null;
    this.trouble = "";
    this.notes = make("div", { class: "told" });
    this.line = make("p", { role: "status" });
    this.again = button("Start over", () => this.over());
    this.place(article);
    this.take(readJob(this.stored()));
    addEventListener("storage", (event) => {
      if (event.key === this.key || event.key === null) this.elsewhere();
    });
  }

  /** Put the line with the count, and the notes, where the ticks are. @param {Element} article */
  place(article) {
    const section = article.querySelector("#checks") ?? article.querySelector("#parts");
    if (!section || this.steps.length + this.lines.length === 0) return;
    section.querySelector("h2")?.after(this.notes);
    section.append(make("div", { class: "tally" }, this.line, this.again));
  }

  /** Lay a job on the page. @param {Job} job */
  take(job) {
    this.job = job;
    this.laid = lay(job, this.checks);
    for (const { key, box } of this.lines) box.checked = job.hand.includes(key);
    this.draw();
  }

  /** A check was given this state by a tap. @param {number} at @param {State} state */
  set(at, state) {
    const laid = /** @type {Laid} */ (this.laid);
    laid.states[at] = state;
    laid.marks[at] = markOf(this.checks[at].said);
    this.ticked();
  }

  /** Keep what is ticked now. */
  ticked() {
    const laid = /** @type {Laid} */ (this.laid);
    const hand = this.lines.filter(({ box }) => box.checked).map(({ key }) => key);
    const about = { edition: this.edition, at: new Date().toISOString(), unit: this.unit() };
    this.undo = null;
    this.job = jobOf(this.checks, laid, hand, about);
    this.store();
    this.draw();
  }

  /** Clear every tick, or bring back what was just cleared. */
  over() {
    const back = this.undo;
    this.undo = back ? null : /** @type {Job} */ (this.job);
    this.take(back ?? noJob());
    this.store();
    this.draw();
  }

  /** Another window changed the ticks: show them as they are kept now. */
  elsewhere() {
    this.undo = null;
    this.trouble = TWICE;
    this.take(readJob(this.stored()));
  }

  /** @returns {string | null} */
  stored() {
    try {
      return localStorage.getItem(this.key);
    } catch {
      this.trouble = REFUSED;
      return null;
    }
  }

  /** Keep the job on the phone; where that is refused the page says so and goes on. */
  store() {
    const job = /** @type {Job} */ (this.job);
    try {
      if (isBlank(job)) localStorage.removeItem(this.key);
      else localStorage.setItem(this.key, JSON.stringify(job));
      this.trouble = "";
    } catch {
      this.trouble = REFUSED;
    }
  }

  /** How far the sheet is, in one line. @param {Laid} laid */
  count({ states }) {
    if (this.checks.length) return tallyLine(tally(this.checks, states), states);
    return `${this.lines.filter(({ box }) => box.checked).length} of ${this.lines.length} in hand`;
  }

  /** Show how the sheet stands. */
  draw() {
    const [job, laid] = [/** @type {Job} */ (this.job), /** @type {Laid} */ (this.laid)];
    drawSteps(this.steps, this.checks, laid);
    const line = this.count(laid);
    this.line.textContent = this.undo ? `Ticks cleared. ${line}` : line;
    this.again.textContent = this.undo ? "Undo" : "Start over";
    this.again.hidden = !this.undo && isBlank(job);
    const gone = laid.gone.map((cause) => `Ticked, but no longer in this bulletin: ${cause}.`);
    const from = origin(job, this.unit(), dayOf(new Date()), dayOf);
    const notes = [this.trouble, from, ...gone].filter(Boolean);
    this.notes.replaceChildren(...notes.map((words) => make("p", {}, words)));
  }
}
