// Checks WCAG 2.2 AA as far as a program can, in the light and the dark theme.

import { AxeBuilder } from '@axe-core/playwright';
import type { Page } from '@playwright/test';
import {
  ahead,
  asHighAsThePage,
  button,
  choose,
  closing,
  DEMO_STEPS,
  lines,
  lookingSlowly,
  nextStep,
  openDemo,
  openEveryStep,
  rewriteKept,
  settled,
  startJob,
  trouble,
} from './bench.ts';
import { expect, test } from './quiet.ts';

const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
const COLOURS = ['color-contrast', 'link-in-text-block'];

async function check(page: Page): Promise<void> {
  // The window is as high as the page, so that the bar at the foot of a phone covers nothing.
  await asHighAsThePage(page);
  for (const colorScheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme, reducedMotion: 'reduce' });
    const axe = new AxeBuilder({ page }).setLegacyMode(true);
    // The dark theme changes colours and nothing else.
    const rules = colorScheme === 'light' ? axe.withTags(RULES) : axe.withRules(COLOURS);
    const { violations, passes } = await rules.analyze();
    // The colour rule passes only if there is text to check.
    expect(passes.map(({ id }) => id)).toContain('color-contrast');
    expect(
      violations.map(({ id, nodes }) => `${colorScheme} ${id}: ${nodes.map(({ html }) => html).join(' ')}`),
    ).toEqual([]);
  }
}

test('intake', async ({ page }) => {
  await page.goto('/');
  for (const fold of await page.locator('summary').all()) await fold.click();
  await check(page);
});

test('intake and bench in German', async ({ page }) => {
  await page.goto('/');
  await page.getByText('Language, units of readings').click();
  await page.getByText('Deutsch', { exact: true }).click();
  await button(page, 'Musterauftrag öffnen').click();
  await settled(page, DEMO_STEPS);
  await check(page);
  await button(page, 'Anderer Auftrag').click();
  await expect(page.getByRole('heading', { level: 1, name: 'Was liegt auf der Werkbank?' })).toBeVisible();
  await check(page);
});

test('bench', async ({ page }) => {
  await openDemo(page);
  await check(page);
});

test('bench while it looks ahead, and broken off', async ({ page }) => {
  await lookingSlowly(page, 30_000);
  await startJob(page);
  await expect(ahead(page)).toHaveAttribute('data-settled', 'false');
  await check(page);
  await button(ahead(page), 'That is enough').click();
  await expect(button(ahead(page), 'Look further')).toBeVisible();
  await check(page);
});

test('bench with everything unfolded', async ({ page }) => {
  await openDemo(page);
  await button(page, 'Tools').click();
  await page.getByRole('button', { name: /^Show all / }).click();
  await openEveryStep(page);
  await lines(page)
    .nth(4)
    .getByRole('button', { name: /^Change: / })
    .click();
  await button(page, 'Copy link').click();
  await check(page);
});

test('reading, with a mistake in it', async ({ page }) => {
  await startJob(page);
  await choose(page, 'Compression gauge, pulled by rope');
  await button(page, 'Record the reading').click();
  await expect(trouble(page)).toBeVisible();
  await check(page);
});

test('repair and closing', async ({ page }) => {
  await openDemo(page);
  await choose(page, 'Mend the stop lead');
  await check(page);
  await button(nextStep(page), 'Done').click();
  await settled(page, DEMO_STEPS + 1);
  await button(nextStep(page), 'Starts and keeps running').click();
  await expect(closing(page)).toBeVisible();
  await check(page);
});

test('trouble: a broken link, a job that cannot be worked out, a link that asks', async ({
  page,
  elsewhere,
}) => {
  const other = await elsewhere.newPage();
  await startJob(other);
  await button(other, 'Copy link').click();
  await expect.poll(() => other.url()).toContain('#j=');

  await openDemo(page);
  await page.evaluate((hash) => void (location.hash = hash), new URL(other.url()).hash);
  await expect(page.getByRole('region', { name: 'A job came with this link' })).toBeVisible();
  await check(page);
  await rewriteKept(page, '"check":"filter-look"', '"check":"filter-lok"');
  await page.evaluate(() => history.replaceState(null, '', '#j=1.broken'));
  await page.reload();
  await expect(trouble(page)).toHaveCount(2);
  await check(page);
});

test('the lesson, every page of it', async ({ page }) => {
  await openDemo(page);
  await button(page, 'In class').click();
  await page.getByText('The same as a table').click();
  await check(page);
  await button(page, 'One step').click();
  await expect(page.locator('.factor-form')).toBeVisible();
  await check(page);
  await page.locator('.lesson-tabs').getByRole('button', { name: 'Why', exact: true }).click();
  await expect(page.getByTestId('why').getByRole('table').first()).toBeVisible();
  await check(page);
  await button(page, 'What hangs on what').click();
  await page.getByText('Arrows', { exact: true }).click();
  await check(page);
  await button(page, 'What if').click();
  await expect(page.locator('tr[data-cause] td').last()).toContainText('%');
  await check(page);
});

test('an exercise, and what it was', async ({ page }) => {
  await page.goto('/');
  await page.getByRole('textbox', { name: 'Number of the exercise' }).fill('0');
  await button(page, 'Start the exercise').click();
  await expect(trouble(page)).toContainText('The number is a whole one');
  await check(page);
  await page.getByRole('textbox', { name: 'Number of the exercise' }).fill('7');
  await button(page, 'Start the exercise').click();
  await settled(page, 1);
  await button(page, 'Give up and see').click();
  await expect(page.getByTestId('exercise').getByRole('table')).toBeVisible({ timeout: 30_000 });
  await check(page);
});

test('handing on, the work sheet, the shelf, a note that came', async ({ page, elsewhere }) => {
  await openDemo(page);
  await button(page, 'Hand on').click();
  await page.getByRole('textbox', { name: 'Add a note' }).fill('pulls hard');
  await expect(page.locator('.code')).toBeVisible();
  await check(page);
  await button(page.locator('.hand-on'), 'Copy link').click();
  await expect.poll(() => page.url()).toContain('#j=2.');
  const other = await elsewhere.newPage();
  await other.goto(page.url());
  await expect(other.getByRole('region', { name: 'A job came with this link' })).toContainText('pulls hard');
  await check(other);
  await button(page, 'Work sheet').click();
  await expect(page.getByTestId('sheet')).toBeVisible();
  await check(page);
  await button(page, 'Back to the bench').click();
  await button(page, 'Another job').click();
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
  await button(page, 'Another job').click();
  await page.getByText('Language, units of readings').click();
  await check(page);
  await page
    .getByTestId('shelf')
    .getByRole('button', { name: /^Throw away: / })
    .click();
  await expect(button(page, 'Put it back')).toBeVisible();
  await check(page);
});
