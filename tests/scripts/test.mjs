// `npm --prefix tests test`: sets up and runs every test. It starts with nothing but Node and
// Rust on the machine, so it imports nothing that must be installed before its stages run.

import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { delimiter, join } from 'node:path';
import { parseArgs } from 'node:util';
import { buildPage } from '../../web/scripts/page.mjs';
import { attempt, duration, explain, heading, main, run, Stop } from '../../web/scripts/steps.mjs';
import {
  needPackages,
  needRust,
  npm,
  ROOT,
  TESTS,
  WASM_TARGET,
  wasmPackFolder,
  WEB,
} from '../../web/scripts/toolchain.mjs';
import { DRIVER_OPTIONS, needBrowser } from './browser.mjs';
import { add, countNode, countPage, countRust, none } from './count.mjs';
import { listen } from './measure.mjs';

/** @typedef {import('./count.mjs').Count} Count */
/**
 * @typedef {object} Stage
 * @property {string} name
 * @property {string} about
 * @property {boolean} counts whether it runs tests
 * @property {(() => Promise<unknown>)[]} needs what is set up before the first stage runs
 * @property {() => Promise<Count>} work throws a Stop if anything but a counted test fails
 */
/** @typedef {{ stage: Stage, result: 'ok' | 'FAILED' | 'not run', count: Count, milliseconds: number }} Outcome */

const ARTEFACTS = join(TESTS, 'artefacts');

/** Set-up that several stages share is done once. @template T @param {() => Promise<T>} work */
function once(work) {
  /** @type {Promise<T> | undefined} */
  let result;
  return () => (result ??= work());
}

const rust = once(() => needRust(['fmt', 'clippy']));
const wasmPack = once(wasmPackFolder);
// The scripts are checked together with those of the page and use its packages.
const packages = once(async () => {
  await needPackages(WEB);
  await needPackages(TESTS);
});
const browser = once(async () => {
  await packages(); // a download of the browser needs a package
  return needBrowser();
});

// CI builds everything once, so data for incremental builds would only fill the disk.
if (process.env.CI) process.env.CARGO_INCREMENTAL ??= '0';

/** @param {string[]} args @param {NodeJS.ProcessEnv} [env] */
const cargo = (args, env = {}) => run('cargo', args, { cwd: ROOT, env });

/**
 * The test counts of a program, also when it failed. A program that ran no test has failed.
 *
 * @param {Promise<{ code: number, output: string }>} running
 * @param {(output: string) => Count} counting
 */
async function tested(running, counting) {
  const { code, output } = await running;
  const count = counting(output);
  if (code !== 0 && count.failed === 0) {
    throw new Stop(`It ended with code ${code}, though no test failed. Its own message is above.`);
  }
  if (count.passed + count.failed === 0) throw new Stop('Not one test ran.');
  return count;
}

/** A port that is free now. @returns {Promise<number>} */
async function freePort() {
  const server = createServer();
  const port = await listen(server);
  await new Promise((closed) => server.close(closed));
  return port;
}

async function format() {
  await cargo(['fmt', '--all', '--check']);
  return none();
}

async function lint() {
  const strict = ['--', '-D', 'warnings'];
  // `--locked` also checks that Cargo.lock matches the manifests.
  await cargo(['clippy', '--locked', '--workspace', '--all-targets', '--all-features', ...strict]);
  // The code that is compiled for the page only.
  await cargo(['clippy', '-p', 'halfsplit-wasm', '--all-targets', '--target', WASM_TARGET, ...strict]);
  // The modules as the page gets them: one for each feature, and one with SIMD.
  for (const feature of ['bench', 'study']) {
    const module = [
      'clippy',
      '-p',
      'halfsplit-wasm',
      '--no-default-features',
      '--features',
      feature,
      '--target',
      WASM_TARGET,
    ];
    await cargo(
      [...module, ...strict],
      feature === 'bench' ? { RUSTFLAGS: '-C target-feature=+simd128' } : {},
    );
  }
  // The engine alone, without the command line.
  await cargo(['clippy', '-p', 'halfsplit', '--no-default-features', ...strict]);
  await cargo(['doc', '--workspace', '--no-deps', '--all-features'], { RUSTDOCFLAGS: '-D warnings' });
  return none();
}

