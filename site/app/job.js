/** Entry of a bulletin's page: the unit at hand, ticks, pictures that open large, a link. */

import { button, make, textOf } from "./elements.js";
import { addressToSend, send } from "./share.js";
import { Sheet } from "./sheet.js";
import { setUpZoom } from "./zoom.js";

/** @param {HTMLElement} article */
function setUp(article) {
  const sheet = new Sheet(article, () => "");
  setUpZoom(article);
  setUpSend(article);
  return sheet;
}

/** Put a button beside the number that sends the page's address. @param {Element} article */
function setUpSend(article) {
  const title = textOf(article.querySelector("h1"));
  const canonical = document.querySelector("link[rel=canonical]")?.getAttribute("href") ?? "";
  const told = make("p", { class: "sent", role: "status" });
  const act = () => send(title, addressToSend(location.href, canonical, null), told);
  article.querySelector(".tag")?.append(button("Send", act, { class: "send" }));
  article.querySelector(".tag")?.after(told);
}

const article = document.querySelector("article[data-bulletin]");
if (article instanceof HTMLElement) setUp(article);
