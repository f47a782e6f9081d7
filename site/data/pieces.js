/** Pieces of data: fetched once, unpacked, kept in memory; and layers of them in order of keys. */

import { Missing } from "./missing.js";
import { unpack } from "./unpack.js";

/** @typedef {{value: any, bytes: Uint8Array}} Piece  its JSON value and the bytes behind it */
/** @typedef {string | number} Key  a text, or a document's number */

const GZIP = 0x1f; // the first byte of a gzip file, and of no bare DEFLATE

/**
 * Return bytes as a block that DEFLATE keeps as they are (RFC 1951, section 3.2.4): what follows it
 * can refer back to them.
 * @param {Uint8Array} bytes
 */
function asBlock(bytes) {
  const length = bytes.length;
  return [Uint8Array.of(0, length, length >> 8, ~length, ~length >> 8), bytes];
}

/** @param {Uint8Array[]} bytes */
function answerOf(bytes) {
  return new Response(new Blob(/** @type {BlobPart[]} */ (bytes)));
}

/** The pieces in memory, by name. */
export class Pieces {
  /** @param {(path: string) => Promise<Uint8Array>} fetchBytes  gets a file of the site */
  constructor(fetchBytes) {
    this.fetchBytes = fetchBytes;
    /** @type {Map<string, Piece>} */
    this.held = new Map();
    /** @type {Map<string, Promise<void>>} */
    this.coming = new Map();
    /** What the pieces that are no gzip files go on from. */
    this.shared = new Uint8Array(0);
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
    const packed = await this.fetchBytes(`data/${name}.bin`);
    const { shared } = this;
    const piece = packed[0] === GZIP
      ? unpack(answerOf([packed]))
      : unpack(answerOf([...asBlock(shared), packed]), "deflate-raw", shared.length);
    this.held.set(name, await piece);
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

/**
 * The pieces of one kind in the order of their keys. Those of a far layer only tell where pieces
 * lie: they are layers by themselves.
 */
export class Layer {
  /**
   * @param {Pieces} pieces
   * @param {Key[]} bounds  for each piece the least key that it is for
   * @param {string[]} names
   * @param {boolean} [far]
   */
  constructor(pieces, bounds, names, far = false) {
    this.pieces = pieces;
    this.bounds = bounds;
    this.names = names;
    this.far = far;
    /** @type {Layer[]} */
    this.inner = [];
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
   * Return the layer that a piece of a far one is.
   * @param {number} at
   * @returns {Layer}
   */
  within(at) {
    if (!this.inner[at]) {
      const { value, bytes } = this.pieces.get(this.names[at]);
      const bounds = boundsOf(value, Number(this.bounds[at]));
      this.inner[at] = new Layer(this.pieces, bounds, namesOf(bytes));
    }
    return this.inner[at];
  }

  /**
   * Return the piece that is for a key, by the least key that it is for and its name.
   * @param {Key} key
   * @returns {{bound: Key, name: string} | null}
   */
  spot(key) {
    const at = this.place(key);
    if (at < 0) return null;
    return this.far ? this.within(at).spot(key) : { bound: this.bounds[at], name: this.names[at] };
  }

  /**
   * Throw one Missing with all pieces for these keys that are not in memory.
   * @param {Iterable<Key>} keys
   */
  need(keys) {
    const every = [...new Set(keys)].filter((key) => this.place(key) >= 0);
    if (this.far) this.pieces.need(every.map((key) => this.names[this.place(key)]));
    this.pieces.need(every.map((key) => this.spot(key)?.name ?? ""));
  }

  /**
   * Tell whether the piece for a key is in memory.
   * @param {Key} key
   * @returns {boolean}
   */
  isHeld(key) {
    const at = this.place(key);
    const held = at >= 0 && this.pieces.held.has(this.names[at]);
    return held && this.far ? this.within(at).isHeld(key) : held;
  }

  /**
   * Return the piece for a key, undefined where the layer is empty.
   * @param {Key} key
   * @returns {Piece | undefined}
   */
  piece(key) {
    const spot = this.spot(key);
    return spot ? this.pieces.get(spot.name) : undefined;
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
    const spot = this.spot(key);
    return spot ? this.pieces.get(spot.name).value[key - Number(spot.bound)] : undefined;
  }

  /**
   * Return the names of the pieces that hold any key from one to another.
   * @param {Key} first
   * @param {Key} last
   * @returns {string[]}
   */
  namesBetween(first, last) {
    const from = Math.max(this.place(first), 0);
    const names = this.names.slice(from, this.place(last) + 1);
    if (!this.far) return names;
    this.pieces.need(names);
    return names.flatMap((_, at) => this.within(from + at).namesBetween(first, last));
  }

  /**
   * Return the pieces that hold any key from one to another.
   * @param {Key} first
   * @param {Key} last
   * @returns {Piece[]}
   */
  between(first, last) {
    const names = this.namesBetween(first, last);
    this.pieces.need(names);
    return names.map((name) => this.pieces.get(name));
  }

  /** Return every piece of a layer whose keys are texts. */
  all() {
    return this.between("", LAST);
  }
}

/** Stands behind every text that a key begins with. */
export const LAST = "\uffff";

/**
 * Return names of pieces from their bytes in turn.
 * @param {Uint8Array} bytes
 */
function namesOf(bytes) {
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.match(/.{10}/g) ?? [];
}

/**
 * Return the layers of a start piece by their names.
 * @param {Pieces} pieces
 * @param {Piece} start
 * @returns {Record<string, Layer>}
 */
export function layersOf(pieces, start) {
  const names = namesOf(start.bytes.subarray(0, start.bytes.length - start.value.shared));
  /** @param {any} written */
  const layer = (written) => {
    const bounds = boundsOf(written?.far ?? written);
    const far = written?.far !== undefined;
    return new Layer(pieces, bounds, names.splice(0, bounds.length), far);
  };
  const written = Object.entries(start.value.layers);
  return Object.fromEntries(written.map(([name, told]) => [name, layer(told)]));
}

/**
 * Return bounds: texts joined by line ends, or numbers as steps from a first one.
 * @param {string | number[] | null} written
 * @param {number} [first]
 * @returns {Key[]}
 */
function boundsOf(written, first = 0) {
  if (typeof written === "string") return written.split("\n");
  let sum = first;
  return (written ?? []).map((step) => (sum += step));
}
