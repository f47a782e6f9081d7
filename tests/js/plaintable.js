/** A word table held in memory whole, as tests give it: nothing is ever missing. */

/**
 * @param {any} table  as kb.wordtable prepares it
 */
export function plainTable(table) {
  const common = new Set(table.common.split(" "));
  const own = (rows, word) => (Object.hasOwn(rows, word) ? rows[word] : undefined);
  return {
    table,
    needWords: () => {},
    spelled: (word) => own(table.spelled, word),
    phrasesFrom: (stem) => own(table.phrases, stem) ?? "",
    near: (stem) => own(table.near, stem) ?? "",
    isCommon: (stem) => common.has(stem),
  };
}
