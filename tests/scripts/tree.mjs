// Reads the sources of the repository for the check of the layers.

import { readdirSync, readFileSync } from 'node:fs';
import { join, posix, relative, sep } from 'node:path';
import { run } from '../../web/scripts/steps.mjs';
import { ROOT } from '../../web/scripts/toolchain.mjs';

/** @typedef {import('./syntax.mjs').Sources} Sources */
/** @typedef {import('./imports-rust.mjs').Crate} Crate */

/** Folders of installed or built files. */
const OTHERS = new Set(['artefacts', 'dist', 'engine', 'node_modules', 'target']);

/** The paths of all files below a folder. @param {string} folder @returns {string[]} */
function filesBelow(folder) {
  return readdirSync(join(ROOT, folder), { withFileTypes: true }).flatMap((entry) => {
    const path = posix.join(folder, entry.name);
    if (!entry.isDirectory()) return path;
    return OTHERS.has(entry.name) || entry.name.startsWith('.') ? [] : filesBelow(path);
  });
}

/** @param {string[]} folders @param {RegExp} named @returns {Sources} */
function sourcesBelow(folders, named) {
  const files = folders.flatMap(filesBelow).filter((file) => named.test(file));
  return new Map(files.map((file) => [file, readFileSync(join(ROOT, file), 'utf8')]));
}

/** The sources of all crates. @returns {Sources} */
export const rustSources = () => sourcesBelow(['core', 'wasm', 'tests'], /\.rs$/);

/** The sources of the page without its unit tests. @returns {Sources} */
export const pageSources = () => sourcesBelow(['web/src'], /(?<!\.test|\.d)\.tsx?$/);

/** The crates of the workspace, as cargo names them. @returns {Promise<Crate[]>} */
export async function crates() {
  const output = await run('cargo', ['metadata', '--no-deps', '--format-version', '1'], {
    cwd: ROOT,
    quiet: true,
  });
  /** @type {{ packages: { targets: { name: string, kind: string[], src_path: string }[] }[] }} */
  const { packages } = JSON.parse(output);
  return packages.flatMap(({ targets }) =>
    targets.map(({ name, kind, src_path: path }) => {
      const root = relative(ROOT, path).replaceAll(sep, '/');
      const importable = kind.some((one) => one.endsWith('lib'));
      return importable ? { name: name.replaceAll('-', '_'), root } : { root };
    }),
  );
}
