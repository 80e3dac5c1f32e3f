// Offline use after the first visit, and a newer version that waits until the user accepts it.

import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { button, choose, DEMO_STEPS, nextStep, settled } from './bench.ts';
import { expect, test } from './quiet.ts';

test.use({ serviceWorkers: 'allow' });

test('after the first visit the whole page works without a net', async ({ page, context }) => {
  await page.goto('/');
  // The service worker is ready only when all files are stored.
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await context.setOffline(true);
  await page.reload();
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
  await choose(page, 'Look at the air filter');
  await button(nextStep(page), 'packed solid').click();
  await settled(page, DEMO_STEPS + 1);
  await page.reload();
  await settled(page, DEMO_STEPS + 1);

  // The parts that load at first use work offline, too.
  await button(page, 'In class').click();
  await expect(page.locator('.chart')).toBeVisible();
  await button(page, 'Back to the bench').click();
  await button(page, 'Hand on').click();
  await expect(page.locator('.code')).toBeVisible();
  await button(page, 'Work sheet').click();
  await expect(page.getByTestId('sheet')).toBeVisible();
  await button(page, 'Back to the bench').click();
  await button(page, 'Another job').click();
  await page.getByText('Language, units of readings').click();
  await page.getByText('Deutsch').click();
  await expect(page.getByRole('heading', { name: 'Was liegt auf der Werkbank?' })).toBeVisible();
});

test('the page can be installed: a manifest with icons of its own', async ({ page, request }) => {
  await page.goto('/');
  const link = await page.locator('link[rel=manifest]').getAttribute('href');
  const manifest = await (await request.get(link ?? '')).json();
  expect(manifest).toMatchObject({ name: 'halfsplit', display: 'standalone', start_url: './' });
  for (const icon of manifest.icons) {
    const answer = await request.get(icon.src);
    expect(answer.ok(), icon.src).toBe(true);
    expect(answer.headers()['content-type']).toContain(icon.type);
  }
});

/** Serves the built page on its own server; `renew` changes the service worker. */
async function serveBuilt(): Promise<{ address: string; renew: () => void; close: () => void }> {
  let remark = '';
  const kinds: Record<string, string> = {
    html: 'text/html',
    js: 'text/javascript',
    css: 'text/css',
    wasm: 'application/wasm',
    svg: 'image/svg+xml',
  };
  const server = createServer((request, response) => {
    const name = (request.url ?? '/').replace(/[?#].*/, '').replace(/\/$/, '/index.html');
    try {
      const body = readFileSync(new URL(`../../web/dist${name}`, import.meta.url));
      response.setHeader('content-type', kinds[name.split('.').at(-1) ?? ''] ?? 'application/octet-stream');
      response.end(name === '/sw.js' ? `${body.toString()}\n${remark}` : body);
    } catch {
      response.writeHead(404).end();
    }
  });
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  const { port } = server.address() as AddressInfo;
  return {
    address: `http://127.0.0.1:${port}/`,
    // A browser treats any change of the file as a newer worker.
    renew: () => (remark = '// newer'),
    close: () => void server.close(),
  };
}

test('a newer version waits until it is taken, and loses nothing', async ({ browser, contextOptions }) => {
  const server = await serveBuilt();
  const context = await browser.newContext({ ...contextOptions, serviceWorkers: 'allow' });
  const page = await context.newPage();
  await page.goto(server.address);
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.reload();
  await settled(page, DEMO_STEPS);
  server.renew();
  await page.evaluate(async () => (await navigator.serviceWorker.getRegistration())?.update());
  const ready = page.getByText('A newer version of this page is ready.');
  await expect(ready).toBeVisible();
  await button(page, 'Take it now').click();
  await expect(ready).toHaveCount(0);
  await settled(page, DEMO_STEPS);
  await context.close();
  server.close();
});
