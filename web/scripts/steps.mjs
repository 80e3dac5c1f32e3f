// Runs programs and reports progress. This file needs Node alone, because these scripts run before
// anything is installed.

import { spawn, spawnSync } from 'node:child_process';
import { existsSync, statSync } from 'node:fs';
import { basename, delimiter, join } from 'node:path';

/** A failure that explains itself: it is shown without a stack trace. */
export class Stop extends Error {}

const bold = (/** @type {string} */ text) =>
  process.stdout.isTTY && !process.env.NO_COLOR ? `\x1b[1m${text}\x1b[0m` : text;

/** `1m 50s`, `12s` or `0.4s`. @param {number} milliseconds */
export function duration(milliseconds) {
  const seconds = milliseconds / 1000;
  if (seconds < 10) return `${seconds.toFixed(1)}s`;
  const whole = Math.round(seconds);
  return whole < 60 ? `${whole}s` : `${Math.floor(whole / 60)}m ${whole % 60}s`;
}

/** A heading of its own. @param {string} title */
export function heading(title) {
  console.log(`\n${bold(`== ${title}`)}`);
}

/**
 * Does one step of the work under its heading, and prints how long it took.
 *
 * @template T
 * @param {string} title
 * @param {() => T | Promise<T>} work
 * @returns {Promise<T>}
 */
export async function step(title, work) {
  heading(title);
  const start = Date.now();
  const result = await work();
  console.log(`   done in ${duration(Date.now() - start)}`);
  return result;
}

/** Programs that are running now; a signal to this process ends them. */
const running = new Set();
let ending = false;

/** @param {NodeJS.Signals} signal */
function end(signal) {
  if (ending) process.exit(1);
  ending = true;
  for (const child of running) child.kill(signal);
  if (running.size === 0) process.exit(0);
}

for (const signal of /** @type {const} */ (['SIGINT', 'SIGTERM', 'SIGHUP'])) {
  process.on(signal, () => end(signal));
}

// npm starts a script through a shell, which does not pass on a signal sent to npm. This script notices
// that the shell is gone, so that no server is left running.
if (process.env.npm_lifecycle_event) {
  const parent = process.ppid;
  setInterval(() => {
    if (process.ppid !== parent && !ending) end('SIGTERM');
  }, 500).unref();
}

/**
 * The environment for a program: that of this process with changes (undefined removes a variable), and
 * without the variables that an outer `npm --prefix` would impose on an inner npm.
 *
 * @param {NodeJS.ProcessEnv} [changes]
 */
function environment(changes = {}) {
  // Names of variables ignore case on Windows.
  const key = (/** @type {string} */ name) => (process.platform === 'win32' ? name.toUpperCase() : name);
  const changed = new Set(Object.keys(changes).map(key));
  const imposed = /^npm_(package|lifecycle|config_(prefix|local_prefix|global_prefix))/i;
  const kept = Object.entries(process.env).filter(([name]) => !changed.has(key(name)) && !imposed.test(name));
  return { ...Object.fromEntries(kept), ...changes };
}

/**
 * Runs a program and passes its output through. `keep` also returns its standard output; `quiet` only
 * returns it.
 *
 * @param {string} program
 * @param {string[]} args
 * @param {{ cwd?: string, env?: NodeJS.ProcessEnv, keep?: boolean, quiet?: boolean }} [options]
 * @returns {Promise<{ code: number, output: string }>} does not throw when the program fails
 */
export function attempt(program, args, options = {}) {
  const piped = options.keep || options.quiet;
  return new Promise((resolve, reject) => {
    const child = spawn(program, args, {
      cwd: options.cwd,
      env: environment(options.env),
      stdio: ['ignore', piped ? 'pipe' : 'inherit', 'inherit'],
      windowsHide: true,
    });
    running.add(child);
    let output = '';
    child.stdout?.setEncoding('utf8');
    child.stdout?.on('data', (text) => {
      output += text;
      if (!options.quiet) process.stdout.write(text);
    });
    child.on('error', (error) => {
      running.delete(child);
      reject(new Stop(`${program} could not be started: ${error.message}`));
    });
    child.on('close', (code, signal) => {
      running.delete(child);
      if (ending) process.exit(130);
      resolve({ code: code ?? (signal ? 1 : 0), output });
    });
  });
}

/**
 * Like {@link attempt}, but throws a {@link Stop} when the program fails.
 *
 * @param {string} program
 * @param {string[]} args
 * @param {Parameters<typeof attempt>[2]} [options]
 */
export async function run(program, args, options) {
  const { code, output } = await attempt(program, args, options);
  if (code !== 0) {
    const shown = [basename(program), ...args].join(' ');
    throw new Stop(`\`${shown}\` ended with code ${code}. Its own message is above.`);
  }
  return output;
}

/**
 * The standard output of a short program, or null if it is missing or fails.
 *
 * @param {string} program
 * @param {string[]} args
 * @param {{ cwd?: string }} [options]
 */
export function ask(program, args, options = {}) {
  const { status, stdout } = spawnSync(program, args, {
    ...options,
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'ignore'],
    timeout: 60_000,
    windowsHide: true,
  });
  return status === 0 ? stdout.trim() : null;
}

const EXE = process.platform === 'win32' ? '.exe' : '';

/** The program `name` inside `folder`, or null. @param {string} folder @param {string} name */
export function programIn(folder, name) {
  const path = join(folder, name + EXE);
  return existsSync(path) && statSync(path).isFile() ? path : null;
}

/** Every program called `name` on PATH, in order. @param {string} name */
export function programsOnPath(name) {
  const folders = (process.env.PATH ?? '').split(delimiter).filter(Boolean);
  return folders.flatMap((folder) => programIn(folder, name) ?? []);
}

/** The text to print for an error: the message of a stop, or the stack trace of any other error. @param {unknown} error */
export function explain(error) {
  if (error instanceof Stop) return error.message;
  return error instanceof Error ? error.stack : String(error);
}

/** Runs `work` as a whole script; if it fails, prints the reason and ends with code 1. */
export async function main(/** @type {() => Promise<void>} */ work) {
  try {
    await work();
  } catch (error) {
    console.error(`\n${explain(error)}`);
    process.exitCode = 1;
  }
}
