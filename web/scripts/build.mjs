// `npm --prefix web run build`: set up, build the engine and the page into web/dist.

import { join } from 'node:path';
import { buildPage } from './page.mjs';
import { main } from './steps.mjs';
import { WEB } from './toolchain.mjs';

await main(async () => {
  await buildPage();
  console.log(`\nThe page is in ${join(WEB, 'dist')}; any static web server can serve it.`);
});
