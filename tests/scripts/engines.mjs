// `npm --prefix tests run engines`: the full ranking on the mower in every engine there is - native with one
// thread and with all, WebAssembly plain and with simd128 in Node and in Chromium. It times the first answer, and
// the last one after the lookahead. The figures are for reading, not a test: they depend on the machine.
// `-- --seconds N` limits the time for each figure, `-- --built` takes the engines that were built last.

import { readFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { buildEngine } from '../../web/scripts/engine.mjs';
import { main, run, step } from '../../web/scripts/steps.mjs';
import { needPackages, ROOT, TESTS, WEB } from '../../web/scripts/toolchain.mjs';
import { needBrowser } from './browser.mjs';
import { inChromium, inNode } from './in-engine.mjs';
import { middle } from './measure.mjs';

const ENGINE = join(WEB, 'src', 'engine');
/** The modules and their names in the table. */
const MODULES = /** @type {const} */ ([
  ['halfsplit_wasm_bg.wasm', ''],
  ['halfsplit_wasm_simd.wasm', ', simd128'],
]);

/** @typedef {{ attempts: number, ms: number[], last_ms: number[], job: object }} Ranking */

/** @param {string} program @param {number} seconds @param {string} threads @returns {Promise<Ranking[]>} */
async function native(program, seconds, threads) {
  const lines = await run(program, ['rankings', '--seconds', String(seconds)], {
    quiet: true,
    env: { RAYON_NUM_THREADS: threads },
  });
  return lines
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line));
}

/**
 * Times the rankings in an engine. It runs in Node and in the browser and uses nothing but its arguments.
 *
 * @param {any} bound @param {{ machine: string, jobs: object[], seconds: number }} work
 * @returns {{ ms: number[], last_ms: number[] }[]} by job
 */
function inEngine(bound, { machine, jobs, seconds }) {
  bound.load_machine(machine);
  /** @param {object} job @param {boolean} last */
  const answer = (job, last) => {
    const session = new bound.AdviceSession(job);
    let { lookahead: ahead } = session.assessment();
    if (last) {
      while (ahead.done < ahead.of) ahead = session.step();
      session.assessment();
    }
    session.free();
  };
  /** @param {object} job @param {boolean} last */
  const timed = (job, last) => {
    const started = performance.now();
    answer(job, last);
    return performance.now() - started;
  };
  // Warms up the engine's compiler.
  for (let i = 0; i < 10; i += 1) timed(jobs[0] ?? {}, true);
  return jobs.map((job) => {
    const ms = [];
    const last_ms = [];
    const begun = performance.now();
    while (ms.length === 0 || performance.now() - begun < 1e3 * seconds) {
      last_ms.push(timed(job, true));
      ms.push(timed(job, false));
    }
    return { ms, last_ms };
  });
}

await main(async () => {
  const { values } = parseArgs({
    options: { seconds: { type: 'string', default: '2' }, built: { type: 'boolean', default: false } },
  });
  const seconds = Number(values.seconds);
  await needPackages(TESTS);
  const { chrome, sandbox } = await needBrowser();
  if (!values.built) await buildEngine();
  const target = process.env.CARGO_TARGET_DIR ?? join(ROOT, 'target');
  const program = join(target, 'release', 'bench_work');
  if (!values.built) {
    await step('Building the native engine', async () => {
      await run('cargo', ['build', '--release', '-q', '-p', 'halfsplit-tests', '--bin', 'bench_work'], {
        cwd: ROOT,
      });
    });
  }
  const machine = readFileSync(join(ENGINE, 'machines', 'mower-recoil.json'), 'utf8');

  /** @type {[string, { ms: number[], last_ms: number[] }[]][]} */
  const rows = [];
  await step('Rankings', async () => {
    const alone = await native(program, seconds, '1');
    const jobs = alone.map(({ job }) => job);
    const attempts = alone.map((one) => one.attempts);
    rows.push(['native, 1 thread', alone]);
    const all = availableParallelism();
    rows.push([`native, ${all} threads`, await native(program, seconds, String(all))]);
    const work = { machine, jobs, seconds };
    for (const [file, kind] of MODULES)
      rows.push([`WebAssembly, Node${kind}`, await inNode(inEngine, work, ENGINE, file)]);
    for (const [file, kind] of MODULES) {
      rows.push([
        `WebAssembly, Chromium${kind}`,
        await inChromium({ chrome, sandbox }, inEngine, work, ENGINE, file),
      ]);
    }

    for (const which of /** @type {const} */ (['ms', 'last_ms'])) {
      const answer = which === 'ms' ? 'first' : 'last';
      console.log(
        `   Full ranking on the mower, ${answer} answer: medians in ms, and how many times that of one native thread`,
      );
      console.log(
        `   ${'failed attempts'.padEnd(32)}${attempts.map((n) => String(n).padStart(16)).join('')}`,
      );
      const floor = rows[0]?.[1].map((one) => middle(one[which])) ?? [];
      for (const [name, byJob] of rows) {
        const medians = byJob.map((one) => middle(one[which]));
        const cells = medians.map((ms, at) => `${ms.toFixed(1)} (${(ms / (floor[at] ?? NaN)).toFixed(2)})`);
        console.log(`   ${name.padEnd(32)}${cells.map((cell) => cell.padStart(16)).join('')}`);
      }
    }
  });
  process.exit(0);
});
