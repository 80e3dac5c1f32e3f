// Runs a function with a WebAssembly module, in Node and in Chromium. The function uses nothing but its
// arguments, the bindings and the work.

import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { MODULE } from '../../web/scripts/engine.mjs';
import { CHROME_ARGS } from './browser.mjs';
import { listen } from './measure.mjs';

const BINDINGS = `${MODULE}.js`;

/**
 * @template W, R
 * @param {(bound: any, work: W) => R} does @param {W} work @param {string} folder @param {string} file the module
 * @returns {Promise<R>}
 */
export async function inNode(does, work, folder, file) {
  // A different query makes Node load the module again.
  const bound = await import(`${pathToFileURL(join(folder, BINDINGS)).href}?${folder}/${file}`);
  bound.initSync({ module: readFileSync(join(folder, file)) });
  return does(bound, work);
}

/**
 * Runs the function in Chromium, on an empty page.
 *
 * @template W, R
 * @param {{ chrome: string, sandbox: boolean }} browser
 * @param {(bound: any, work: W) => R} does @param {W} work @param {string} folder @param {string} file
 * @returns {Promise<R>}
 */
export async function inChromium({ chrome, sandbox }, does, work, folder, file) {
  /** @type {Record<string, () => [kind: string, content: string | Uint8Array]>} */
  const files = {
    '/': () => ['text/html', '<!doctype html><title>engines</title>'],
    [`/${BINDINGS}`]: () => ['text/javascript', readFileSync(join(folder, BINDINGS))],
    '/engine': () => ['application/wasm', readFileSync(join(folder, file))],
    '/work': () => ['application/json', JSON.stringify(work)],
    '/does.js': () => ['text/javascript', `export default ${does}`],
  };
  // These headers isolate the page, which gives it an exact clock.
  const apart = {
    'cross-origin-opener-policy': 'same-origin',
    'cross-origin-embedder-policy': 'require-corp',
  };
  const server = createServer((request, response) => {
    const found = files[request.url ?? '/'];
    if (found === undefined) return void response.writeHead(404).end();
    const [kind, content] = found();
    response.writeHead(200, { 'content-type': kind, ...apart });
    response.end(content);
  });
  const port = await listen(server);
  const { chromium } = await import('@playwright/test');
  const opened = await chromium.launch({
    executablePath: chrome,
    chromiumSandbox: sandbox,
    args: CHROME_ARGS,
  });
  try {
    const page = await opened.newPage();
    await page.goto(`http://127.0.0.1:${port}/`);
    const answer = await page.evaluate(async (bindings) => {
      const given = async (/** @type {string} */ path) => (await import(path)).default;
      const bound = await import(bindings);
      await bound.default({ module_or_path: '/engine' });
      const asked = await (await fetch('/work')).json();
      return (await given('/does.js'))(bound, asked);
    }, `/${BINDINGS}`);
    return /** @type {R} */ (answer);
  } finally {
    await opened.close();
    server.close();
  }
}
