// The reasons: weights of evidence, results that would change the most likely cause, and sensitivity.

import { AxeBuilder } from '@axe-core/playwright';
import type { Locator, Page } from '@playwright/test';
import { button, causes, choose, DEMO_STEPS, nextStep, openDemo, startJob, tap } from './bench.ts';
import { expect, test } from './quiet.ts';

const why = (page: Page): Locator => page.getByTestId('why');
const weights = (page: Page): Locator => why(page).getByRole('table', { name: /^Weight of each step on: / });
const head = (page: Page): Locator => why(page).getByRole('heading', { name: 'Why', exact: true });

test('reasons are opened from the step: in words, in weights and by every number', async ({ page }) => {
  test.slow();
  await openDemo(page);
  await expect(why(page)).toHaveCount(0);
  await button(nextStep(page), 'Why, in full').click();
  await expect(head(page)).toBeFocused();
  const leader = (await causes(page).locator('.cause-name').first().textContent()) ?? '';
  await expect(why(page).locator('.reasons-says li').first()).toContainText(`Likeliest: ${leader}`);

  // One row for each step, and a header row; evidence for a cause has a plus.
  await expect(weights(page).getByRole('row')).toHaveCount(DEMO_STEPS + 1);
  await expect(weights(page)).toHaveAccessibleName(`Weight of each step on: ${leader}`);
  expect((await weights(page).locator('td').allTextContents()).some((text) => text.startsWith('+'))).toBe(
    true,
  );

  // The parameter with the largest effect comes first.
  const numbers = why(page).getByRole('table', { name: `Chance of: ${leader}` });
  await expect(numbers.getByRole('row')).toHaveCount(13);
  await expect(numbers.getByRole('row').nth(1)).toContainText(`How common: ${leader}`);
  await expect(why(page).getByRole('heading', { name: 'Would the advice stay?' })).toBeVisible({
    timeout: 120_000,
  });

  // Wide tables scroll; nothing else is wider than the window, even on the smallest phone.
  const { violations } = await new AxeBuilder({ page })
    .setLegacyMode(true)
    .include('[data-testid="why"]')
    .analyze();
  expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`)).toEqual([]);
  await page.setViewportSize({ width: 320, height: 640 });
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(320);
});

test('reasons are opened from a cause and closed again by keyboard, and follow the job', async ({ page }) => {
  test.slow();
  await startJob(page);
  const name = (await causes(page).locator('.cause-name').nth(1).textContent()) ?? '';
  await causes(page)
    .getByRole('button', { name: `Why? ${name}`, exact: true })
    .press('Enter');
  await expect(head(page)).toBeFocused();
  await expect(weights(page)).toHaveAccessibleName(`Weight of each step on: ${name}`);
  await expect(weights(page).getByRole('row')).toHaveCount(2);
  await expect(
    why(page).getByRole('heading', { name: 'What would put another cause in the lead' }),
  ).toBeVisible();

  // Another cause has other weights.
  const before = await weights(page).locator('td').allTextContents();
  await why(page).getByLabel('On which cause').selectOption({ index: 0 });
  await expect(weights(page)).not.toHaveAccessibleName(`Weight of each step on: ${name}`);
  expect(await weights(page).locator('td').allTextContents()).not.toEqual(before);

  await choose(page, 'Try to start it');
  await tap(page, 'Coughs or pops');
  await expect(weights(page).getByRole('row')).toHaveCount(3);

  await button(why(page), 'Close the reasons').press('Enter');
  await expect(why(page)).toHaveCount(0);
  await expect(causes(page)).toBeFocused();
});
