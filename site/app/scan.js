/**
 * The rating plate read by the camera, where the browser itself can read codes; elsewhere there is
 * no button. Nothing is recorded or sent: frames go to the browser's reader, its texts to the box.
 */

import { gathered, readScan, worth } from "../core/scanned.js";
import { button, make } from "./elements.js";

/** @typedef {import("../core/scanned.js").Scan} Scan */
/** @typedef {{detect(of: HTMLVideoElement): Promise<{rawValue: string}[]>}} Detector */
/**
 * @typedef {object} DetectorClass
 * @property {() => Promise<string[]>} getSupportedFormats
 */

const FORMATS = ["qr_code", "data_matrix", "code_128"];
const PAUSE = 120; // milliseconds between two frames that are looked at
const AGREE = 2; // frames that must show the same text before it is believed
const MORE = 4; // frames in which the other codes of a plate may still turn up
const REFUSED = 10; // frames in a row that the reader refuses before we give up

const HINT = "Hold the phone so that the codes on the rating plate fill the picture.";
const NO_PLATE =
  "That code says nothing about this machine. Try another one on the plate, or type the plate.";
const CANNOT = "Codes cannot be read here just now: close this and type the plate.";

/** What to do about a camera that does not start, by the name of the error. */
const TROUBLES = new Map([
  ["NotAllowedError",
    "The camera is not allowed here. Allow it in the browser's settings, or type the plate."],
  ["NotFoundError", "No camera was found: close this and type the plate."],
  ["NotReadableError", "Something else is using the camera: end that and scan again."],
]);

/**
 * Put the button "Scan the plate" beside the box of *form*, where the browser can read codes.
 * @param {HTMLFormElement} form
 * @param {(text: string) => void} put  gets what was read
 * @returns {Promise<void>} settled when the button is there, or will not be
 */
export async function offerScan(form, put) {
  const reader = await makeReader();
  if (!reader) return;
  const opener = button("Scan the plate", () => void new Scanner(reader, put).open(), {
    class: "scan-plate",
  });
  (form.querySelector(".box") ?? form).append(opener);
}

/** @returns {Promise<Detector | null>} */
async function makeReader() {
  const Class = /** @type {any} */ (window).BarcodeDetector;
  if (!Class || !navigator.mediaDevices?.getUserMedia) return null;
  try {
    const can = await /** @type {DetectorClass} */ (Class).getSupportedFormats();
    const formats = FORMATS.filter((format) => can.includes(format));
    return formats.length ? new Class({ formats }) : null;
  } catch {
    return null;
  }
}

/** One look through the camera, from the tap on the button until the window closes. */
class Scanner {
  /**
   * @param {Detector} reader
   * @param {(text: string) => void} put
   */
  constructor(reader, put) {
    this.reader = reader;
    this.put = put;
    this.hint = make("p", { class: "hint", role: "status" }, HINT);
    this.video = make("video", { "aria-hidden": "true" });
    this.video.playsInline = this.video.muted = true;
    this.tools = make("div", { class: "tools" });
    this.dialog = make("dialog", { class: "large scan", "aria-labelledby": "scan-title" });
    /** @type {MediaStream | null} */
    this.stream = null;
    /** @type {Map<string, number>} in how many frames each text was seen */
    this.seen = new Map();
    this.later = 0; // frames since the first text was believed
    this.refused = 0;
    this.hidden = () => document.hidden && this.dialog.close();
  }

  /** Show the window and start the camera. */
  async open() {
    const { dialog, tools } = this;
    tools.append(make("h2", { id: "scan-title" }, "Scan the plate"));
    tools.append(button("Close", () => dialog.close()));
    dialog.append(tools, this.video, this.hint);
    dialog.addEventListener("close", () => this.stop());
    document.addEventListener("visibilitychange", this.hidden);
    document.body.append(dialog);
    dialog.showModal();
    try {
      await this.start();
    } catch (error) {
      const name = error instanceof DOMException ? error.name : "";
      this.say(TROUBLES.get(name) ?? "The camera does not start: close this and type the plate.");
    }
  }

  /** Start the camera on the back of the phone and look at its frames. */
  async start() {
    const wanted = { facingMode: "environment", width: { ideal: 1280 }, height: { ideal: 720 } };
    const stream = await navigator.mediaDevices.getUserMedia({ video: wanted, audio: false });
    this.stream = stream;
    if (!this.dialog.open) return this.stop(); // closed while the reader was asked to allow it
    this.video.srcObject = stream;
    await this.video.play();
    this.offerLight(stream);
    this.look();
  }

  /** @param {MediaStream} stream */
  offerLight(stream) {
    const [track] = stream.getVideoTracks();
    const can = /** @type {any} */ (track?.getCapabilities?.() ?? {});
    if (!track || !can.torch) return;
    const light = button("Light", () => {
      const on = light.getAttribute("aria-pressed") !== "true";
      const torch = /** @type {any} */ ({ advanced: [{ torch: on }] });
      track.applyConstraints(torch).then(
        () => light.setAttribute("aria-pressed", String(on)),
        () => light.remove(),
      );
    }, { "aria-pressed": "false" });
    this.tools.append(light);
  }

  /** Look at one frame, and at the next one a little later. */
  async look() {
    if (!this.dialog.open) return;
    try {
      const codes = await this.reader.detect(this.video);
      this.refused = 0;
      if (this.dialog.open) this.note(codes.map((code) => code.rawValue));
    } catch {
      this.refused += 1;
      if (this.refused >= REFUSED) return this.giveUp();
    }
    setTimeout(() => void this.look(), PAUSE);
  }

  /**
   * Take note of the texts of one frame; what says enough goes into the box.
   * @param {string[]} texts
   */
  note(texts) {
    for (const text of new Set(texts)) this.seen.set(text, (this.seen.get(text) ?? 0) + 1);
    const today = new Date().toISOString().slice(0, 10);
    const believed = [...this.seen].filter(([, times]) => times >= AGREE);
    const scans = believed.map(([text]) => readScan(text, today));
    const most = Math.max(-1, ...scans.map(worth));
    if (most > 0) this.later += 1;
    if (most === 4 || this.later > MORE) this.take(gathered(scans));
    else if (most === 0) this.say(NO_PLATE);
  }

  /** @param {string} text */
  take(text) {
    this.dialog.close();
    this.put(text);
  }

  giveUp() {
    this.say(CANNOT);
    this.release();
  }

  /** @param {string} words */
  say(words) {
    if (this.hint.textContent !== words) this.hint.textContent = words;
  }

  /** Stop the camera: its lamp goes out at once. */
  release() {
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    this.video.srcObject = null;
  }

  /** Leave nothing behind; the focus goes back to the button by itself. */
  stop() {
    this.release();
    document.removeEventListener("visibilitychange", this.hidden);
    this.dialog.remove();
  }
}