async function scripts() {
  await run(process.execPath, [join(TESTS, 'node_modules', 'typescript', 'bin', 'tsc'), '-p', TESTS]);
  const folder = join(TESTS, 'scripts');
  const files = readdirSync(folder)
    .filter((name) => name.endsWith('.test.mjs'))
    .map((name) => join(folder, name));
  return tested(
    attempt(process.execPath, ['--test', '--test-reporter=spec', ...files], { keep: true }),
    countNode,
  );
}

async function rustTests() {
  const args = ['test', '--workspace', '--no-fail-fast'];
  return tested(attempt('cargo', args, { cwd: ROOT, keep: true }), countRust);
}

async function wasm() {
  const bindgen = await rust();
  const pack = await wasmPack();
  const { chrome, chromedriver } = await browser();

  // The runner reads the browser's options from a file; the file here also names the browser. The runner adds
  // `--headless` and `--no-sandbox` itself.
  const options = structuredClone(DRIVER_OPTIONS);
  options['goog:chromeOptions'].binary = chrome;
  mkdirSync(ARTEFACTS, { recursive: true });
  const file = join(ARTEFACTS, 'webdriver.json');
  writeFileSync(file, JSON.stringify(options, null, 2));

  const browserArgs = ['--headless', '--chrome', '--chromedriver', chromedriver];
  // The native engine's answers about random jobs; the browser must give the same ones.
  const alike = ['run', '--quiet', '--profile', 'test', '-p', 'halfsplit-tests', '--bin', 'alike'];
  const said = await run('cargo', alike, { cwd: ROOT, quiet: true });

  const args = ['test', ...browserArgs, '--mode', 'no-install', join(ROOT, 'wasm')];
  const env = {
    // wasm-pack uses the first wasm-bindgen on PATH and downloads none.
    PATH: [bindgen, process.env.PATH].join(delimiter),
    HALFSPLIT_ALIKE: said,
    WASM_BINDGEN_TEST_WEBDRIVER_JSON: file,
    WASM_BINDGEN_TEST_TIMEOUT: '600', // seconds: enough for a thousand jobs on a slow machine
  };
  return tested(attempt(join(pack, 'wasm-pack'), args, { cwd: ROOT, env, keep: true }), countRust);
}

async function page() {
  const { chrome, sandbox } = await browser();
  await buildPage();

  heading('Checking the sources of the page');
  if ((await npm(WEB, ['run', 'check'])).code !== 0) throw new Stop('`npm run check` failed in web.');
  const { scripts } = JSON.parse(readFileSync(join(WEB, 'package.json'), 'utf8'));
  const units = scripts.test ? await tested(npm(WEB, ['test'], { keep: true }), countNode) : none();

  heading('The page in Chromium');
  const report = join(ARTEFACTS, 'page.json');
  rmSync(report, { force: true });
  const playwright = join(TESTS, 'node_modules', '@playwright', 'test', 'cli.js');
  const env = {
    CHROME: chrome,
    CHROME_SANDBOX: sandbox ? '1' : '0',
    PORT: String(await freePort()),
  };
  const running = attempt(process.execPath, [playwright, 'test'], { cwd: TESTS, env });
  const ends = await tested(running, () => {
    try {
      return countPage(JSON.parse(readFileSync(report, 'utf8')));
    } catch {
      throw new Stop('Playwright ended without a report. Its own message is above.');
    }
  });
  return add(units, ends);
}

