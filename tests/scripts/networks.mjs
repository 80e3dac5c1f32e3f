// `npm --prefix tests run networks`: times published networks in every engine: native with one thread, and WebAssembly
// with simd128 in Node and in Chromium. The figures are for reading, not a test. `-- NAMES` picks networks (default:
// those that take a browser seconds), `-- --seconds N` limits the time for each figure.

import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { gunzipSync } from 'node:zlib';
import { bind, compile, MODULE } from '../../web/scripts/engine.mjs';
import { main, run, step, Stop } from '../../web/scripts/steps.mjs';
import { needPackages, needRust, ROOT, TESTS, WEB } from '../../web/scripts/toolchain.mjs';
import { needBrowser } from './browser.mjs';
import { inChromium, inNode } from './in-engine.mjs';
import { middle } from './measure.mjs';

const TASKS = /** @type {const} */ (['compile', 'new', 'sweep']);
const USUAL = [
  'asia',
  'child',
  'insurance',
  'alarm',
  'hailfinder',
  'hepar2',
  'win95pts',
  'water',
  'andes',
  'barley',
];
/** Relative tolerance of a sum over thousands of probabilities that agree within 1e-9 each. */
const SAME = 1e-9;

/** @typedef {{ ms: number, check: number, set?: number }} Timed */
/** @typedef {Record<string, Timed[]>} Times by task */

/** @template T @param {T[]} all @param {(one: T) => string} key @returns {Map<string, T[]>} */
function by(all, key) {
  /** @type {Map<string, T[]>} */
  const found = new Map();
  for (const one of all) {
    const of = found.get(key(one));
    if (of) of.push(one);
    else found.set(key(one), [one]);
  }
  return found;
}

/** @param {string} folder @param {string} name */
function read(folder, name) {
  const file = readdirSync(join(TESTS, 'peers', folder)).find(
    (one) => one === `${name}.json` || one === `${name}.json.gz`,
  );
  if (file === undefined) throw new Stop(`There is no network "${name}" in tests/peers/${folder}.`);
  const bytes = readFileSync(join(TESTS, 'peers', folder, file));
  return JSON.parse((file.endsWith('.gz') ? gunzipSync(bytes) : bytes).toString());
}

/**
 * Times the tasks in an engine, in Node and in the browser. An answer is timed together with as many more as the
 * clock needs to measure milliseconds.
 *
 * @param {any} bound @param {{ text: string, sets: number, seconds: number }} work @returns {Times}
 */
function inEngine(bound, { text, sets, seconds }) {
  const questions = new bound.Questions(text);
  const often = (/** @type {() => number} */ does, of = 1) => {
    /** @type {Timed[]} */
    const all = [];
    for (const begun = performance.now(); all.length === 0 || performance.now() - begun < 1e3 * seconds;) {
      const started = performance.now();
      const check = does();
      all.push({ ms: (performance.now() - started) / of, check });
    }
    return all;
  };
  let rounds = 1;
  for (;;) {
    const started = performance.now();
    questions.answers(rounds);
    if (performance.now() - started > 5) break;
    rounds *= 2;
  }
  return {
    compile: often(() => questions.compile()),
    new: often(() => questions.answers(rounds), rounds * (sets - 1)),
    sweep: often(() => questions.sweep()),
  };
}

/** @param {string} program @param {string} file @param {number} seconds @returns {Promise<Times>} */
async function native(program, file, seconds) {
  const args = [file, '--tasks', TASKS.join(','), '--seconds', String(seconds)];
  const lines = await run(program, args, { quiet: true, env: { RAYON_NUM_THREADS: '1' } });
  return Object.fromEntries(
    by(
      lines
        .trim()
        .split('\n')
        .map((line) => JSON.parse(line)),
      ({ task }) => task,
    ),
  );
}

const sum = (/** @type {number[]} */ numbers) => numbers.reduce((so_far, one) => so_far + one, 0);

/** The mean over sets of the median times, and the sum of their checks. @param {Timed[]} all */
function summary(all) {
  const sets = [...by(all, ({ set }) => String(set)).values()];
  return {
    ms: sum(sets.map((of) => middle(of.map(({ ms }) => ms)))) / sets.length,
    check: sum(sets.map(([first]) => first?.check ?? NaN)),
  };
}

await main(async () => {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: { seconds: { type: 'string', default: '1' } },
  });
  const seconds = Number(values.seconds);
  const tools = await needRust();
  await needPackages(WEB);
  await needPackages(TESTS);
  const browser = await needBrowser();
  const work = mkdtempSync(join(tmpdir(), 'halfsplit-'));
  const engine = join(work, 'engine');
  const program = join(process.env.CARGO_TARGET_DIR ?? join(ROOT, 'target'), 'release', 'bench_work');
  await step('Building the engines', async () => {
    await bind(tools, await compile(['--example', 'networks'], true, 'networks'), true, engine);
    await run('cargo', ['build', '--release', '-q', '-p', 'halfsplit-tests', '--bin', 'bench_work'], {
      cwd: ROOT,
    });
  });
  await step('Networks', async () => {
    console.log('   milliseconds of one native thread; and how many times that in Node, and in Chromium');
    console.log(`   ${'network'.padEnd(12)}${TASKS.map((task) => task.padStart(28)).join('')}`);
    for (const name of positionals.length > 0 ? positionals : USUAL) {
      const sets = read('fixtures', name)
        .cases.map((/** @type {{ evidence: object }} */ { evidence }) => evidence)
        .reverse();
      const file = join(work, `${name}.json`);
      const text = JSON.stringify({ network: read('networks', name), sets, again: [] });
      writeFileSync(file, text);
      const asked = { text, sets: sets.length, seconds };
      const module = `${MODULE}_bg.wasm`;
      const all = [
        await native(program, file, seconds),
        await inNode(inEngine, asked, engine, module),
        await inChromium(browser, inEngine, asked, engine, module),
      ];
      const cells = TASKS.map((task) => {
        const [ours, ...others] = all.map((times) => summary(times[task] ?? []));
        if (ours === undefined) return '';
        const ratios = others.map(({ ms, check }) => {
          if (!(Math.abs(check - ours.check) <= SAME * Math.abs(ours.check)))
            throw new Stop(`${name}, ${task}: ${check} is not ${ours.check}.`);
          return (ms / ours.ms).toFixed(2);
        });
        return `${ours.ms.toPrecision(4)} ms (${ratios.join(', ')})`.padStart(28);
      });
      console.log(`   ${name.padEnd(12)}${cells.join('')}`);
    }
  });
  rmSync(work, { recursive: true });
  process.exit(0);
});
