// The page, by Vite. Vite is imported late: it is there only once the packages are installed.

import { step } from './steps.mjs';
import { buildEngine } from './engine.mjs';
import { WEB } from './toolchain.mjs';

/** Set up, build the engine, build the page into web/dist. */
export async function buildPage() {
  await buildEngine();
  process.chdir(WEB);
  await step('Building the page', async () => {
    const { build } = await import('vite');
    await build({ root: WEB, logLevel: 'warn' });
  });
}

/**
 * Serve the page until this process ends; the next free port is taken if this one is not free.
 *
 * @param {{ host: string, port: number, live: boolean }} how `live`: from the sources, following changes
 * @returns {Promise<string>} its address
 */
export async function servePage({ host, port, live }) {
  process.chdir(WEB);
  const vite = await import('vite');
  const options = { host, port, strictPort: false };
  const server = live
    ? await (await vite.createServer({ root: WEB, server: options })).listen()
    : await vite.preview({ root: WEB, preview: options });
  const urls = server.resolvedUrls;
  return urls?.local[0] ?? urls?.network[0] ?? `http://${host}:${port}/`;
}
