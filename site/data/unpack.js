/** A piece of data as it travels, unpacked. */

/**
 * Return a piece's JSON value and the bytes behind it.
 * @param {Response} packed
 * @returns {Promise<{value: any, bytes: Uint8Array<ArrayBuffer>}>}
 */
export async function unpack(packed) {
  const body = /** @type {ReadableStream<BufferSource>} */ (packed.body);
  const plain = new Response(body.pipeThrough(new DecompressionStream("gzip")));
  const whole = new Uint8Array(await plain.arrayBuffer());
  const end = 4 + new DataView(whole.buffer).getUint32(0, true);
  const value = JSON.parse(new TextDecoder().decode(whole.subarray(4, end)));
  return { value, bytes: whole.subarray(end) };
}
