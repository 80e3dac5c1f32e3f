// Translates machine descriptions. Each text of a description is looked up, by its English form, in the
// dictionary of the language (web/words/LANGUAGE, one file for each section of a description). A text that
// machines share is translated once, and a text that changes loses its translation instead of keeping a
// wrong one. A text without a translation stays English; `npm test` reports it.

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { WEB } from './toolchain.mjs';

/** Fields that people read. Sources are cited as they are. */
const WORDS = new Set(['name', 'about', 'how', 'note', 'text', 'stop', 'why', 'leaves', 'prevent']);

/** The words of a section: the translation of an English text, or translations by the id of the item. */
/** @typedef {Record<string, string | Record<string, string>>} Section */
/** @typedef {Record<string, Section>} Dictionary */

export const LANGUAGES = ['de'];

/** @param {string} language @returns {Dictionary} */
export function readWords(language) {
  const folder = join(WEB, 'words', language);
  const names = readdirSync(folder).filter((name) => name.endsWith('.json'));
  return Object.fromEntries(
    names.map((name) => [
      name.slice(0, -'.json'.length),
      JSON.parse(readFileSync(join(folder, name), 'utf8')),
    ]),
  );
}

/**
 * Returns a description translated with this dictionary. `used` and `missing` collect the texts that were
 * found and those that were not, as `section: text`.
 *
 * @param {Record<string, unknown>} description
 * @param {Dictionary} dictionary
 * @param {Set<string>} used
 * @param {Set<string>} missing
 */
export function translated(description, dictionary, used, missing) {
  /** @param {string} section @param {string} text @param {string} thing */
  const word = (section, text, thing) => {
    const found = dictionary[section]?.[text];
    const said = typeof found === 'object' ? (found[thing] ?? found['']) : found;
    (said === undefined ? missing : used).add(`${section}: ${text}`);
    return said ?? text;
  };
  /** @param {string} section @param {unknown} value @param {string} thing @returns {unknown} */
  const walk = (section, value, thing) => {
    if (Array.isArray(value)) return value.map((item) => walk(section, item, thing));
    if (typeof value !== 'object' || value === null) return value;
    // The items of a section have ids. Objects inside an item may have ids too, which do not count.
    const within = thing === '' && 'id' in value ? String(value.id) : thing;
    return Object.fromEntries(
      Object.entries(value).map(([key, inner]) => {
        if (typeof inner !== 'string') return [key, walk(section, inner, within)];
        return [key, WORDS.has(key) && inner !== '' ? word(section, inner, within) : inner];
      }),
    );
  };
  return Object.fromEntries(
    Object.entries(description).map(([key, value]) => {
      if (typeof value === 'string' && WORDS.has(key)) return [key, word('machines', value, '')];
      return [key, walk(key, value, '')];
    }),
  );
}
