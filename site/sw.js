/** Service worker: the site carried on the phone, and handed out where there is no signal. */

import { carry, tell } from "./carried/bring.js";
import { serve } from "./carried/serve.js";
import { known, remember, site } from "./carried/shelf.js";

site.addEventListener("install", (event) => event.waitUntil(site.skipWaiting()));

site.addEventListener("activate", (event) => event.waitUntil(site.clients.claim()));

site.addEventListener("fetch", serve);

site.addEventListener("message", (event) => event.waitUntil(told(event.data)));

/**
 * Do what a page asks: look for what is newer, choose families, or say what is carried.
 * @param {{kind: string, families?: string[], sparing?: boolean}} message
 */
async function told({ kind, families, sparing = false }) {
  if (kind === "choose" && families) {
    (await known()).chosen = families;
    await remember();
  }
  await tell();
  await carry(sparing, kind === "choose");
}
