// Parses Rust and TypeScript sources with tree-sitter.

import { createRequire } from 'node:module';
import { dirname, extname, join } from 'node:path';
import treeSitter from '@vscode/tree-sitter-wasm';

/** @typedef {import('@vscode/tree-sitter-wasm').Node} Node */
/** The text of every source by its path from the root of the repository. @typedef {Map<string, string>} Sources */

/** @type {Record<string, string>} */
const GRAMMARS = { '.rs': 'rust', '.ts': 'typescript', '.tsx': 'tsx' };

const folder = dirname(createRequire(import.meta.url).resolve('@vscode/tree-sitter-wasm'));
await treeSitter.Parser.init();

/** @type {Map<string, import('@vscode/tree-sitter-wasm').Parser>} */
const parsers = new Map();
for (const [extension, grammar] of Object.entries(GRAMMARS)) {
  const parser = new treeSitter.Parser();
  parser.setLanguage(await treeSitter.Language.load(join(folder, `tree-sitter-${grammar}.wasm`)));
  parsers.set(extension, parser);
}

/** The line of a node, counted from 1. @param {Node} node */
export const lineOf = (node) => node.startPosition.row + 1;

/** The children of a node without punctuation. @param {Node} node */
export const childrenOf = (node) => node.namedChildren.filter((child) => child !== null);

/**
 * The root of a file's syntax tree. Throws on a syntax error, so that no import is missed.
 *
 * @param {string} file
 * @param {string} text
 * @returns {Node}
 */
export function syntaxOf(file, text) {
  const root = parsers.get(extname(file))?.parse(text)?.rootNode;
  if (!root) throw new Error(`${file}: there is no grammar for this kind of file.`);
  if (root.hasError)
    throw new Error(`${file}:${lineOf(firstError(root))}: the grammar does not understand this.`);
  return root;
}

/** @param {Node} node @returns {Node} */
function firstError(node) {
  const child = node.children.find((part) => part?.hasError);
  return child && !child.isError ? firstError(child) : (child ?? node);
}
