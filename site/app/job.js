/** Entry of a bulletin's page: the unit at hand, ticks, pictures that open large, a link. */

import { carryLater } from "./carry.js";
import { button, make, textOf } from "./elements.js";
import { Here } from "./here.js";
import { addressToSend, send } from "./share.js";
import { Sheet } from "./sheet.js";
import { setUpZoom } from "./zoom.js";

/** @param {HTMLElement} article */
function setUp(article) {
  const place = article.querySelector("[data-here]");
  const here = new Here(/** @type {HTMLElement} */ (place), article.dataset.bulletin ?? "");
  const sheet = new Sheet(article, () => here.words());
  here.changed = () => sheet.draw();
  here.sent = setUpSend(article);
  setUpZoom(article);
}

/**
 * Put a button beside the number that sends the page's address; return what sends it with a plate.
 * @param {Element} article
 */
function setUpSend(article) {
  const title = textOf(article.querySelector("h1"));
  const canonical = document.querySelector("link[rel=canonical]")?.getAttribute("href") ?? "";
  const told = make("p", { class: "sent", role: "status" });
  const act = (/** @type {import("./share.js").Plate | null} */ plate) => {
    void send(title, addressToSend(location.href, canonical, plate), told);
  };
  const tag = article.querySelector(".tag");
  tag?.append(button("Send", () => act(null), { class: "send" }));
  tag?.after(told);
  return act;
}

const article = document.querySelector("article[data-bulletin]");
if (article instanceof HTMLElement) setUp(article);
void carryLater();
