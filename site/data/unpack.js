/** A piece of data as it travels, unpacked. */

/**
 * Return a piece's JSON value and the bytes behind it.
 * @param {Response} packed
 * @param {"gzip" | "deflate-raw"} [format]
 * @param {number} [skipped]  bytes that stand before the piece once unpacked
 * @returns {Promise<{value: any, bytes: Uint8Array<ArrayBuffer>}>}
 */
export async function unpack(packed, format = "gzip", skipped = 0) {
  const body = /** @type {ReadableStream<BufferSource>} */ (packed.body);
  const plain = new Response(body.pipeThrough(new DecompressionStream(format)));
  const whole = new Uint8Array(await plain.arrayBuffer(), skipped);
  const end = 4 + new DataView(whole.buffer, skipped).getUint32(0, true);
  const value = JSON.parse(new TextDecoder().decode(whole.subarray(4, end)));
  return { value, bytes: whole.subarray(end) };
}
