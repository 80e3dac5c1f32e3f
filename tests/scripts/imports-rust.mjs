// Reads the imports of the Rust crates' files.
//
// An import is a path: in a `use`, in the code, or among the arguments of a macro. It leads to the file that defines
// what it names, through every re-export (`pub use`) on the way. A method that is found by the type of its value has
// no path, and is not seen.

import { readCrate } from './modules-rust.mjs';

/** @typedef {import('./modules-rust.mjs').Module} Module */
/** @typedef {import('./syntax.mjs').Sources} Sources */
/** @typedef {import('./layers.mjs').Import} Import */
/** @typedef {{ name?: string, root: string }} Crate a crate without a name cannot be imported */

/** Resolves paths to files. */
class Resolver {
  /** @param {Map<string, Module>} crates */
  constructor(crates) {
    this.crates = crates;
    /** Names that are being resolved: a name that leads back to itself has no target. @type {Set<string[]>} */
    this.following = new Set();
  }

  /**
   * The file that defines the item of a path, and the module if it is one; undefined for another crate.
   *
   * @param {string[]} path
   * @param {Module} module where the path stands
   * @returns {{ file: string, module?: Module } | undefined}
   */
  resolve([first = '', ...rest], module) {
    if (first === 'crate') return this.walk(module.root, rest);
    if (first === 'self') return this.walk(module, rest);
    if (first === 'super') {
      const parent = module.parent ?? module;
      return rest[0] === 'super' ? this.resolve(rest, parent) : this.walk(parent, rest);
    }
    const child = module.children.get(first);
    if (child) return this.walk(child, rest);
    const name = module.names.get(first);
    if (name && !this.following.has(name)) return this.follow(name, module, rest);
    const crate = this.crates.get(first);
    return crate && this.walk(crate, rest);
  }

  /** @param {string[]} name @param {Module} module @param {string[]} rest */
  follow(name, module, rest) {
    this.following.add(name);
    const found = this.resolve(name, module);
    this.following.delete(name);
    return found?.module ? this.walk(found.module, rest) : found;
  }

  /** @param {Module} module @param {string[]} path @returns {{ file: string, module?: Module }} */
  walk(module, path) {
    const [first, ...rest] = path;
    if (first === undefined) return { file: module.file, module };
    const child = module.children.get(first);
    if (child) return this.walk(child, rest);
    const name = module.names.get(first);
    const reexported = name && !this.following.has(name) ? this.follow(name, module, rest) : undefined;
    return reexported ?? this.throughGlobs(module, path) ?? { file: module.file };
  }

  /** @param {Module} module @param {string[]} path */
  throughGlobs(module, path) {
    if (module.items.has(path[0])) return undefined;
    for (const glob of module.globs) {
      if (this.following.has(glob)) continue;
      this.following.add(glob);
      const found = this.resolve(glob, module)?.module;
      const holds = found && [found.items, found.names, found.children].some((names) => names.has(path[0]));
      const target = holds ? this.walk(found, path) : undefined;
      this.following.delete(glob);
      if (target) return target;
    }
    return undefined;
  }
}

/** @param {Module} module @returns {Module[]} */
const withChildren = (module) => [module, ...[...module.children.values()].flatMap(withChildren)];

/** One import for each line and target: one that the file uses, if there is one. @param {Import[]} imports */
function oncePerLine(imports) {
  /** @type {Map<string, Import>} */
  const kept = new Map();
  for (const one of imports) {
    const key = `${one.from}:${one.line}:${one.to}`;
    if (kept.get(key)?.reexported ?? true) kept.set(key, one);
  }
  return [...kept.values()];
}

/**
 * Every import of one file of the crates from another.
 *
 * @param {Sources} sources
 * @param {Crate[]} crates
 * @returns {Import[]}
 */
export function rustImports(sources, crates) {
  const read = crates.map(({ name, root }) => ({ name, module: readCrate(sources, root) }));
  const named = read.flatMap(({ name, module }) => (name ? [/** @type {const} */ ([name, module])] : []));
  const resolver = new Resolver(new Map(named));
  const all = read
    .flatMap(({ module }) => withChildren(module))
    .flatMap((module) =>
      module.paths.flatMap(({ segments, line, text, reexportedAs }) => {
        const to = resolver.resolve(segments, module)?.file;
        if (to === undefined || to === module.file) return [];
        const reexported = reexportedAs !== undefined && !module.usedNames.has(reexportedAs);
        return { from: module.file, line, text, to, reexported };
      }),
    );
  return oncePerLine(all);
}
