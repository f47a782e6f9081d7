/** The one box: what is typed is asked at once; what is shown answers what stands in it. */

import { ask, warmUp } from "./asker.js";
import { dayOf } from "./calendar.js";
import { chipList, chipsOf } from "./chips.js";
import { button, make } from "./elements.js";
import {
  alsoForUnit, nothingFound, orderBox, resultItem, safetyStrip,
} from "./results.js";
import { addressOf, isCorrection, letters, questionIn } from "./typed.js";
import { dropUnit, keepUnit, readUnit } from "./unit.js";
import { countLine, mailAddress, plateModel, sentence } from "./words.js";

/** @typedef {import("./chips.js").Chip} Chip */
/** @typedef {{model: string, serial: string}} Plate */

const FIRST = 10; // results shown at first
const FURTHER = 20; // and with each "Show more"
const NO_PLATE = { model: "", serial: "" };
const SETTLED = 400; // milliseconds without a letter until the address is brought up to date
const SLOW = 500; // milliseconds until it is said that the answer takes its time

/** @param {string} selector @returns {HTMLElement} */
const part = (selector) => /** @type {HTMLElement} */ (document.querySelector(selector));

/** The search of the front page. */
export class Search {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.box = /** @type {HTMLInputElement} */ (form.querySelector("input[type=search]"));
    this.place = part("[data-results]");
    this.chips = part("[data-understood]");
    this.count = part("[data-count]");
    this.head = part("#answers");
    this.ways = part("[data-ways]");
    this.round = 0;
    this.text = ""; // the line that was asked last
    this.limit = FIRST;
    /** @type {any} the answer that is shown */
    this.found = null;
    /** @type {{text: string, before: Plate | null} | null} a plate that stands in the line */
    this.typed = null;
    this.failed = false;
    this.listen(form);
    this.restore();
    warmUp();
    if (location.hash === "#q") this.box.focus(); // how the app's shortcut asks for the box
  }

  /** @param {HTMLFormElement} form */
  listen(form) {
    this.box.addEventListener("input", () => this.changed(this.isTyped()));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      void this.submit();
    });
    addEventListener("popstate", () => this.restore());
    addEventListener("online", () => this.failed && this.changed(false));
    const again = () => this.changed(false);
    addEventListener("storage", (event) => (event.key ?? "fb-unit") === "fb-unit" && again());
    addEventListener("pageshow", (event) => event.persisted && again());
  }

  /** Tell a letter from a whole line, pasted or spoken, which waits for no further letter. */
  isTyped() {
    return Math.abs(this.box.value.length - this.text.length) < 2;
  }

  /** Carry out the question that the address asks. */
  restore() {
    const { text, model, serial } = questionIn(location.search);
    if (model) keepUnit(model, serial);
    if (text || !this.box.value) this.box.value = text;
    this.changed(false);
  }

  /** @param {string} text  put into the box as if it had been typed and sent */
  take(text) {
    this.box.value = text;
    void this.submit();
  }

  /** The unit at hand. @returns {Plate} */
  get plate() {
    return readUnit() ?? NO_PLATE;
  }

  /**
   * Another line stands in the box.
   * @param {boolean} growing  whether it is being typed
   */
  changed(growing) {
    this.limit = FIRST;
    return this.answer(growing);
  }

  /**
   * Ask, and show the answer if nothing newer was asked meanwhile.
   * @param {boolean} growing
   */
  async answer(growing) {
    const round = ++this.round;
    const text = this.box.value;
    this.text = text;
    this.place.dataset.state = "busy";
    if (letters(text) < 2 && !this.plate.model) return this.clear();
    const slow = setTimeout(() => this.say("Looking …"), SLOW);
    try {
      const found = await ask("find", {
        text, ...this.plate, growing, limit: this.limit + 1, today: dayOf(new Date()),
      });
      if (found && round === this.round) this.show(found, text);
    } catch (error) {
      if (round === this.round) this.fail(error);
    } finally {
      clearTimeout(slow);
    }
  }

  /** Nothing is asked. */
  clear() {
    this.found = null;
    this.typed = null;
    this.fill([], [], "");
    this.head.hidden = true;
    this.ways.hidden = false;
  }

  /** @param {any} error */
  fail({ message, remedy }) {
    const words = remedy ? `${message}: ${remedy}` : `${message}`;
    this.fill([], [make("p", { class: "note" }, sentence(words))], "No answer");
    this.failed = true;
    this.ways.hidden = false;
  }

  /**
   * Put an answer onto the page; it answers what stands in the box.
   * @param {Chip[]} chips
   * @param {Node[]} answer
   * @param {string} count
   */
  fill(chips, answer, count) {
    this.failed = false;
    const list = chipList(chips, (chip) => void this.remove(chip));
    const anew = button("New unit", () => void this.newUnit(), { class: "new-unit" });
    if (chips.some(({ sort }) => sort === "model")) list.children[0].after(make("li", {}, anew));
    this.chips.replaceChildren(...(chips.length ? [list] : []));
    this.place.replaceChildren(...answer);
    this.say(count);
    this.place.dataset.state = "ready";
    clearTimeout(this.later);
    this.later = setTimeout(() => this.setAddress(), SETTLED);
  }

  /** @param {string} count */
  say(count) {
    if (this.count.textContent !== count) this.count.textContent = count;
  }

  /** @param {any} found @param {string} text */
  show(found, text) {
    if (!this.stick(found, text)) return void this.answer(false);
    this.found = found;
    const more = found.results.length > this.limit;
    const results = found.results.slice(0, this.limit);
    const none = !results.length && !found.orders.length;
    const parts = found.orders.map(orderBox);
    if (found.safety.length) parts.push(safetyStrip(found.safety));
    if (none) parts.push(this.nothing(found, text));
    else if (found.note) parts.push(make("p", { class: "note" }, sentence(found.note)));
    if (results.length) {
      parts.push(make("ol", { class: "entries answers" }, ...results.map(resultItem)));
    }
    if (more) parts.push(button("Show more", () => void this.further(), { class: "further" }));
    if (found.others.length) parts.push(alsoForUnit(found.others, () => this.titled(found)));
    this.head.hidden = false;
    this.ways.hidden = letters(text) > 0;
    const count = none || results.length ? countLine(results, more, Boolean(found.unit)) : "";
    this.fill(chipsOf(found), parts, count || "What to order is found");
  }

  /** @param {any} found @param {string} text */
  nothing({ note, nearest, contact, edition, unit }, text) {
    const plate = unit ? `${plateModel(unit)} ${unit.serial}`.trim() : "";
    const about = { asked: text.trim(), unit: plate, edition, address: location.href };
    return nothingFound(note, nearest, (line) => this.take(line), mailAddress(contact, about));
  }

  /** @param {any} found */
  async titled(found) {
    const today = dayOf(new Date());
    const { model, revision, serial } = found.unit;
    const plate = await ask("plate", { model: plateModel({ model, revision }), serial, today });
    /** @type {{number: string, title: string}[]} */
    const every = plate.bulletins;
    const titles = new Map(every.map(({ number, title }) => [number, title]));
    return found.others.map((/** @type {any} */ other) => (
      { ...other, title: titles.get(other.number) ?? other.title }
    ));
  }

  /**
   * Keep a unit that stands in the line, from its first answer on. Where typing goes on and makes
   * something else of it, what was kept before comes back: tell false, for it is to be asked again.
   * @param {any} found
   * @param {string} text
   */
  stick(found, text) {
    const typed = found.typed;
    if (typed) {
      const [model, { serial }] = [plateModel(found.unit), found.unit];
      this.typed ??= { text, before: readUnit() };
      this.typed.text = text;
      if (this.plate.model !== model || this.plate.serial !== serial) keepUnit(model, serial);
      return true;
    }
    const was = this.typed;
    this.typed = null;
    if (!was || !isCorrection(was.text, text)) return true;
    if (was.before) keepUnit(was.before.model, was.before.serial);
    else dropUnit();
    return false;
  }

  /** The line is sent: its plate goes into the chips, and the answer gets the focus. */
  async submit() {
    await this.answer(false);
    if (this.typed) {
      await this.change("lift", {});
      await this.answer(false);
    }
    this.setAddress();
    if (this.found) this.head.focus();
    else this.box.focus();
  }

  /**
   * Let the worker change the line, unless it was changed meanwhile.
   * @param {string} kind
   * @param {Record<string, string>} how
   */
  async change(kind, how) {
    const text = this.box.value;
    const fields = { text, ...this.plate, ...how, today: dayOf(new Date()) };
    const changed = await ask(kind, fields).catch(() => text);
    if (this.box.value === text) this.box.value = changed;
    if (kind === "lift") this.typed = null;
  }

  /** @param {Chip} chip  to be taken off */
  async remove({ sort, value }) {
    const at = [...this.chips.querySelectorAll(".chip button")].indexOf(
      /** @type {Element} */ (document.activeElement),
    );
    await this.change("without", { sort, value });
    this.typed = null;
    if (sort === "model") dropUnit();
    if (sort === "serial" && this.plate.model) keepUnit(this.plate.model, "");
    await this.changed(false);
    const left = this.chips.querySelectorAll(".chip button");
    const next = left[Math.min(at, left.length - 1)] ?? this.box;
    /** @type {HTMLElement} */ (next).focus();
  }

  /** Begin anew with another machine. */
  async newUnit() {
    await this.change("lift", {});
    dropUnit();
    this.box.focus();
    await this.changed(false);
  }

  /** Show more of the answer; the first of them gets the focus. */
  async further() {
    const from = this.limit;
    this.limit += FURTHER;
    await this.answer(false);
    /** @type {HTMLElement | null} */
    const first = this.place.querySelector(`.answers > li:nth-child(${from + 1}) a`);
    first?.focus();
  }

  /** Let the address ask what the page answers, so that it can be sent and kept. */
  setAddress() {
    const plate = this.typed ? NO_PLATE : this.plate;
    history.replaceState(null, "", addressOf(location, this.box.value, plate));
  }
}
