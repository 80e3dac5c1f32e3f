// Checks imports against the table of layers in tests/layers.txt.

/**
 * @typedef {object} Import
 * @property {string} from the file that imports
 * @property {number} line
 * @property {string} text as it is written
 * @property {string} to the file that defines what is imported
 * @property {boolean} reexported whether the file only re-exports it, and does not use it itself
 */
/** @typedef {{ name: string, part: string, block: number, line: number, paths: string[] }} Layer */
/** @typedef {{ from: string, to: string, line: number }} Exception */
/** @typedef {{ name: string, layers: Layer[], exceptions: Exception[] }} Table */

/** @param {Import} one @param {{ from: string, to: string }} other */
const sameFiles = (one, other) => one.from === other.from && one.to === other.to;

/**
 * Reads the table from a text.
 *
 * @param {string} text
 * @param {string} name of its file, for messages
 * @returns {Table}
 */
export function readTable(text, name) {
  /** @type {Table} */
  const table = { name, layers: [], exceptions: [] };
  let [part, block] = ['', 0];
  for (const [index, whole] of text.split('\n').entries()) {
    const line = index + 1;
    const [said, reason] = whole.split('#').map((half) => half.trim());
    const words = said.split(/\s+/);
    const heading = /^\[(.+)\]$/.exec(said);
    if (whole.trim() === '') block += 1;
    else if (said === '') continue;
    else if (heading) part = heading[1];
    else if (words[1] === '->') table.exceptions.push(readException(words, reason, `${name}:${line}`, line));
    else if (words.length > 1)
      table.layers.push({ name: words[0], part, block, line, paths: words.slice(1) });
    else throw new Error(`${name}:${line}: write a name and the files, or "file -> file  # reason".`);
  }
  return table;
}

/** @param {string[]} words @param {string | undefined} reason @param {string} place @param {number} line */
function readException([from, , to, ...more], reason, place, line) {
  if (!to || more.length > 0 || !reason)
    throw new Error(`${place}: write an exception as "file -> file  # reason".`);
  return { from, to, line };
}

/** Whether a path of the table holds a file. @param {string} path @param {string} file */
const holds = (path, file) => (path.endsWith('/') ? file.startsWith(path) : file === path);

/** The layer of a file: that of the longest path which holds it. @param {Table} table @param {string} file */
function layerOf(table, file) {
  const [found] = table.layers
    .flatMap((layer) => layer.paths.map((path) => ({ layer, path })))
    .filter(({ path }) => holds(path, file))
    .sort((a, b) => b.path.length - a.path.length);
  return found?.layer;
}

/**
 * The rule that an import breaks; undefined if the import is allowed.
 *
 * @param {Layer} from
 * @param {Layer} to
 */
function ruleBroken(from, to) {
  if (from === to || (from.part === to.part && from.block < to.block)) return undefined;
  if (from.part !== to.part)
    return `"${from.name}" is of the part [${from.part}], "${to.name}" of [${to.part}]`;
  if (from.block === to.block)
    return `"${from.name}" and "${to.name}" stand in one block, and do not import each other`;
  return `"${to.name}" stands above "${from.name}"`;
}

/**
 * The imports that the table forbids, each with what to do about it.
 *
 * @param {Table} table
 * @param {Import[]} imports
 */
export function forbiddenImports(table, imports) {
  return imports.flatMap((one) => {
    const [from, to] = [layerOf(table, one.from), layerOf(table, one.to)];
    if (!from || !to || table.exceptions.some((exception) => sameFiles(one, exception))) return [];
    const rule = ruleBroken(from, to);
    if (!rule) return [];
    return `${one.from}:${one.line}: \`${one.text}\` imports ${one.to}.
    Rule: ${rule} (${table.name}:${to.line}). A layer imports only from the blocks below it.
    To do: move what both need into the lower layer, or hand it in as an argument.`;
  });
}

/**
 * The shortest path along imports from one file to another.
 *
 * @param {Map<string, Import[]>} importsOf
 * @param {string} start
 * @param {string} end
 * @returns {Import[] | undefined}
 */
