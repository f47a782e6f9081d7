/** Pictures open large: by tap or key, drawn closer by pinch, wheel, double tap, or + and −. */

import { button, make } from "./elements.js";

const MOST = 8;
const STEP = 1.5;

/** Let every picture of the running text open large. @param {ParentNode} article */
export function setUpZoom(article) {
  for (const picture of article.querySelectorAll(".text img")) {
    if (picture instanceof HTMLImageElement && !picture.closest("a")) wrap(picture);
  }
}

/** @param {HTMLImageElement} picture */
function wrap(picture) {
  const label = picture.alt ? `Show larger: ${picture.alt}` : "Show larger";
  const opener = make("button", { type: "button", class: "enlarge", "aria-label": label });
  picture.replaceWith(opener);
  opener.append(picture);
  opener.addEventListener("click", () => open(picture, opener));
}

/**
 * @param {HTMLImageElement} picture
 * @param {HTMLElement} opener
 */
function open(picture, opener) {
  const large = make("img", { src: picture.src, alt: picture.alt, draggable: "false" });
  const ground = make("div", { class: "ground", tabindex: "0", role: "group" }, large);
  ground.setAttribute("aria-label", "Picture: move it with the arrow keys");
  const view = new View(ground, large, picture.width / picture.height);
  const dialog = make("dialog", { class: "large", "aria-label": picture.alt || "Picture" });
  dialog.append(buttons(view, dialog), ground);
  dialog.addEventListener("keydown", (event) => view.key(event));
  dialog.addEventListener("close", () => {
    dialog.remove();
    opener.focus();
  });
  document.body.append(dialog);
  dialog.showModal();
  view.draw();
}

/** @param {View} view @param {HTMLDialogElement} dialog */
function buttons(view, dialog) {
  return make(
    "div",
    { class: "tools" },
    button("Close", () => dialog.close()),
    button("−", () => view.scale(1 / STEP), { "aria-label": "Smaller" }),
    button("+", () => view.scale(STEP), { "aria-label": "Larger" }),
  );
}

/** One picture in its window: how large it is drawn, and fingers that move it. */
class View {
  /**
   * @param {HTMLElement} ground
   * @param {HTMLImageElement} large
   * @param {number} shape  width by height
   */
  constructor(ground, large, shape) {
    this.ground = ground;
    this.large = large;
    this.shape = shape || 1;
    this.factor = 1;
    /** @type {Map<number, {x: number, y: number}>} */
    this.fingers = new Map();
    ground.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    ground.addEventListener("dblclick", (event) => {
      this.scale(this.factor > 1 ? 0 : 3, event.clientX, event.clientY);
    });
    ground.addEventListener("pointerdown", (event) => this.down(event));
    ground.addEventListener("pointermove", (event) => this.move(event));
    for (const name of ["pointerup", "pointercancel"]) {
      ground.addEventListener(name, (event) => this.fingers.delete(pointer(event).pointerId));
    }
  }

  /** Draw the picture at its size: at factor 1 all of it is seen. */
  draw() {
    const { clientWidth, clientHeight } = this.ground;
    const width = Math.min(clientWidth, clientHeight * this.shape) * this.factor;
    this.large.style.width = `${width}px`;
    this.large.style.height = `${width / this.shape}px`;
  }

  /**
   * Draw it `by` times as large (0: all of it again), keeping the point under (x, y) in its place.
   * @param {number} by
   * @param {number} [x]
   * @param {number} [y]
   */
  scale(by, x, y) {
    const { ground, large } = this;
    const window = ground.getBoundingClientRect();
    const [px, py] = [x ?? window.x + window.width / 2, y ?? window.y + window.height / 2];
    const before = large.getBoundingClientRect();
    this.factor = Math.min(MOST, Math.max(1, this.factor * by));
    this.draw();
    const after = large.getBoundingClientRect();
    const grown = after.width / before.width;
    ground.scrollLeft += after.x + (px - before.x) * grown - px;
    ground.scrollTop += after.y + (py - before.y) * grown - py;
  }

  /** @param {WheelEvent} event */
  wheel(event) {
    event.preventDefault();
    this.scale(Math.exp(-event.deltaY / 300), event.clientX, event.clientY);
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    const by = { "+": STEP, "=": STEP, "-": 1 / STEP, 0: 0 }[event.key];
    if (by === undefined || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    this.scale(by);
  }

  /** @param {PointerEvent} event */
  down(event) {
    this.fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    this.ground.setPointerCapture(event.pointerId);
  }

  /** @param {PointerEvent} event */
  move(event) {
    const was = this.fingers.get(event.pointerId);
    if (!was) return;
    const now = { x: event.clientX, y: event.clientY };
    const other = [...this.fingers].find(([id]) => id !== event.pointerId)?.[1];
    this.fingers.set(event.pointerId, now);
    if (other) {
      const by = apart(now, other) / apart(was, other);
      this.scale(by, (now.x + other.x) / 2, (now.y + other.y) / 2);
    } else this.ground.scrollBy({ left: was.x - now.x, top: was.y - now.y, behavior: "instant" });
  }
}

/** @param {Event} event */
const pointer = (event) => /** @type {PointerEvent} */ (event);

/** @param {{x: number, y: number}} one @param {{x: number, y: number}} other */
const apart = (one, other) => Math.max(1, Math.hypot(one.x - other.x, one.y - other.y));
