// Reads the imports of the page's files.

import { posix } from 'node:path';
import { childrenOf, lineOf, syntaxOf } from './syntax.mjs';

/** @typedef {import('./syntax.mjs').Node} Node */
/** @typedef {import('./layers.mjs').Import} Import */

/** The statements and calls that can name another file. */
const IMPORTING = ['import_statement', 'export_statement', 'call_expression'];

/**
 * The string that names the imported file; undefined if the node imports nothing.
 *
 * @param {Node} node
 * @returns {Node | undefined}
 */
function specifierOf(node) {
  if (node.type !== 'call_expression') return node.childForFieldName('source') ?? undefined;
  if (node.childForFieldName('function')?.type !== 'import') return undefined;
  return node.childForFieldName('arguments')?.firstNamedChild ?? undefined;
}

/**
 * The file that a specifier leads to. A file that is not there (the generated engine) is named as written.
 *
 * @param {string} from
 * @param {string} specifier
 * @param {import('./syntax.mjs').Sources} sources
 */
function targetOf(from, specifier, sources) {
  const path = posix.join(posix.dirname(from), specifier.replace(/\?.*$/, ''));
  const written = ['', '.ts', '.tsx', '/index.ts', '/index.tsx'].map((ending) => path + ending);
  return written.find((file) => sources.has(file)) ?? path;
}

/**
 * Every import of one file of the page from another: `import`, `import type`, `export ... from`, `import()`.
 *
 * @param {import('./syntax.mjs').Sources} sources
 * @returns {Import[]}
 */
export function pageImports(sources) {
  return [...sources].flatMap(([from, text]) =>
    syntaxOf(from, text)
      .descendantsOfType(IMPORTING)
      .flatMap((node) => (node && specifierOf(node)) ?? [])
      .flatMap((specifier) => {
        if (specifier.type !== 'string') {
          throw new Error(
            `${from}:${lineOf(specifier)}: write the specifier of an import as a plain string.`,
          );
        }
        const name = childrenOf(specifier)
          .map((part) => part.text)
          .join('');
        if (!name.startsWith('.')) return [];
        return {
          from,
          line: lineOf(specifier),
          text: `"${name}"`,
          to: targetOf(from, name, sources),
          reexported: false,
        };
      }),
  );
}
