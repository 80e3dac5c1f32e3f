// Reads the modules of a Rust crate with every path in them.

import { posix } from 'node:path';
import { childrenOf, lineOf, syntaxOf } from './syntax.mjs';

/** @typedef {import('./syntax.mjs').Node} Node */
/** @typedef {import('./syntax.mjs').Sources} Sources */
/**
 * A path in the text of a file.
 *
 * @typedef {object} Path
 * @property {string[]} segments
 * @property {number} line
 * @property {string} text
 * @property {string} [reexportedAs] the name that a `pub use` gives it
 */

/** A module: a file, or a part of a file in braces. */
export class Module {
  /** @type {Map<string, Module>} */
  children = new Map();
  /** Names that a `use` brings in, with their paths. @type {Map<string, string[]>} */
  names = new Map();
  /** Modules that a glob (`use a::*`) imports from. @type {string[][]} */
  globs = [];
  /** Names that are defined here. @type {Set<string>} */
  items = new Set();
  /** Names that the code uses. @type {Set<string>} */
  usedNames = new Set();
  /** @type {Path[]} */
  paths = [];

  /** @param {string} file @param {string} folder of its child modules @param {Module} [parent] */
  constructor(file, folder, parent) {
    this.file = file;
    this.folder = folder;
    this.parent = parent;
  }

  /** The module at the root of the crate. @returns {Module} */
  get root() {
    return this.parent?.root ?? this;
  }
}

const ITEMS = new Set([
  'const_item',
  'enum_item',
  'function_item',
  'macro_definition',
  'static_item',
  'struct_item',
  'trait_item',
  'type_item',
  'union_item',
]);
const SCOPED = new Set(['scoped_identifier', 'scoped_type_identifier']);
const NAMES = new Set(['crate', 'identifier', 'self', 'super', 'type_identifier']);
/** Nodes without paths to follow: text, and `pub(in crate::job)`. */
const SILENT = new Set([
  'block_comment',
  'line_comment',
  'raw_string_literal',
  'string_literal',
  'visibility_modifier',
]);
const ONLY_IN_TESTS = /^#\[\s*(?:test\s*\]|cfg\(\s*(?:all\(\s*)?test\b)/;

/** The children of a node, without comments and without code for unit tests. @param {Node} node */
function shippedChildren(node) {
  let tested = false;
  return childrenOf(node).filter((child) => {
    if (child.type.endsWith('_comment')) return false;
    if (child.type === 'attribute_item') {
      tested ||= ONLY_IN_TESTS.test(child.text);
      return !tested;
    }
    const kept = !tested;
    tested = false;
    return kept;
  });
}

/** Reads the modules of a crate. */
class Reader {
  /** @param {Sources} sources */
  constructor(sources) {
    this.sources = sources;
  }

  /** @param {string} file @param {string} folder @param {Module} [parent] */
  readFile(file, folder, parent) {
    const text = this.sources.get(file);
    if (text === undefined) throw new Error(`${file}: there is no such file.`);
    const module = new Module(file, folder, parent);
    this.readBody(syntaxOf(file, text), module);
    return module;
  }

  /** @param {Node} body @param {Module} module */
  readBody(body, module) {
    for (const item of shippedChildren(body)) {
      const name = item.childForFieldName('name');
      if (name && ITEMS.has(item.type)) module.items.add(name.text);
      this.read(item, module);
    }
  }

  /** @param {Node} node @param {Module} module */
  read(node, module) {
    if (SILENT.has(node.type)) return;
    if (NAMES.has(node.type)) module.usedNames.add(node.text);
    else if (node.type === 'mod_item') this.readChild(node, module);
    else if (node.type === 'use_declaration') readUse(node, module);
    else if (node.type === 'token_tree') this.readTokens(node, module);
    else if (SCOPED.has(node.type)) this.readPath(node, module);
    else for (const child of shippedChildren(node)) this.read(child, module);
  }

  /** `mod name;` or `mod name { ... }` @param {Node} node @param {Module} module */
  readChild(node, module) {
    const name = node.childForFieldName('name')?.text ?? '';
    const body = node.childForFieldName('body');
    const folder = posix.join(module.folder, name);
    if (body) {
      const inline = new Module(module.file, folder, module);
      module.children.set(name, inline);
      return this.readBody(body, inline);
    }
    const file = this.fileOf(node, module, folder);
    if (!file)
      throw new Error(`${module.file}:${lineOf(node)}: the file of the module \`${name}\` is not there.`);
    module.children.set(name, this.readFile(file, folder, module));
  }

