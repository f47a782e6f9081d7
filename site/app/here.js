/**
 * Whether the bulletin applies to the unit at hand: the plate is carried over from the search, or
 * from the link, or typed here. An answer is never left standing for another plate.
 */

import { ask } from "./asker.js";
import { dayOf } from "./calendar.js";
import { button, make } from "./elements.js";
import { dropUnit, keepUnit, readUnit } from "./unit.js";

/** @typedef {{model: string, serial: string}} Plate */
/**
 * @typedef {object} Told
 * @property {"yes" | "no" | "maybe"} applies
 * @property {string} why
 * @property {string} settle
 * @property {"" | "yes" | "no" | "maybe"} due
 * @property {string} advice
 * @property {{unreadable: string} | null} unit
 */

const WORDS = { yes: "Applies to this unit", maybe: "May apply", no: "Does not apply" };
const DUE = { yes: "Due now", maybe: "May be due", no: "Not yet due" };
const FROM_DISK =
  "A page opened from a disk cannot work it out. Compare the plate with what stands here.";

/** The part of the page that answers for one unit. */
export class Here {
  /**
   * @param {HTMLElement} place
   * @param {string} number  of the bulletin
   */
  constructor(place, number) {
    this.place = place;
    this.number = number;
    /** Told when another plate stands here. */
    this.changed = () => {};
    /** @type {(plate: Plate | null) => void} told when the page is to be sent with its plate */
    this.sent = () => {};
    this.round = 0;
    this.plate = linked(location.search) ?? readUnit();
    this.start();
    const again = () => this.reread();
    addEventListener("storage", (event) => (event.key ?? "fb-unit") === "fb-unit" && again());
    addEventListener("pageshow", (event) => event.persisted && again());
  }

  /** The plate in one line, "" for none. */
  words() {
    return this.plate ? `${this.plate.model} ${this.plate.serial}`.trim() : "";
  }

  /** Another page may have changed the unit meanwhile. */
  reread() {
    const kept = linked(location.search) ?? readUnit();
    if (kept?.model === this.plate?.model && kept?.serial === this.plate?.serial) return;
    this.plate = kept;
    this.start();
    this.changed();
  }

  /** Show what there is to show for the plate that stands here. */
  start() {
    if (this.plate) void this.tell(this.plate);
    else this.form(null);
  }

  /**
   * Ask for the answer and show it, unless another plate came in between.
   * @param {Plate} plate
   */
  async tell(plate) {
    const round = ++this.round;
    const moment = make("p", {}, "One moment …");
    const answer = make("div", { role: "status", class: "answer" }, moment);
    const unit = make("p", {}, "Unit ", make("strong", { class: "number" }, this.words()));
    this.place.replaceChildren(unit, answer, this.controls());
    const told = await this.told(plate).catch(trouble);
    if (round !== this.round) return;
    answer.replaceChildren(...told);
    // What could not be fetched is asked for again as soon as there is a connection.
    const again = () => round === this.round && this.start();
    if (!told.some((line) => line.matches(".verdict"))) {
      addEventListener("online", again, { once: true });
    }
  }

  /** @param {Plate} plate */
  async told(plate) {
    if (location.protocol === "file:") throw new Error(FROM_DISK);
    const { model, serial } = plate;
    const today = dayOf(new Date());
    return lines(await ask("applies", { number: this.number, model, serial, today }));
  }

  /** What can be done about the plate. */
  controls() {
    return make(
      "p",
      { class: "controls" },
      button("Change", () => this.form(this.plate).focus()),
      button("Drop", () => this.drop(), { "aria-label": "Drop this unit" }),
      button("Send with unit", () => this.sent(this.plate)),
    );
  }

  /** Answer for no unit any more. */
  drop() {
    dropUnit();
    this.take(null);
    this.form(null).focus();
  }

  /**
   * Another plate stands here from now on, whatever the link said.
   * @param {Plate | null} plate
   */
  take(plate) {
    if (location.search) history.replaceState(null, "", location.pathname + location.hash);
    this.plate = plate;
    this.changed();
  }

  /**
   * Show the form for the plate; return its first field.
   * @param {Plate | null} plate  what stands in it already
   */
  form(plate) {
    this.round += 1;
    const model = field("model", plate?.model ?? "", "go");
    const serial = field("serial", plate?.serial ?? "", "go");
    const form = make(
      "form",
      { class: "plate" },
      make("p", {}, "From the rating plate"),
      make("label", {}, "Model ", model),
      make("label", {}, "Serial ", serial),
      make("button", {}, "Does it apply?"),
    );
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (model.value.trim()) this.keep({ model: model.value.trim(), serial: serial.value.trim() });
      else model.focus();
    });
    this.place.replaceChildren(form);
    return model;
  }

  /** @param {Plate} plate */
  keep(plate) {
    keepUnit(plate.model, plate.serial);
    this.take(plate);
    void this.tell(plate);
    /** @type {HTMLElement | null} */ (this.place.querySelector("button"))?.focus();
  }
}

/** @param {string} name @param {string} value @param {string} key */
function field(name, value, key) {
  return make("input", {
    name, value, enterkeyhint: key, autocomplete: "off", autocapitalize: "characters",
    spellcheck: "false",
  });
}

/**
 * Return the plate that a link carries, null for none.
 * @param {string} search
 * @returns {Plate | null}
 */
function linked(search) {
  const asked = new URLSearchParams(search);
  const model = asked.get("model")?.trim() ?? "";
  return model ? { model, serial: asked.get("serial")?.trim() ?? "" } : null;
}

/** Say why there is no answer. @param {{message: string, remedy?: string}} error */
function trouble({ message, remedy }) {
  return [make("p", {}, remedy ? `${message}: ${remedy}` : message)];
}

/** @param {Told} answer */
function lines({ applies, why, settle, due, advice, unit }) {
  const said = [unit?.unreadable, why, settle && `Look for: ${settle}`];
  if (due) said.push(`${DUE[due]}: ${advice}`);
  const verdict = make("p", { class: `verdict ${applies}` }, WORDS[applies]);
  return [verdict, ...said.filter(Boolean).map((words) => make("p", { dir: "auto" }, words ?? ""))];
}