/** @type {Stage[]} */
const STAGES = [
  { name: 'format', about: 'cargo fmt', counts: false, needs: [rust], work: format },
  { name: 'lint', about: 'clippy, rustdoc', counts: false, needs: [rust], work: lint },
  {
    name: 'scripts',
    about: 'the scripts themselves, who may import whom',
    counts: true,
    needs: [packages],
    work: scripts,
  },
  { name: 'rust', about: 'cargo test', counts: true, needs: [rust], work: rustTests },
  {
    name: 'wasm',
    about: 'the engine in a browser',
    counts: true,
    needs: [rust, wasmPack, browser],
    work: wasm,
  },
  { name: 'page', about: 'the page, end to end', counts: true, needs: [rust, browser], work: page },
];

/** The stage that sets up everything that the chosen stages need, once. @param {Stage[]} stages @returns {Stage} */
function setUp(stages) {
  const work = async () => {
    for (const need of stages.flatMap(({ needs }) => needs)) await need();
    return none();
  };
  return { name: 'set-up', about: 'what the others need', counts: false, needs: [], work };
}

const HELP = `npm --prefix tests test [-- options]
  --only A,B     only these stages
  --keep-going   do not stop at the first stage that fails
  stages:
${STAGES.map(({ name, about }) => `    ${name.padEnd(9)}${about}`).join('\n')}`;

function readOptions() {
  try {
    const { values } = parseArgs({
      options: {
        only: { type: 'string' },
        'keep-going': { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    });
    const names = values.only?.split(',').map((name) => name.trim());
    const unknown = names?.filter((name) => !STAGES.some((stage) => stage.name === name)) ?? [];
    if (unknown.length > 0) throw new Stop(`There is no stage "${unknown.join('", "')}".\n${HELP}`);
    const stages = STAGES.filter(({ name }) => names?.includes(name) ?? true);
    return { stages, keepGoing: values['keep-going'], help: values.help };
  } catch (error) {
    throw error instanceof Stop
      ? error
      : new Stop(`${error instanceof Error ? error.message : error}\n${HELP}`);
  }
}

/** @param {Stage} stage @returns {Promise<Outcome>} */
async function runStage(stage) {
  heading(`Stage ${stage.name}: ${stage.about}`);
  const start = Date.now();
  let count = none();
  try {
    count = await stage.work();
  } catch (error) {
    console.error(`\n${explain(error)}`);
    // A stage that fails without a count adds one failure, so that the total shows it.
    count = add(count, { passed: 0, failed: 1, skipped: 0 });
  }
  const result = count.failed === 0 ? 'ok' : 'FAILED';
  return { stage, result, count, milliseconds: Date.now() - start };
}

/** @param {Outcome[]} outcomes */
function printTable(outcomes) {
  heading('Result');
  const row = (/** @type {string[]} */ [name, result, ...numbers]) =>
    console.log(`   ${name.padEnd(9)}${result.padEnd(9)}${numbers.map((text) => text.padStart(9)).join('')}`);
  row(['stage', 'result', 'passed', 'failed', 'skipped', 'time']);
  for (const { stage, result, count, milliseconds } of outcomes) {
    const ran = result !== 'not run';
    const numbers = [count.passed, count.failed, count.skipped].map((n) =>
      ran && (stage.counts || n > 0) ? String(n) : '-',
    );
    row([stage.name, result, ...numbers, ran ? duration(milliseconds) : '-']);
  }
}

await main(async () => {
  const { stages, keepGoing, help } = readOptions();
  if (help) return console.log(HELP);

  /** @type {Outcome[]} */
  const outcomes = [];
  let stopped = false;
  for (const stage of [setUp(stages), ...stages]) {
    /** @type {Outcome} */
    const outcome = stopped
      ? { stage, result: 'not run', count: none(), milliseconds: 0 }
      : await runStage(stage);
    outcomes.push(outcome);
    stopped ||= outcome.result === 'FAILED' && (!keepGoing || stage.name === 'set-up');
  }

  printTable(outcomes);
  const { passed, failed } = outcomes.map(({ count }) => count).reduce(add, none());
  if (failed > 0) process.exitCode = 1;
  console.log(`\n${passed} passed, ${failed} failed`);
});
