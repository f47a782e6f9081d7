/** Entry of the plate's scanner, fetched by the front page only where the browser reads codes. */

import { offerScan } from "./scan.js";

const form = document.querySelector("form.search");
if (form instanceof HTMLFormElement) {
  void offerScan(form, (text) => form.dispatchEvent(new CustomEvent("scanned", { detail: text })));
}