function wayBetween(importsOf, start, end) {
  /** @type {Import[][]} */
  let ways = [[]];
  const seen = new Set();
  while (ways.length > 0) {
    /** @type {Import[][]} */
    const longer = [];
    for (const way of ways) {
      for (const one of importsOf.get(way.at(-1)?.to ?? start) ?? []) {
        if (one.to === end) return [...way, one];
        if (!seen.has(one.to)) longer.push([...way, one]);
        seen.add(one.to);
      }
    }
    ways = longer;
  }
  return undefined;
}

/**
 * The imports by file, without those that only re-export.
 *
 * @param {Import[]} imports
 */
function byFile(imports) {
  /** @type {Map<string, Import[]>} */
  const importsOf = new Map();
  for (const one of imports.filter(({ reexported }) => !reexported)) {
    importsOf.set(one.from, [...(importsOf.get(one.from) ?? []), one]);
  }
  return importsOf;
}

/**
 * The circles among files that import each other, one for each group of files: its shortest.
 *
 * @param {Import[]} imports
 * @returns {{ way: Import[], files: string[] }[]}
 */
export function circlesOf(imports) {
  const importsOf = byFile(imports);
  const grouped = new Set();
  return [...importsOf.keys()].sort().flatMap((start) => {
    if (grouped.has(start) || !wayBetween(importsOf, start, start)) return [];
    const files = [...importsOf.keys()].filter(
      (file) => wayBetween(importsOf, start, file) && wayBetween(importsOf, file, start),
    );
    for (const file of files) grouped.add(file);
    const ways = files.flatMap((file) => [wayBetween(importsOf, file, file) ?? []]);
    return { way: ways.reduce((a, b) => (b.length < a.length ? b : a)), files: files.sort() };
  });
}

/**
 * The circles that the table does not allow, each with what to do about it.
 *
 * @param {Table} table
 * @param {Import[]} imports
 */
export function forbiddenCircles(table, imports) {
  const counted = imports.filter((one) => !table.exceptions.some((exception) => sameFiles(one, exception)));
  return circlesOf(counted).map(({ way, files }) => {
    const steps = way.map(({ from, line, text, to }) => `    ${from}:${line}: \`${text}\` imports ${to}`);
    const more =
      files.length > way.length ? `\n    ${files.length} files hang together: ${files.join(', ')}` : '';
    return `${way.length} files import each other in a circle:\n${steps.join('\n')}${more}
    To do: move what both ends need into a file that imports neither.`;
  });
}

/**
 * Whether an exception allows something that is forbidden without it.
 *
 * @param {Table} table
 * @param {Import[]} imports
 * @param {Exception} exception
 */
function isNeeded(table, imports, exception) {
  const allowed = imports.filter((one) => sameFiles(one, exception));
  const inUse = allowed.some(({ reexported }) => !reexported);
  const circling = inUse && wayBetween(byFile(imports), exception.to, exception.from);
  return circling || forbiddenImports({ ...table, exceptions: [] }, allowed).length > 0;
}

/**
 * The files that the table leaves out, and the entries that it does not need.
 *
 * @param {Table} table
 * @param {string[]} files
 * @param {Import[]} imports
 */
export function faultsOfTable(table, files, imports) {
  const all = [...new Set([...files, ...imports.map(({ to }) => to)])];
  const unlisted = all
    .filter((file) => !layerOf(table, file))
    .map((file) => `${file} is in no layer. To do: add it to ${table.name}.`);
  const empty = table.layers.flatMap(({ paths, line }) =>
    paths
      .filter((path) => !all.some((file) => holds(path, file)))
      .map((path) => `${table.name}:${line}: ${path} holds no file. To do: correct it, or take it out.`),
  );
  const idle = table.exceptions
    .filter((exception) => !isNeeded(table, imports, exception))
    .map(
      ({ line }) => `${table.name}:${line}: nothing needs this exception any more. To do: take the line out.`,
    );
  return [...unlisted, ...empty, ...idle];
}
