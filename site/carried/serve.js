/** Pages and files as the service worker hands them out. */

import { isNewest, within } from "./newest.js";
import { isAhead, packOf, pageOf } from "./pages.js";
import { isLasting, pathOf, typeOf } from "./paths.js";
import { fileOf, HEAD, known, scope, urlOf } from "./shelf.js";

/**
 * Answer a request if it is for a file that can be carried; leave all others alone.
 * @param {FetchEvent} event
 */
export function serve(event) {
  const { request } = event;
  const path = pathOf(request.url, scope);
  if (path === null || request.method !== "GET" || request.headers.has("range")) return;
  if (isLasting(path)) event.respondWith(lasting(event, path));
  else if (request.mode === "navigate" || typeOf(path) || path === HEAD) {
    event.respondWith(page(event, path));
  }
}

/** @param {FetchEvent} event @param {string} path */
async function lasting({ request }, path) {
  const kept = await fileOf(path).catch(() => undefined);
  return kept ?? fetch(request);
}

/** @param {FetchEvent} event @param {string} path */
async function page(event, path) {
  const { request } = event;
  const { now } = await known();
  if (packOf(now, `${path}/index.html`)) return Response.redirect(`${urlOf(path)}/`);
  const carried = path === HEAD ? now : packOf(now, path);
  if (!carried) return fetch(request).catch((error) => absent(request, error));
  if (!(await isNewest())) {
    try {
      const reply = await within(fetch(request));
      if (reply.status < 500) {
        isAhead(event.resultingClientId);
        return reply;
      }
    } catch {
      // what is carried is better than nothing
    }
  }
  const isHead = path === HEAD;
  const bytes = isHead ? JSON.stringify(now?.head) : await pageOf(now, path).catch(() => null);
  if (!bytes) return fetch(request).catch((error) => absent(request, error));
  return new Response(bytes, { headers: { "Content-Type": typeOf(path) } });
}

/** @param {Request} request @param {unknown} error */
async function absent(request, error) {
  if (request.mode !== "navigate") throw error;
  const { now } = await known();
  const held = now
    ? `Carried: ${counted(now.bulletins)}, as of ${now.made}: ${named(now.families)}.`
    : "Nothing is carried on this phone yet: open the start page once where there is a connection.";
  const words = `There is no connection, and this page is not carried. ${held}`;
  const headers = { "Content-Type": typeOf(".html") };
  return new Response(sheet(words, now?.style ?? ""), { status: 503, headers });
}

/** @param {number} bulletins */
function counted(bulletins) {
  return bulletins === 1 ? "1 bulletin" : `${bulletins} bulletins`;
}

/** @param {string[]} families */
function named(families) {
  return families.filter(Boolean).join(", ");
}

/** @param {string} words @param {string} style */
function sheet(words, style) {
  const safe = words.replace(/[&<>]/g, (sign) => `&#${sign.charCodeAt(0)};`);
  const dress = style && `<link rel="stylesheet" href="${scope}${style}">`;
  return `<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'self'">
<title>Not carried</title>${dress}
<main id="main"><h1>Not carried</h1><p>${safe}</p>
<p><a href="${scope}index.html">To the search box</a></p></main></html>`;
}
