// `npm --prefix tests run pictures`: builds the page and takes the pictures for the README.

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { buildPage } from '../../web/scripts/page.mjs';
import { main, run } from '../../web/scripts/steps.mjs';
import { needPackages, TESTS, WEB } from '../../web/scripts/toolchain.mjs';
import { needBrowser } from './browser.mjs';

await main(async () => {
  await needPackages(TESTS);
  const { chrome, sandbox } = await needBrowser();
  await buildPage();
  const folder = join(WEB, 'pictures');
  mkdirSync(folder, { recursive: true });
  const playwright = join(TESTS, 'node_modules', '@playwright', 'test', 'cli.js');
  await run(
    process.execPath,
    [playwright, 'test', 'screens', '--grep', 'for the README', '--reporter', 'list'],
    {
      cwd: TESTS,
      env: { CHROME: chrome, CHROME_SANDBOX: sandbox ? '1' : '0', PICTURES: folder },
    },
  );
  console.log(`\nThe pictures are in ${folder}.`);
});
