/** A link to send: by the phone's own way of sharing, else copied, else shown to be copied. */

import { make } from "./elements.js";

/** @typedef {{model: string, serial: string}} Plate */

/**
 * Return the address to send for a page: without question and place, and without the file's name;
 * of a page read from a disk its public address, if it has one.
 * @param {string} here
 * @param {string} published  "" for none
 * @param {Plate | null} plate  only where the sender wants it told
 */
export function addressToSend(here, published, plate) {
  const address = new URL(here.startsWith("file:") && published ? published : here);
  address.search = address.hash = "";
  address.pathname = address.pathname.replace(/\/index\.html$/, "/");
  if (plate) {
    address.searchParams.set("model", plate.model);
    if (plate.serial) address.searchParams.set("serial", plate.serial);
  }
  return address.href;
}

/**
 * Send an address; `told` says in words what became of it.
 * @param {string} title
 * @param {string} url
 * @param {HTMLElement} told
 */
export async function send(title, url, told) {
  told.replaceChildren();
  if (navigator.share) {
    const refused = await navigator.share({ title, url }).then(() => "", nameOf);
    if (!refused || refused === "AbortError") return;
  }
  const copied = await (navigator.clipboard?.writeText(url) ?? Promise.reject()).then(yes, no);
  if (copied) told.append("Link copied.");
  else show(url, told);
}

/** @param {unknown} error */
const nameOf = (error) => (error instanceof Error ? error.name : "Error");
const yes = () => true;
const no = () => false;

/** @param {string} url @param {HTMLElement} told */
function show(url, told) {
  const field = make("input", { readonly: "", value: url, "aria-label": "Link to copy" });
  told.append("Copy this link: ", field);
  field.select();
}
