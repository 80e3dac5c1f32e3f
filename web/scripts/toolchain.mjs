// Installs what the build needs: Rust's WebAssembly target, two tools that cargo installs, and the npm
// packages of a folder.
//
// Nothing here touches ~/.cargo/bin. The tools go to a folder of this project in the user's cache, one
// folder per version, so that two checkouts never overwrite each other's tools.

import { existsSync, mkdirSync, readFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { delimiter, dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { isDeepStrictEqual } from 'node:util';
import { ask, attempt, programIn, programsOnPath, run, step, Stop } from './steps.mjs';

/** The root of the repository. */
export const ROOT = resolve(dirname(fileURLToPath(import.meta.url)), '..', '..');
export const WEB = join(ROOT, 'web');
export const TESTS = join(ROOT, 'tests');

export const WASM_TARGET = 'wasm32-unknown-unknown';
const WASM_PACK = '0.15.1';

/** The folder that keeps tools and browsers between runs. */
export const CACHE = join(process.env.XDG_CACHE_HOME || join(homedir(), '.cache'), 'halfsplit');

/** Whether system packages can be installed: as root on Debian or a system based on it. */
export function canInstallPackages() {
  return process.getuid?.() === 0 && programsOnPath('apt-get').length > 0;
}

/** Installs Debian packages; returns false if that fails. @param {string[]} packages */
export async function installPackages(packages) {
  const env = { DEBIAN_FRONTEND: 'noninteractive' };
  // Without the newest lists a package may point to a file that is no longer on the mirror.
  await attempt('apt-get', ['update'], { env });
  const args = ['install', '-y', '--no-install-recommends', ...packages];
  return (await attempt('apt-get', args, { env })).code === 0;
}

/** Throws unless Node is new enough for the tools that build the page. */
function needNode() {
  const [major, minor] = process.versions.node.split('.').map(Number);
  if (major > 20 || (major === 20 && minor >= 19)) return;
  throw new Stop(`Node ${process.versions.node} is too old: 20.19 or newer is needed (https://nodejs.org).`);
}

/** Makes sure that there is a linker for programs of this machine. */
async function needLinker() {
  if (process.platform === 'win32') return; // rustup asks for it when it installs Rust
  const found = ['cc', 'gcc', 'clang'].some((name) => programsOnPath(name).length > 0);
  if (found) return;
  if (canInstallPackages()) {
    const done = await step('Installing a C compiler: Rust links with it', () =>
      installPackages(['gcc', 'libc6-dev']),
    );
    if (done) return;
  }
  throw new Stop(
    'There is no C compiler (cc), and Rust links with it.\n' +
      'On Debian or Ubuntu: `apt-get install gcc libc6-dev`. On macOS: `xcode-select --install`.',
  );
}

/** Makes sure that cargo and these components are installed. @param {string[]} components */
async function needCargo(components) {
  if (ask('cargo', ['--version'], { cwd: ROOT }) === null) {
    throw new Stop(
      '`cargo` does not run, and the engine is written in Rust.\n' +
        'Install Rust with rustup (https://rustup.rs), open a new terminal, and start again.',
    );
  }
  for (const component of components) {
    if (ask('cargo', [component, '--version'], { cwd: ROOT }) !== null) continue;
    const name = component === 'fmt' ? 'rustfmt' : component;
    await step(`Adding Rust's ${name}`, () => rustup(['component', 'add', name]));
  }
}

/** @param {string[]} args */
async function rustup(args) {
  if (ask('rustup', ['--version']) === null) {
    throw new Stop(
      `\`rustup ${args.join(' ')}\` is needed, and there is no rustup on this machine.\n` +
        'Install Rust with rustup (https://rustup.rs), or add that part to the Rust you have.',
    );
  }
  await run('rustup', args, { cwd: ROOT });
}

/** Makes sure that Rust's standard library for WebAssembly is installed. */
async function needWasmTarget() {
  // Rust prints the folder even if it does not exist. The command runs at the root of the repository,
  // because a folder can have its own toolchain.
  const folder = ask('rustc', ['--print', 'target-libdir', '--target', WASM_TARGET], { cwd: ROOT });
  if (folder !== null && existsSync(folder)) return;
  await step(`Adding Rust's target ${WASM_TARGET}`, () => rustup(['target', 'add', WASM_TARGET]));
}

/** The version of wasm-bindgen in Cargo.lock; the tool must have the same version. */
async function bindgenVersion() {
  const path = join(ROOT, 'Cargo.lock');
  if (!existsSync(path)) await run('cargo', ['generate-lockfile'], { cwd: ROOT });
  const found = /name = "wasm-bindgen"\r?\nversion = "([^"]+)"/.exec(readFileSync(path, 'utf8'));
  if (found === null) throw new Stop(`${path} does not name wasm-bindgen, so there is no engine to build.`);
  return found[1];
}

