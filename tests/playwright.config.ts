// End-to-end tests: the built page, served on this machine, in the Chromium that
// scripts/browser.mjs found, as a phone and as a desktop.

import { defineConfig } from '@playwright/test';
import { CHROME_ARGS } from './scripts/browser.mjs';

const { CHROME, CHROME_SANDBOX, PORT = '4173', CI } = process.env;
const address = `http://127.0.0.1:${PORT}/`;

export default defineConfig({
  testDir: 'page',
  outputDir: 'artefacts/page',
  forbidOnly: Boolean(CI),
  retries: 0,
  fullyParallel: true,
  workers: '100%',
  timeout: 60_000,
  expect: { timeout: 10_000 },
  reporter: [['list'], ['json', { outputFile: 'artefacts/page.json' }]],
  use: {
    baseURL: address,
    locale: 'en-GB',
    actionTimeout: 10_000,
    // Its cache would answer in place of the routes that tests set up; only offline.spec.ts allows it.
    serviceWorkers: 'block',
    screenshot: 'only-on-failure',
    // Use `--trace=retain-on-failure` to debug; it makes tests take half as long again.
    trace: 'off',
    launchOptions: {
      executablePath: CHROME,
      chromiumSandbox: CHROME_SANDBOX === '1',
      args: CHROME_ARGS,
    },
  },
  projects: [
    { name: 'desktop', use: { viewport: { width: 1280, height: 800 } } },
    {
      name: 'phone',
      use: { viewport: { width: 390, height: 844 }, deviceScaleFactor: 3, hasTouch: true, isMobile: true },
    },
  ],
  webServer: {
    command: `node node_modules/vite/bin/vite.js preview --host 127.0.0.1 --port ${PORT} --strictPort`,
    cwd: '../web',
    url: address,
    reuseExistingServer: false,
  },
});
