// `npm --prefix web test`: runs every unit test of the page in Node. The tests are found by name: src/**/*.test.ts,
// which are compiled first, and scripts/*.test.mjs.

import { readdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { main, run, Stop } from './steps.mjs';
import { WEB } from './toolchain.mjs';

const COMPILED = join(WEB, 'node_modules', '.cache', 'unit');

/** @param {string} folder @param {string} ending */
const found = (folder, ending) =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith(ending))
    .map((name) => join(folder, name))
    .toSorted();

await main(async () => {
  // A compiled test must not outlive its source.
  rmSync(COMPILED, { recursive: true, force: true });
  await run(process.execPath, [
    join(WEB, 'node_modules', 'typescript', 'bin', 'tsc'),
    '-p',
    join(WEB, 'tsconfig.test.json'),
  ]);
  const files = [...found(join(WEB, 'scripts'), '.test.mjs'), ...found(COMPILED, '.test.js')];
  if (files.length === 0) throw new Stop('There is not one unit test.');
  await run(process.execPath, ['--test', ...files], { cwd: WEB });
});