/** @param {string} path */
function versionOf(path) {
  return /\d+\.\d+\.\d+\S*/.exec(ask(path, ['--version']) ?? '')?.[0];
}

/**
 * The folder with the programs of a crate in exactly this version: on PATH, in the cache, or newly
 * installed in the cache.
 *
 * @param {string} crate
 * @param {string} version
 * @param {string[]} programs the first is asked for its version
 * @param {string[]} options for `cargo install`
 */
async function tool(crate, version, programs, options) {
  const root = join(CACHE, 'tools', `${crate}-${version}`);
  const folders = [join(root, 'bin'), ...programsOnPath(programs[0]).map((path) => dirname(path))];
  for (const folder of folders) {
    const paths = programs.map((name) => programIn(folder, name));
    if (paths.every((path) => path !== null) && versionOf(String(paths[0])) === version) return folder;
  }
  await step(`Installing ${crate} ${version} (once; about two minutes)`, async () => {
    mkdirSync(root, { recursive: true });
    const args = ['install', crate, '--version', `=${version}`, '--root', root, ...options];
    await run('cargo', args, {
      // Outside the repository, so that its settings do not reach the tool.
      cwd: root,
      env: {
        // Without this, cargo prints the needless advice to add its folder to PATH.
        PATH: [process.env.PATH, join(root, 'bin')].join(delimiter),
        CARGO_BUILD_TARGET: undefined,
        RUSTFLAGS: undefined,
        // If the newest version of a library needs a newer Rust, take an older version.
        CARGO_RESOLVER_INCOMPATIBLE_RUST_VERSIONS: 'fallback',
      },
    });
  });
  return join(root, 'bin');
}

/** The folder of `wasm-bindgen` and `wasm-bindgen-test-runner`. */
async function bindgenFolder() {
  const version = await bindgenVersion();
  // Not `--locked`: the lock file in 0.2.130 names a webpki-roots (1.0.11) that not every mirror has.
  return tool('wasm-bindgen-cli', version, ['wasm-bindgen', 'wasm-bindgen-test-runner'], []);
}

/** The folder of `wasm-pack`, which only the tests use. */
export function wasmPackFolder() {
  return tool('wasm-pack', WASM_PACK, ['wasm-pack'], ['--locked']);
}

/**
 * Everything that building the engine needs.
 *
 * @param {string[]} [components] further subcommands of cargo, such as `clippy`
 * @returns {Promise<string>} the folder of `wasm-bindgen`
 */
export async function needRust(components = []) {
  needNode();
  await needCargo(components);
  await needLinker();
  await needWasmTarget();
  return bindgenFolder();
}

/** Run npm in a folder of the repository. @param {string} folder @param {string[]} args */
export function npm(folder, args, options = {}) {
  // Uses the npm that runs this script, without a shell, or else the one on PATH.
  const own = process.env.npm_execpath;
  const [program, first] =
    own?.endsWith('npm-cli.js') && existsSync(own) ? [process.execPath, [own]] : ['npm', []];
  return attempt(program, [...first, '--prefix', folder, ...args], { cwd: folder, ...options });
}

/** @param {string} path */
function readJson(path) {
  return existsSync(path) ? JSON.parse(readFileSync(path, 'utf8')) : null;
}

/** Whether node_modules holds what the lock file says. @param {string} folder */
function packagesAreThere(folder) {
  const installed = readJson(join(folder, 'node_modules', '.package-lock.json'));
  const lock = readJson(join(folder, 'package-lock.json'));
  const own = readJson(join(folder, 'package.json'));
  if (!installed || !lock) return false;
  const { '': root, ...wanted } = lock.packages;
  const same = ['dependencies', 'devDependencies'].every((kind) =>
    isDeepStrictEqual(root[kind] ?? {}, own[kind] ?? {}),
  );
  const named = { ...own.dependencies, ...own.devDependencies };
  return (
    same &&
    Object.entries(wanted).every(([path, { version, optional, devOptional }]) => {
      const present = installed.packages[path];
      if (present) return present.version === version;
      // Optional packages are for other systems, or ones that a dependency can do without.
      return !named[path.slice('node_modules/'.length)] && (optional || devOptional);
    })
  );
}

/** Installs the npm packages of a folder as its lock file says. @param {string} folder */
export async function needPackages(folder) {
  needNode();
  if (packagesAreThere(folder)) return;
  await step(`Installing the npm packages of ${folder}`, async () => {
    const how = existsSync(join(folder, 'package-lock.json')) ? 'ci' : 'install';
    const quiet = ['--include=dev', '--no-audit', '--no-fund'];
    const { code } = await npm(folder, [how, ...quiet]);
    if (code !== 0) throw new Stop(`\`npm ${how}\` failed in ${folder}. Its own message is above.`);
  });
}
