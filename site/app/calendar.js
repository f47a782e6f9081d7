/** The day on this phone's own calendar. */

/**
 * Return the day of an instant as this phone's clock and place have it, in ISO form.
 * @param {Date | string} at
 */
export function dayOf(at) {
  const day = new Date(at);
  const two = (/** @type {number} */ value) => String(value).padStart(2, "0");
  return `${day.getFullYear()}-${two(day.getMonth() + 1)}-${two(day.getDate())}`;
}
