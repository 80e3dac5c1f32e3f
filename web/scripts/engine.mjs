// Builds the engine: Rust -> WebAssembly -> bindings for the page -> optimised module. The bench has a module without
// and one with SIMD; the study module is for longer computations. They go to web/src/engine, which git ignores.

import { createHash } from 'node:crypto';
import {
  cpSync,
  existsSync,
  mkdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';
import { ask, run, step, Stop } from './steps.mjs';
import { needPackages, needRust, ROOT, WASM_TARGET, WEB } from './toolchain.mjs';
import { LANGUAGES, readWords, translated } from './words.mjs';

const ENGINE = join(WEB, 'src', 'engine');
/** The name of every module and its bindings. */
export const MODULE = 'halfsplit_wasm';
const BINDINGS = `${MODULE}.js`;
const BYTES = `${MODULE}_bg.wasm`;
/**
 * The modules: feature of the crate, SIMD or not, folder and file. The module with simd128 shares the bindings
 * of the one without and stands beside it under its own name.
 */
const MODULES = [
  { name: 'bench', feature: 'bench', simd: false, folder: ENGINE, file: BYTES },
  { name: 'bench with simd128', feature: 'bench', simd: true, folder: ENGINE, file: `${MODULE}_simd.wasm` },
  { name: 'study', feature: 'study', simd: false, folder: join(ENGINE, 'study'), file: BYTES },
];

// The features that rustc uses on this target. wasm-opt refuses instructions of features not listed.
const FEATURES = [
  'bulk-memory',
  'bulk-memory-opt',
  'call-indirect-overlong',
  'multivalue',
  'mutable-globals',
  'nontrapping-float-to-int',
  'reference-types',
  'sign-ext',
];
// Functions that are called in one place are not inlined. Inlining them adds 7 kB in brotli and slows the engine
// in Node, whose compiler is poor at very long functions.
const OPTIMISE = [
  '-O3',
  '--converge',
  '--one-caller-inline-max-function-size=0',
  '--reorder-functions',
  '--reorder-locals',
  '--strip-debug',
  '--strip-producers',
  '--strip-target-features',
  ...FEATURES.map((name) => `--enable-${name}`),
];

// A low threshold for inlining makes the engine 13 kB smaller. The functions that need inlining are marked in the
// crate, so that a ranking takes the same time.
const LITTLE_INLINED = '-C llvm-args=-inline-threshold=5';
const TWO_AT_ONCE = '-C target-feature=+simd128';

/**
 * Compiles a module of the crate and returns its path; cargo does nothing if nothing has changed.
 *
 * @param {string[]} what arguments for cargo @param {boolean} simd @param {string} name of the module
 */
export async function compile(what, simd, name = MODULE) {
  const args = ['build', '-p', 'halfsplit-wasm', '--profile', 'wasm', '--target', WASM_TARGET, ...what];
  // Cargo reports where it put the file, because the user can choose the target folder.
  const messages = await run('cargo', [...args, '--message-format', 'json-render-diagnostics'], {
    cwd: ROOT,
    quiet: true,
    env: {
      RUSTFLAGS: [process.env.RUSTFLAGS, LITTLE_INLINED, simd && TWO_AT_ONCE].filter(Boolean).join(' '),
    },
  });
  const files = messages
    .split('\n')
    .filter((line) => line.startsWith('{'))
    .map((line) => JSON.parse(line))
    .filter((message) => message.reason === 'compiler-artifact')
    .flatMap((message) => message.filenames);
  const file = files.find((path) => path.endsWith(`${name}.wasm`));
  if (file === undefined) throw new Stop(`cargo built halfsplit-wasm, but no ${name}.wasm came out of it.`);
  return file;
}

/** Finds wasm-opt in the npm package binaryen: a script that Node runs on every system. */
function optimiser() {
  try {
    const description = createRequire(join(WEB, 'package.json')).resolve('binaryen/package.json');
    return {
      path: join(dirname(description), 'bin', 'wasm-opt'),
      version: JSON.parse(readFileSync(description, 'utf8')).version,
    };
  } catch {
    throw new Stop(
      'The npm package `binaryen` is missing: it must be among the devDependencies in web/package.json.',
    );
  }
}

/** The options for wasm-opt. @param {boolean} simd */
const options = (simd) => (simd ? [...OPTIMISE, '--enable-simd'] : OPTIMISE);

/**
 * Writes the bindings and the optimised module to a folder and returns the path of the module.
 *
 * @param {string} tools @param {string} compiled @param {boolean} simd @param {string} folder
 */
export async function bind(tools, compiled, simd, folder) {
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  await run(join(tools, 'wasm-bindgen'), [
    compiled,
    '--target',
    'web',
    '--out-dir',
    folder,
    '--out-name',
    MODULE,
  ]);
  const module = join(folder, BYTES);
  await run(process.execPath, [optimiser().path, module, ...options(simd), '-o', `${module}.new`]);
  renameSync(`${module}.new`, module);
  return module;
}

/** Sizes as a visitor's browser downloads them. @param {string} path */
function sizes(path) {
  const bytes = readFileSync(path);
  const brotli = brotliCompressSync(bytes, {
    params: { [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length, [constants.BROTLI_PARAM_QUALITY]: 11 },
  });
  return [bytes.length, gzipSync(bytes, { level: 9 }).length, brotli.length];
}

function printSizes() {
  console.log(`   ${'bytes'.padEnd(46)}${['raw', 'gzip', 'brotli'].map((s) => s.padStart(10)).join('')}`);
  for (const { name, simd, folder, file } of MODULES) {
    for (const one of simd ? [file] : [file, BINDINGS]) {
      const row = sizes(join(folder, one))
        .map((n) => String(n).padStart(10))
        .join('');
      console.log(`   ${`${name}: ${one}`.padEnd(46)}${row}`);
    }
  }
}

/**
 * Writes every full machine description as a file for the page, and the list of machines in the order of
 * the core. The command line prints them, so that the page gets what the core makes of its sources.
 */
async function writeMachines() {
  const core = ['run', '--release', '-p', 'halfsplit', '--bin', 'halfsplit', '--', '--json'];
  const say = async (/** @type {string[]} */ args) =>
    JSON.parse(await run('cargo', [...core, ...args], { cwd: ROOT, quiet: true }));
  const { machines } = await say(['machines']);
  const folder = join(ENGINE, 'machines');
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  /** @type {Record<string, any>[]} */
  const files = [];
  for (const { id } of machines) {
    const file = await say(['inspect', id]);
    writeFileSync(join(folder, `${id}.json`), JSON.stringify(file));
    files.push(file);
  }
  writeLines('machines', files);
  for (const language of LANGUAGES) {
    const dictionary = readWords(language);
    const missing = new Set();
    const spoken = files.map((file) => translated(file, dictionary, new Set(), missing));
    mkdirSync(join(folder, language));
    for (const file of spoken) writeFileSync(join(folder, language, `${file.id}.json`), JSON.stringify(file));
    writeLines(`machines.${language}`, spoken);
    if (missing.size > 0) console.log(`   ${missing.size} texts have no ${language} and stay English`);
  }
  console.log(`   ${machines.length} in ${folder}`);
}

/** Writes the list of machines with the fields that the first screen shows. @param {string} name @param {Record<string, any>[]} files */
function writeLines(name, files) {
  const toolsOf = (/** @type {Record<string, any>} */ file) =>
    file.tools.map((/** @type {any} */ { id, name, common }) => ({ id, name, common }));
  const lines = files.map((file) => ({
    id: file.id,
    name: file.name,
    about: file.about,
    tools: toolsOf(file),
  }));
  writeFileSync(join(ENGINE, `${name}.json`), JSON.stringify(lines));
}

/** Builds one module into its folder, unless the one there has the same inputs. @param {string} tools @param {typeof MODULES[number]} what */
async function buildModule(tools, { name, feature, simd, folder, file }) {
  const compiled = await compile(['--no-default-features', '--features', feature], simd);
  const stampFile = join(folder, `${file}.stamp`);
  const stamp = createHash('sha256')
    .update(readFileSync(compiled))
    .update(
      JSON.stringify([ask(join(tools, 'wasm-bindgen'), ['--version']), optimiser().version, options(simd)]),
    )
    .digest('hex');
  if (existsSync(stampFile) && readFileSync(stampFile, 'utf8').trim() === stamp) {
    console.log(`   ${name}: nothing has changed`);
    return;
  }
  // The module is written beside the compiled file first, so that a served page never gets half an engine.
  const work = join(dirname(compiled), 'engine', feature + (simd ? '-simd' : ''));
  const module = await bind(tools, compiled, simd, work);
  console.log(`   ${name}: ${statSync(compiled).size} bytes, in the end ${statSync(module).size}`);

  rmSync(stampFile, { force: true });
  mkdirSync(folder, { recursive: true });
  if (simd) {
    if (!readFileSync(join(work, BINDINGS)).equals(readFileSync(join(folder, BINDINGS)))) {
      throw new Stop(`${BINDINGS} with simd128 is another than without: the page has one for both.`);
    }
    cpSync(module, join(folder, file));
  } else {
    cpSync(work, folder, { recursive: true });
  }
  writeFileSync(stampFile, `${stamp}\n`);
}

/** Builds the engine into web/src/engine. */
export async function buildEngine() {
  const tools = await needRust();
  await needPackages(WEB);
  await step('Building the engine', async () => {
    // One at a time, because cargo writes them to the same place.
    for (const what of MODULES) await buildModule(tools, what);
    printSizes();
  });
  await step('Writing out the machine descriptions', writeMachines);
  cpSync(join(ROOT, 'core', 'examples', 'jobs', 'demo.json'), join(ENGINE, 'demo.json'));
}
