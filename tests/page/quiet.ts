// The `test` that every spec of the page uses: beside what the spec says, the page must not
// complain in the console, must not fail to load anything, must ask no host but its own, and must
// send nothing to that one either.

import { expect, test as base, type BrowserContext } from '@playwright/test';

/** What the pages of one test did. */
export interface Traffic {
  /** Addresses that were asked for. */
  readonly asked: string[];
  /** Everything that went wrong, in words. */
  readonly complaints: string[];
  /** Complaints that a test brings about on purpose; each must turn up. */
  readonly expected: RegExp[];
}

/** Notes what the pages of a context do from now on. */
function listen(context: BrowserContext, home: string, { asked, complaints }: Traffic): void {
  context.on('request', (request) => {
    const url = new URL(request.url());
    asked.push(url.href);
    // A worker or a picture made on the page itself has no host.
    const local = url.protocol === 'data:' || url.protocol === 'blob:';
    if (!local && url.origin !== home) complaints.push(`asked another host: ${url.href}`);
    if (request.method() !== 'GET') complaints.push(`sent something: ${request.method()} ${url.href}`);
    if (url.search !== '') complaints.push(`sent something in an address: ${url.href}`);
  });
  context.on('requestfailed', (request) => {
    complaints.push(`not loaded: ${request.url()} (${request.failure()?.errorText})`);
  });
  context.on('response', (response) => {
    if (response.status() >= 400) complaints.push(`answered ${response.status()}: ${response.url()}`);
  });
  context.on('page', (page) => {
    page.on('websocket', (socket) => complaints.push(`opened a socket: ${socket.url()}`));
  });
  context.on('weberror', (error) => {
    complaints.push(`error on the page: ${error.error().message}`);
  });
  context.on('console', (message) => {
    if (message.text().includes('Service Worker registration blocked by Playwright')) return;
    if (message.type() === 'error' || message.type() === 'warning') {
      complaints.push(`console ${message.type()}: ${message.text()}`);
    }
  });
}

interface Fixtures {
  traffic: Traffic;
  /** A browser of somebody else, as quiet as the first: nothing is kept in it. */
  elsewhere: BrowserContext;
}

export const test = base.extend<Fixtures>({
  traffic: [
    async ({ context, baseURL }, use) => {
      const traffic: Traffic = { asked: [], complaints: [], expected: [] };
      listen(context, new URL(baseURL ?? '').origin, traffic);
      await use(traffic);
      const { complaints, expected } = traffic;
      // The page was left, or loaded anew, before all of it was there.
      const left = (text: string) => text.includes('net::ERR_ABORTED');
      expect(complaints.filter((text) => !left(text) && !expected.some((one) => one.test(text)))).toEqual([]);
      expect(expected.filter((one) => !complaints.some((text) => one.test(text)))).toEqual([]);
    },
    { auto: true },
  ],
  elsewhere: async ({ browser, contextOptions, baseURL, traffic }, use) => {
    const context = await browser.newContext({ ...contextOptions, ...(baseURL && { baseURL }) });
    listen(context, new URL(baseURL ?? '').origin, traffic);
    await use(context);
    await context.close();
  },
});

export { expect };
