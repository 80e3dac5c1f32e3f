// The page contains its first screen, which is shown before any of the page's scripts.

import type { Page } from '@playwright/test';
import { button, DEMO_STEPS, openDemo, settled } from './bench.ts';
import { expect, test } from './quiet.ts';

const SNOW = 'Snow thrower, recoil start, four-stroke';

/** Blocks requests for files until the returned function is called. */
async function without(page: Page, files: RegExp): Promise<() => void> {
  let letGo = (): void => undefined;
  const held = new Promise<void>((resolve) => (letGo = resolve));
  await page.route(files, async (route) => {
    await held;
    await route.continue();
  });
  return letGo;
}

/** Blocks the scripts of the page. */
const withoutScripts = (page: Page): Promise<() => void> => without(page, /\/assets\/.*\.js$/);

test('it can be read, and a machine be chosen, before a script is there; the choice stays', async ({
  page,
}) => {
  const letGo = await withoutScripts(page);
  await page.goto('/', { waitUntil: 'commit' });
  await expect(page.getByRole('heading', { name: 'What is on the bench?' })).toBeVisible();
  // Controls that do not work yet are disabled.
  await expect(button(page, 'Open the demo job')).toBeDisabled();
  await expect(button(page, 'Start this job')).toBeDisabled();
  await page.getByText(SNOW, { exact: true }).click();
  await page.getByText('Starts and dies', { exact: true }).click();
  letGo();
  await expect(button(page, 'Open the demo job')).toBeEnabled();
  await expect(page.getByRole('radio', { name: SNOW })).toBeChecked();
  await button(page, 'Start this job').click();
  await settled(page, 1);
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(SNOW);
  await expect(page.locator('.sheet-line')).toContainText('Starts and dies');
});

test("it is in the reader's language, and the other one is gone when the page listens", async ({
  browser,
  contextOptions,
  baseURL,
}) => {
  const context = await browser.newContext({
    ...contextOptions,
    ...(baseURL && { baseURL }),
    locale: 'de-AT',
  });
  const page = await context.newPage();
  const letGo = await withoutScripts(page);
  await page.goto('/', { waitUntil: 'commit' });
  const title = page.getByRole('heading', { level: 1 });
  await expect(title).toHaveText('Was liegt auf der Werkbank?');
  await expect(title).toBeVisible();
  letGo();
  await expect(button(page, 'Musterauftrag öffnen')).toBeEnabled();
  await expect(page.locator('main')).toHaveCount(1);
  await context.close();
});

test('who has a job on the bench does not see it', async ({ page }) => {
  await openDemo(page);
  const letGo = await withoutScripts(page);
  await page.reload({ waitUntil: 'commit' });
  await expect(page.locator('main.intake').first()).toBeAttached();
  await expect(page.locator('main.intake').first()).toBeHidden();
  letGo();
  await settled(page, DEMO_STEPS);
});

test('tools are ticked, and the job is started, before the description of the machine has come', async ({
  page,
}) => {
  const letGo = await without(page, /\/assets\/mower-recoil-[\w-]+\.json$/);
  await page.goto('/');
  await page.getByText('Nothing at all', { exact: true }).click();
  const tool = 'leak-down tester, compressor and crank holder';
  await page.getByText(tool, { exact: true }).click();
  await expect(page.getByText('What the owner says')).toHaveCount(0);
  await button(page, 'Start this job').click();
  await expect(button(page, 'Start this job')).toBeDisabled();
  letGo();
  await settled(page, 1);
  await button(page, 'Tools').click();
  const board = page.getByRole('form', { name: 'Tools, what is fitted, limits' });
  await expect(board.getByRole('checkbox', { name: tool })).toBeChecked();
  await expect(board.getByRole('checkbox', { name: 'feeler gauges' })).not.toBeChecked();
});
