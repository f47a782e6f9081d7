/** Pieces of data: fetched once, unpacked, kept in memory; and layers of them in order of keys. */

import { Missing } from "./missing.js";

/** @typedef {{value: any, bytes: Uint8Array}} Piece  its JSON value and the bytes behind it */
/** @typedef {string | number} Key  a text, or a document's number */

/**
 * Return a piece unpacked.
 * @param {Uint8Array} packed
 * @returns {Promise<Piece>}
 */
async function unpack(packed) {
  const stream = new Blob([/** @type {BlobPart} */ (packed)]).stream();
  const plain = new Response(stream.pipeThrough(new DecompressionStream("gzip")));
  const whole = new Uint8Array(await plain.arrayBuffer());
  const end = 4 + new DataView(whole.buffer).getUint32(0, true);
  const value = JSON.parse(new TextDecoder().decode(whole.subarray(4, end)));
  return { value, bytes: whole.subarray(end) };
}

/** The pieces in memory, by name. */
export class Pieces {
  /** @param {(path: string) => Promise<Uint8Array>} fetchBytes  gets a file by its path in the site */
  constructor(fetchBytes) {
    this.fetchBytes = fetchBytes;
    /** @type {Map<string, Piece>} */
    this.held = new Map();
    /** @type {Map<string, Promise<void>>} */
    this.coming = new Map();
  }

  /**
   * Bring pieces into memory, all at once; each is fetched once.
   * @param {string[]} names
   */
  async load(names) {
    const absent = names.filter((name) => !this.held.has(name));
    await Promise.all(absent.map((name) => this.fetch(name)));
  }

  /**
   * @param {string} name
   * @returns {Promise<void>}
   */
  fetch(name) {
    let coming = this.coming.get(name);
    if (!coming) {
      coming = this.bring(name).finally(() => this.coming.delete(name));
      this.coming.set(name, coming);
    }
    return coming;
  }

  /** @param {string} name */
  async bring(name) {
    this.held.set(name, await unpack(await this.fetchBytes(`data/${name}.bin`)));
  }

  /**
   * Throw one Missing with all of these pieces that are not in memory.
   * @param {Iterable<string>} names
   */
  need(names) {
    const absent = [...new Set(names)].filter((name) => !this.held.has(name));
    if (absent.length) throw new Missing(absent);
  }

  /**
   * Return a piece, or throw Missing.
   * @param {string} name
   * @returns {Piece}
   */
  get(name) {
    const held = this.held.get(name);
    if (!held) throw new Missing([name]);
    return held;
  }
}

/** The pieces of one kind in the order of their keys. */
export class Layer {
  /**
   * @param {Pieces} pieces
   * @param {Key[]} bounds  for each piece the least key that it is for
   * @param {string[]} names
   */
  constructor(pieces, bounds, names) {
    this.pieces = pieces;
    this.bounds = bounds;
    this.names = names;
  }

  /**
   * Return which piece is for a key; -1 where there is none at all.
   * @param {Key} key
   */
  place(key) {
    let [low, high] = [0, this.bounds.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.bounds[middle] <= key) low = middle + 1;
      else high = middle;
    }
    return low - 1;
  }

  /**
   * Tell whether the piece for a key is in memory.
   * @param {Key} key
   */
  isHeld(key) {
    return this.pieces.held.has(this.names[this.place(key)]);
  }

  /**
   * Throw one Missing with all pieces for these keys that are not in memory.
   * @param {Iterable<Key>} keys
   */
  need(keys) {
    const places = [...new Set(keys)].map((key) => this.place(key)).filter((at) => at >= 0);
    this.pieces.need(places.map((at) => this.names[at]));
  }

  /**
   * Return the piece for a key, undefined where the layer is empty.
   * @param {Key} key
   * @returns {Piece | undefined}
   */
  piece(key) {
    const at = this.place(key);
    return at < 0 ? undefined : this.pieces.get(this.names[at]);
  }

  /**
   * Return what a piece of values by their keys holds for a key.
   * @param {string} key
   */
  value(key) {
    const held = this.piece(key)?.value;
    return held && Object.hasOwn(held, key) ? held[key] : undefined;
  }

  /**
   * Return what stands at a number in a layer whose keys are numbers without gaps.
   * @param {number} key
   */
  row(key) {
    return this.piece(key)?.value[key - Number(this.bounds[this.place(key)])];
  }

  /**
   * Return the pieces that hold any key from one to another.
   * @param {Key} first
   * @param {Key} last
   * @returns {Piece[]}
   */
  between(first, last) {
    const names = this.names.slice(Math.max(this.place(first), 0), this.place(last) + 1);
    this.pieces.need(names);
    return names.map((name) => this.pieces.get(name));
  }

  /** Return every piece of the layer. */
  all() {
    this.pieces.need(this.names);
    return this.names.map((name) => this.pieces.get(name));
  }
}

/**
 * Return the layers of a start piece by their names.
 * @param {Pieces} pieces
 * @param {Piece} start
 * @returns {Record<string, Layer>}
 */
export function layersOf(pieces, start) {
  const hex = [...start.bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  let used = 0;
  /** @param {string | number[] | null} written */
  const layer = (written) => {
    const bounds = boundsOf(written);
    const names = bounds.map((_, at) => hex.slice(10 * (used + at), 10 * (used + at + 1)));
    used += names.length;
    return new Layer(pieces, bounds, names);
  };
  const written = Object.entries(start.value.layers);
  return Object.fromEntries(written.map(([name, bounds]) => [name, layer(bounds)]));
}

/**
 * @param {string | number[] | null} written
 * @returns {Key[]}
 */
function boundsOf(written) {
  if (typeof written === "string") return written.split("\n");
  let sum = 0;
  return (written ?? []).map((step) => (sum += step));
}
