/** Models as the rows of parts.csv limit them: by patterns, any one of which is enough. */

import { modelMatches } from "./judge.js";

/**
 * Tell whether a model fits one of the patterns.
 * @param {string[]} patterns
 * @param {string} model
 */
export function fits(patterns, model) {
  return patterns.some((pattern) => modelMatches(pattern, model));
}
