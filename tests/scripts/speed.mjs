// `npm --prefix tests run speed`: times the built page on an emulated slow phone. The figures are for
// reading, not a test: they depend on the machine.

import { gzipSync, brotliCompressSync } from 'node:zlib';
import { readdirSync, readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { join, relative } from 'node:path';
import { buildPage } from '../../web/scripts/page.mjs';
import { main, step } from '../../web/scripts/steps.mjs';
import { needPackages, TESTS, WEB } from '../../web/scripts/toolchain.mjs';
import { CHROME_ARGS, needBrowser } from './browser.mjs';
import { listen, middle } from './measure.mjs';

/** A mid-range phone: a quarter of this machine, and a slow mobile line (1.6 Mbit/s, 150 ms). */
const CPU = 4;
const LINE = { offline: false, latency: 150, downloadThroughput: 1.6e6 / 8, uploadThroughput: 750e3 / 8 };
const RUNS = 5;

const say = (/** @type {string} */ what, /** @type {number[]} */ ms) =>
  console.log(
    `   ${what.padEnd(58)} ${ms.map((x) => x.toFixed(0)).join(', ')} ms, median ${middle(ms).toFixed(0)}`,
  );

/** The files of the built page as hosts send them, by their path. */
function compressed() {
  const files = readdirSync(join(WEB, 'dist'), { recursive: true, withFileTypes: true }).filter((file) =>
    file.isFile(),
  );
  return new Map(
    files.map((file) => {
      const path = join(file.parentPath, file.name);
      const body = readFileSync(path);
      const name = `/${relative(join(WEB, 'dist'), path).replaceAll('\\', '/')}`;
      return [
        name,
        { raw: body.length, gzip: gzipSync(body, { level: 9 }).length, brotli: brotliCompressSync(body) },
      ];
    }),
  );
}

/** @param {ReturnType<typeof compressed>} files */
function weights(files) {
  console.log(`   ${'bytes'.padEnd(44)}${['raw', 'gzip', 'brotli'].map((s) => s.padStart(10)).join('')}`);
  for (const [name, { raw, gzip, brotli }] of files) {
    console.log(
      `   ${name.padEnd(44)}${[raw, gzip, brotli.length].map((n) => String(n).padStart(10)).join('')}`,
    );
  }
}

/** The built page as hosts serve it: compressed. @param {ReturnType<typeof compressed>} files @returns {Promise<string>} its address */
async function serveCompressed(files) {
  const kinds = {
    html: 'text/html',
    js: 'text/javascript',
    css: 'text/css',
    wasm: 'application/wasm',
    svg: 'image/svg+xml',
    json: 'application/json',
  };
  const server = createServer((request, response) => {
    const name = (request.url ?? '/').replace(/[?#].*/, '').replace(/\/$/, '/index.html');
    const file = files.get(name);
    const kind =
      kinds[/** @type {keyof typeof kinds} */ (name.split('.').at(-1) ?? '')] ?? 'application/octet-stream';
    if (file) response.writeHead(200, { 'content-type': kind, 'content-encoding': 'br' }).end(file.brotli);
    else response.writeHead(404).end();
  });
  return `http://127.0.0.1:${await listen(server)}/`;
}

/** @param {import('@playwright/test').Page} page */
async function throttle(page) {
  const cdp = await page.context().newCDPSession(page);
  await cdp.send('Emulation.setCPUThrottlingRate', { rate: CPU });
  return cdp;
}

/** Time from the navigation until the intake can be used. @param {import('@playwright/test').BrowserContext} context @param {string} address */
async function opening(context, address) {
  const page = await context.newPage();
  const cdp = await throttle(page);
  await cdp.send('Network.enable');
  await cdp.send('Network.emulateNetworkConditions', LINE);
  await page.goto(address, { waitUntil: 'commit' });
  await page.waitForFunction(() => performance.getEntriesByName('usable').length > 0);
  await page.locator('.questions').first().waitFor();
  const whole = await page.evaluate(() => performance.now());
  // The later of two times: the page is drawn, and its controls work. They are taken by the browser's own
  // clock, so that the measurement itself does not count.
  const { drawn, usable } = await page.evaluate(() => {
    const at = (/** @type {string} */ name) => performance.getEntriesByName(name)[0]?.startTime ?? NaN;
    const drawn = at('first-contentful-paint');
    return { drawn, usable: Math.max(drawn, at('usable')) };
  });
  await page.close();
  return { drawn, usable, whole };
}

/**
 * Time from a tap until the frame with the new odds and advice.
 *
 * @param {import('@playwright/test').Page} page
 * @param {string} what the button that is tapped
 */
function tap(page, what) {
  return page.evaluate(
    (what) =>
      new Promise((resolve) => {
        const lines = document.querySelectorAll('.sheet-line').length;
        const button = document.querySelector(what);
        const start = performance.now();
        const look = () => {
          // The line, the advice and the odds are final: nothing is being computed.
          const busy = document.querySelector('main')?.getAttribute('aria-busy') !== 'false';
          const done = document.querySelectorAll('.sheet-line').length > lines && !busy;
          if (!done) requestAnimationFrame(look);
          else {
            // Runs right after the frame. A timer would also wait for work that the page has put off until then.
            const { port1, port2 } = new MessageChannel();
            port1.onmessage = () => resolve(performance.now() - start);
            port2.postMessage(null);
          }
        };
        requestAnimationFrame(look);
        if (button instanceof HTMLElement) button.click();
      }),
    what,
  );
}

/**
 * Times a tap on a result of a new job, `wait` after the results are shown.
 *
 * @param {import('@playwright/test').Page} page
 * @param {number} wait in milliseconds
 */
async function tapResult(page, wait) {
  await throttle(page);
  await page.waitForTimeout(wait);
  await page.locator('.stub-name').first().scrollIntoViewIfNeeded();
  return Number(await tap(page, '.stub-name:enabled'));
}

/** Times the recording of a number a third of a second after it was typed. @param {import('@playwright/test').Page} page */
async function recordNumber(page) {
  await page.getByRole('button', { name: 'Do something else' }).click();
  await page.getByRole('searchbox').fill('Compression gauge');
  await page.locator('.every .peg').first().click();
  await page.getByTestId('looking-ahead').and(page.locator('[data-settled=true]')).waitFor();
  await throttle(page);
  await page.getByRole('textbox', { name: 'Reading' }).fill('24');
  await page.waitForTimeout(333);
  return Number(await tap(page, '.reading .act'));
}

await main(async () => {
  await needPackages(TESTS);
  const { chrome, sandbox } = await needBrowser();
  await buildPage();
  const files = await step('Compressing the page', async () => compressed());
  const address = await serveCompressed(files);
  const { chromium } = await import('@playwright/test');
  const browser = await chromium.launch({
    executablePath: chrome,
    chromiumSandbox: sandbox,
    args: CHROME_ARGS,
  });
  const phone = {
    viewport: { width: 390, height: 844 },
    deviceScaleFactor: 3,
    hasTouch: true,
    isMobile: true,
  };
  await step('Weight', async () => weights(files));
  await step(`Opening, CPU slowed ${CPU} times, 1.6 Mbit/s, ${LINE.latency} ms`, async () => {
    const runs = [];
    for (let i = 0; i < RUNS; i += 1) {
      const context = await browser.newContext({ ...phone, serviceWorkers: 'block' });
      runs.push(await opening(context, address));
      await context.close();
    }
    say(
      'first visit: drawn',
      runs.map((r) => r.drawn),
    );
    say(
      'first visit: machine, last try and tools can be entered',
      runs.map((r) => r.usable),
    );
    say(
      'first visit: what the owner says, too',
      runs.map((r) => r.whole),
    );
  });
  await step(`A tap on a result, CPU slowed ${CPU} times`, async () => {
    for (const [
      what,
      once,
    ] of /** @type {[string, (page: import('@playwright/test').Page) => Promise<number>][]} */ ([
      ['a result, 2.5 s after the results are there', (page) => tapResult(page, 2500)],
      ['0.2 s after', (page) => tapResult(page, 200)],
      ['the moment they are there', (page) => tapResult(page, 0)],
      ['a number, 0.3 s after it is typed', recordNumber],
    ])) {
      const times = [];
      for (let i = 0; i < RUNS; i += 1) {
        const context = await browser.newContext({ ...phone, serviceWorkers: 'block' });
        const page = await context.newPage();
        await page.goto(address);
        await page.getByText('Nothing at all', { exact: true }).click();
        await page.getByRole('button', { name: 'All of them' }).click();
        await page.getByRole('button', { name: 'Start this job' }).click();
        await page.locator('.stub-name').first().waitFor();
        times.push(await once(page));
        await context.close();
      }
      say(what, times);
    }
  });
  await browser.close();
  process.exit(0);
});