  /**
   * The file of `mod name;`, which an attribute may name.
   *
   * @param {Node} node
   * @param {Module} module
   * @param {string} folder
   */
  fileOf(node, module, folder) {
    const named = /^#\[\s*path\s*=\s*"(.*)"\s*\]$/.exec(node.previousNamedSibling?.text ?? '');
    const files = named
      ? [posix.join(posix.dirname(module.file), named[1])]
      : [`${folder}.rs`, `${folder}/mod.rs`];
    return files.find((file) => this.sources.has(file));
  }

  /**
   * Reads a path `a::b::<C>::d`; the arguments in angle brackets are read as paths of their own.
   *
   * @param {Node} node
   * @param {Module} module
   */
  readPath(node, module) {
    /** @type {string[]} */
    const segments = [];
    /** @param {Node | null} part @returns {boolean} whether it is a path from its beginning */
    const collect = (part) => {
      if (!part) return false;
      if (part.type === 'generic_type') {
        const args = part.childForFieldName('type_arguments');
        if (args) this.read(args, module);
        return collect(part.childForFieldName('type'));
      }
      if (SCOPED.has(part.type)) {
        if (!collect(part.childForFieldName('path'))) return false;
        return collect(part.childForFieldName('name'));
      }
      if (!NAMES.has(part.type)) {
        this.read(part, module);
        return false;
      }
      segments.push(part.text);
      return true;
    };
    if (collect(node)) addPath(module, segments, node);
  }

  /**
   * Reads the paths in the arguments of a macro, which have no syntax tree: a path is names joined by `::`.
   *
   * @param {Node} tree
   * @param {Module} module
   */
  readTokens(tree, module) {
    const tokens = tree.children.filter((token) => token !== null);
    for (let at = 0; at < tokens.length; at += 1) {
      const first = tokens[at];
      if (!NAMES.has(first.type)) {
        this.read(first, module);
        continue;
      }
      const segments = [first.text];
      while (tokens[at + 1]?.type === '::' && NAMES.has(tokens[at + 2]?.type)) {
        segments.push(tokens[at + 2].text);
        at += 2;
      }
      if (segments.length > 1) addPath(module, segments, first);
      else module.usedNames.add(first.text);
    }
  }
}

/** @param {Module} module @param {string[]} segments @param {Node} node */
function addPath(module, segments, node) {
  module.usedNames.add(segments[0]);
  module.paths.push({ segments, line: lineOf(node), text: segments.join('::') });
}

/** @param {Node} declaration @param {Module} module */
function readUse(declaration, module) {
  const reexported = declaration.namedChildren.some((child) => child?.type === 'visibility_modifier');
  const argument = declaration.childForFieldName('argument');
  if (!argument) return;
  for (const { segments, name, node } of leaves(argument, [])) {
    if (name === '*') module.globs.push(segments);
    else module.names.set(name, segments);
    const text = `use ${segments.join('::')}${name === '*' ? '::*' : ''}`;
    module.paths.push({ segments, line: lineOf(node), text, ...(reexported && { reexportedAs: name }) });
  }
}

/**
 * The items that a `use` names, one by one.
 *
 * @param {Node} node
 * @param {string[]} before the segments in front of the braces
 * @returns {{ segments: string[], name: string, node: Node }[]}
 */
function leaves(node, before) {
  const field = (/** @type {string} */ name) => node.childForFieldName(name)?.text.split('::') ?? [];
  const leaf = (/** @type {string[]} */ segments, name = segments.at(-1) ?? '') => [
    { segments: [...before, ...segments], name, node },
  ];
  switch (node.type) {
    case 'use_list':
      return childrenOf(node).flatMap((child) => leaves(child, before));
    case 'scoped_use_list': {
      const list = node.childForFieldName('list');
      return list ? leaves(list, [...before, ...field('path')]) : [];
    }
    case 'use_as_clause':
      return leaf(field('path'), field('alias')[0]);
    case 'use_wildcard':
      return leaf(
        childrenOf(node).flatMap((child) => child.text.split('::')),
        '*',
      );
    case 'self':
      return before.length > 0 ? leaf([], before.at(-1)) : leaf(['self']);
    case 'line_comment':
    case 'block_comment':
      return [];
    default:
      return leaf(node.text.replaceAll(/\s/g, '').split('::'));
  }
}

/**
 * The module at the root of a crate, with all below it.
 *
 * @param {Sources} sources
 * @param {string} root the file of the root
 */
export const readCrate = (sources, root) => new Reader(sources).readFile(root, posix.dirname(root));
