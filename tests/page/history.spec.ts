// Every screen is an entry of the browser's history: back and forward go from screen to screen.

import type { Page } from '@playwright/test';
import { button, choose, DEMO_STEPS, lines, nextStep, openDemo, settled, startJob, tap } from './bench.ts';
import { expect, test } from './quiet.ts';

const intake = (page: Page) => page.getByRole('heading', { level: 1, name: 'What is on the bench?' });
const lesson = (page: Page) => page.getByRole('heading', { level: 1, name: 'How the odds moved' });
const sheet = (page: Page) => page.getByTestId('sheet');

test('back and forward go through the screens in the order in which they were shown', async ({ page }) => {
  await openDemo(page);
  await button(page, 'In class').click();
  await expect(lesson(page)).toBeVisible();
  await button(page, 'Back to the bench').click();
  await settled(page, DEMO_STEPS);
  await button(page, 'Work sheet').click();
  await expect(sheet(page)).toBeVisible();

  await page.goBack();
  await settled(page, DEMO_STEPS);
  await expect(sheet(page)).toHaveCount(0);
  await page.goBack();
  await expect(lesson(page)).toBeVisible();
  await page.goBack();
  await settled(page, DEMO_STEPS);
  await page.goBack();
  await expect(intake(page)).toBeVisible();
  await page.goForward();
  await settled(page, DEMO_STEPS);
  await expect(nextStep(page).locator('.step-name')).toBeFocused();
  await page.goForward();
  await expect(lesson(page)).toBeFocused();
  await page.goForward();
  await page.goForward();
  await expect(sheet(page)).toBeVisible();
});

test('what is half entered at the bench and at the intake is still there after going back and forward', async ({
  page,
}) => {
  await startJob(page);
  await choose(page, 'Compression gauge, pulled by rope');
  const field = nextStep(page).getByRole('textbox', { name: 'Reading' });
  await field.fill('41');
  await page.goBack();
  await page.getByText('Starts and dies', { exact: true }).click();
  await page.goForward();
  await settled(page, 1);
  await expect(field).toHaveValue('41');
  await page.goBack();
  await expect(page.getByRole('radio', { name: 'Starts and dies' })).toBeChecked();
});

test('steps are no entries: undo takes them back, and the browser goes to the screen before', async ({
  page,
}) => {
  await openDemo(page);
  await choose(page, 'Look at the air filter');
  await tap(page, 'packed solid');
  await page.goBack();
  await expect(intake(page)).toBeVisible();
  await page.goForward();
  await settled(page, DEMO_STEPS + 1);
  await button(page, 'Undo').click();
  await settled(page, DEMO_STEPS);
});

test('a reload stays on its screen, and back still goes to the one before', async ({ page }) => {
  await openDemo(page);
  await button(page, 'In class').click();
  await expect(lesson(page)).toBeVisible();
  await page.reload();
  await expect(lesson(page)).toBeVisible();
  await page.goBack();
  await settled(page, DEMO_STEPS);
  await page.goForward();
  await expect(lesson(page)).toBeVisible();
});

test('from a job that was opened by a link, back leads to where the link was', async ({
  page,
  elsewhere,
}) => {
  await openDemo(page);
  await button(page, 'Copy link').click();
  await expect.poll(() => new URL(page.url()).hash).toMatch(/^#j=2\./);
  const other = await elsewhere.newPage();
  await other.goto('about:blank');
  await other.goto(page.url());
  await settled(other, DEMO_STEPS);
  await other.goBack();
  expect(other.url()).toBe('about:blank');
});

test('a copied link stays with its screen, and is no question when the reader comes back to it', async ({
  page,
}) => {
  await openDemo(page);
  await button(page, 'Copy link').click();
  await expect.poll(() => new URL(page.url()).hash).toMatch(/^#j=2\./);
  const link = page.url();
  await button(page, 'In class').click();
  await expect(lesson(page)).toBeVisible();
  expect(new URL(page.url()).hash).toBe('');
  await page.goBack();
  await settled(page, DEMO_STEPS);
  expect(page.url()).toBe(link);
  const question = page.getByRole('region', { name: 'A job came with this link' });
  await expect(question).toHaveCount(0);

  // Once the job has changed, the link is gone from that entry, too.
  await page.goForward();
  await expect(lesson(page)).toBeVisible();
  await button(page, 'Back to the bench').click();
  await choose(page, 'Look at the air filter');
  await tap(page, 'packed solid');
  await page.goBack();
  await expect(lesson(page)).toBeVisible();
  await page.goBack();
  await settled(page, DEMO_STEPS + 1);
  await expect(lines(page).last()).toContainText('packed solid');
  expect(new URL(page.url()).hash).toBe('');
  await expect(question).toHaveCount(0);
});
