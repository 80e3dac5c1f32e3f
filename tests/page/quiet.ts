// The `test` that every spec of the page uses. It also checks that the page logs no error in the console,
// loads every file, makes requests to its own host only, and sends no data there.

import { expect, test as base, type BrowserContext } from '@playwright/test';

/** The network traffic and the errors of the pages in one test. */
export interface Traffic {
  /** Addresses that were requested. */
  readonly asked: string[];
  /** Everything that went wrong, as text. */
  readonly complaints: string[];
  /** Complaints that a test causes on purpose; each must occur. */
  readonly expected: RegExp[];
}

/** Records what the pages of a context do from now on. */
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
  /** The browser of another person, with nothing stored in it and under the same checks. */
  elsewhere: BrowserContext;
}

export const test = base.extend<Fixtures>({
  traffic: [
    async ({ context, baseURL }, use) => {
      const traffic: Traffic = { asked: [], complaints: [], expected: [] };
      listen(context, new URL(baseURL ?? '').origin, traffic);
      await use(traffic);
      const { complaints, expected } = traffic;
      // A request is aborted when the page is left or reloaded before it has loaded.
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
