/** Errors whose words are shown as they are: what is wrong, and what to do about it. */

/** The question cannot be answered; `remedy` says what to do. */
export class KbError extends Error {
  /**
   * @param {string} message
   * @param {string} [remedy]
   */
  constructor(message, remedy = "") {
    super(message);
    this.remedy = remedy;
  }
}

/** What was asked for does not exist in the house. */
export class NotFound extends KbError {}

/** A date or range of dates that cannot be read. */
export class DateError extends KbError {}

/** A serial that cannot be read: which place is wrong, and what a sound one looks like. */
export class SerialError extends KbError {}
