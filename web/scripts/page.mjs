// Builds and serves the page with Vite. Vite is imported late, because its package is installed first.

import { step } from './steps.mjs';
import { buildEngine } from './engine.mjs';
import { WEB } from './toolchain.mjs';

/** Sets up, builds the engine, and builds the page into web/dist. */
export async function buildPage() {
  await buildEngine();
  process.chdir(WEB);
  await step('Building the page', async () => {
    const { build } = await import('vite');
    await build({ root: WEB, logLevel: 'warn' });
  });
}

/**
 * Serves the page until this process ends, on the next free port if `port` is not free.
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
