/** Addresses of the site as its service worker sees them. */

const LASTING = /^(assets\/.*|data\/[0-9a-f]{10}\.bin|bulletins\/.*\.[0-9a-f]{8}\.\w+)$/;

/** @type {Record<string, string>} */
const TYPES = {
  html: "text/html; charset=utf-8", svg: "image/svg+xml", png: "image/png",
  ico: "image/x-icon", webmanifest: "application/manifest+json",
};

/**
 * Return the file below the site that an address leads to; what is asked of it does not count.
 * @param {string} address
 * @param {string} scope  the address of the site's folder
 * @returns {string | null} null for an address elsewhere
 */
export function pathOf(address, scope) {
  const bare = address.replace(/[?#].*/s, "");
  if (!bare.startsWith(scope)) return null;
  try {
    const path = decodeURIComponent(bare.slice(scope.length));
    return path === "" || path.endsWith("/") ? `${path}index.html` : path;
  } catch {
    return null;
  }
}

/**
 * Tell whether a file's name is made from its content, so that it never changes.
 * @param {string} path
 */
export function isLasting(path) {
  return LASTING.test(path);
}

/**
 * Return the type that a file is served as, "" for one that travels in no pack.
 * @param {string} path
 */
export function typeOf(path) {
  return TYPES[path.slice(path.lastIndexOf(".") + 1)] ?? "";
}

/**
 * Return a path below the site as the rest of an address.
 * @param {string} path
 */
export function addressOf(path) {
  return path.split("/").map(encodeURIComponent).join("/");
}
