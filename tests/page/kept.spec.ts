// What is entered stays, whatever becomes of the window.

import { button, choose, DEMO_STEPS, lines, nextStep, odds, openDemo, settled, startJob, trouble } from './bench.ts';
import { mower } from './machine.ts';
import { expect, test } from './quiet.ts';

const KEPT = 'halfsplit/bench/1';

test('a reload keeps the job, the chosen step and a half-typed reading', async ({ page }) => {
  await startJob(page);
  const before = await odds(page);
  await choose(page, 'Compression gauge, pulled by rope');
  const field = nextStep(page).getByRole('textbox', { name: 'Reading' });
  await field.pressSequentially('41');
  await nextStep(page).getByRole('combobox', { name: 'Unit' }).selectOption('kPa');
  await nextStep(page).getByText('Not sure', { exact: true }).click();

  await page.reload();
  await settled(page, 1);
  await expect(nextStep(page)).toHaveAttribute('data-step', 'gauge-pull');
  await expect(field).toHaveValue('41');
  await expect(nextStep(page).getByRole('combobox', { name: 'Unit' })).toHaveValue('kpa');
  await expect(nextStep(page).getByRole('radio', { name: 'Not sure' })).toBeChecked();
  expect(await odds(page)).toEqual(before);

  // It goes on where it was broken off.
  await field.press('End');
  await field.pressSequentially('4');
  await button(page, 'Record the reading').click();
  await settled(page, 2);
  await expect(lines(page).last()).toContainText(/414 kPa.*not sure/);
});

test('undo reaches back over a reload, to the job before this one', async ({ page }) => {
  await startJob(page);
  const mine = await odds(page);
  await button(page, 'Another job').click();
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
  await page.reload();
  await settled(page, DEMO_STEPS);
  await button(page, 'Undo').click();
  await settled(page, 1);
  expect(await odds(page)).toEqual(mine);
});

test('a reload keeps a half-filled intake', async ({ page }) => {
  const puller = mower.tools.find(({ id }) => id === 'puller')?.name ?? '';
  await page.goto('/');
  await page.getByText('Starts and dies', { exact: true }).click();
  await page.getByText(puller, { exact: true }).click();
  await page.getByText('Rate, limit, height', { exact: true }).click();
  await page.getByRole('textbox', { name: 'Height above the sea' }).fill('1,2');

  await page.reload();
  await expect(page.getByRole('radio', { name: 'Starts and dies' })).toBeChecked();
  await expect(page.getByRole('checkbox', { name: puller })).toBeChecked();
  await page.getByText('Rate, limit, height', { exact: true }).click();
  await expect(page.getByRole('textbox', { name: 'Height above the sea' })).toHaveValue('1,2');
});

test('a kept job that cannot be read is put aside and told, and the page works', async ({ page }) => {
  await page.goto('/');
  await expect(button(page, 'Open the demo job')).toBeVisible();
  await page.evaluate((key) => localStorage.setItem(key, '{"job": 7}'), KEPT);
  await page.reload();
  await expect(trouble(page)).toContainText('It was put aside, not deleted.');
  expect(await page.evaluate(() => Object.values(localStorage))).toContain('{"job": 7}');
  await button(trouble(page), 'All right').click();
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
});

test('a kept job that the machine objects to can be put right at its place', async ({ page }) => {
  await openDemo(page);
  await page.evaluate((key) => {
    localStorage.setItem(key, (localStorage.getItem(key) ?? '').replace('"check":"filter-look"', '"check":"filter-lok"'));
  }, KEPT);
  await page.reload();
  await expect(trouble(page)).toContainText('This job cannot be worked out');
  await expect(trouble(page)).toContainText(/Step 5: .*"filter-lok".*"filter-look"/);
  await expect(nextStep(page)).toHaveCount(0);
  const wrong = lines(page).filter({ hasText: 'unknown step “filter-lok”' });
  await wrong.getByRole('button', { name: /^Change: / }).click();
  await button(wrong, 'Remove').click();
  await settled(page, DEMO_STEPS - 1);
  await expect(trouble(page)).toHaveCount(0);
  await expect(nextStep(page)).toBeVisible();
});
