// The lesson for a class, and exercises.

import type { Page } from '@playwright/test';
import { button, choose, DEMO_STEPS, lines, nextStep, openDemo, percentage, settled } from './bench.ts';
import { expect, test } from './quiet.ts';

async function openClass(page: Page): Promise<void> {
  await openDemo(page);
  await button(page, 'In class').click();
  await expect(page.locator('.chart')).toBeVisible();
}

test('the odds over the steps, as a chart and as a table, in percent and in log-odds', async ({ page }) => {
  await openClass(page);
  await page.getByText('The same as a table').click();
  // The chart scrolls sideways; the page itself does not.
  expect(
    await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth),
  ).toBe(0);
  const row = page.getByRole('row', { name: /^stop lead grounded/ });
  await expect(row.getByRole('cell')).toHaveCount(DEMO_STEPS + 1);
  const chances = (await row.getByRole('cell').allTextContents()).map(percentage);
  expect(chances[0]).toBeLessThan(5);
  expect(chances[DEMO_STEPS]).toBeGreaterThan(50);
  await expect(page.locator('.course')).toHaveCount(5);
  await page.getByText('Log-odds', { exact: true }).click();
  // 10 log10(p / (1 - p)) of the percentage that the other scale shows, rounded to a whole number.
  const last = (await row.getByRole('cell').last().textContent()) ?? '';
  const p = (chances[DEMO_STEPS] ?? 0) / 100;
  const shown = Number(/\((-?\d+)\)/.exec(last)?.[1]);
  // A percentage is rounded to half a point: at 88 that is 0.2 decibans either way.
  expect(Math.abs(shown - 10 * Math.log10(p / (1 - p)))).toBeLessThanOrEqual(0.7);
});

test('one step in whole machines and as odds times a factor', async ({ page }) => {
  await openClass(page);
  await button(page, 'One step').click();
  const board = page.locator('.lesson-board');
  await expect(board).toContainText('Of 1,000 machines like this');
  const number = (text: string | null, pattern: RegExp) =>
    Number(pattern.exec(text ?? '')?.[1]?.replace(',', ''));
  const text = await board.textContent();
  const [have, haveNot] = [number(text, /(\d+) have it/), number(text, /(\d+) do not/)];
  expect(have + haveNot).toBe(1000);
  const factors = await board.locator('dd').allTextContents();
  const odds = (said = '') => {
    const [a = 0, b = 1] = said.split(' to ').map(Number);
    return a / b;
  };
  const times = Number(factors[1]?.replace('× ', ''));
  // Three digits are shown of each: half a percent either way, three times.
  expect((odds(factors[0]) * times) / odds(factors[2])).toBeCloseTo(1, 1);

  // A repair is not a finding.
  for (let i = 0; i < 4; i += 1) await button(page, 'Earlier step').click();
  await expect(page.getByText(`Step ${DEMO_STEPS - 4} of ${DEMO_STEPS}`)).toBeVisible();
  await expect(board).toContainText('A repair changes the machine. It is no finding');
  await page.keyboard.press('ArrowRight');
  await expect(page.getByText(`Step ${DEMO_STEPS - 3} of ${DEMO_STEPS}`)).toBeVisible();
});

test('why the odds stand as they do at any moment, large enough for the back row', async ({
  page,
  isMobile,
}) => {
  if (!isMobile) await page.setViewportSize({ width: 1920, height: 1080 });
  await openClass(page);
  await page
    .getByRole('navigation', { name: 'Pages of the lesson' })
    .getByRole('button', { name: 'Why', exact: true })
    .click();
  const why = page.getByTestId('why');
  const weights = why.getByRole('table', { name: /^Weight of each step on: / });
  // One row for each step, and a header row.
  await expect(weights.getByRole('row')).toHaveCount(DEMO_STEPS + 1);
  const leader = (await weights.locator('caption').textContent())?.replace('Weight of each step on: ', '');
  await expect(why.locator('.reasons-says li').first()).toContainText(`Likeliest: ${leader}`);
  await page.keyboard.press('ArrowLeft');
  await expect(weights.getByRole('row')).toHaveCount(DEMO_STEPS);
  // A letter of a fortieth of the height of the picture is read from eight times that height (common
  // practice, no source).
  const size = await weights
    .locator('td')
    .first()
    .evaluate((cell) => parseFloat(getComputedStyle(cell).fontSize));
  if (!isMobile) expect(size).toBeGreaterThanOrEqual(1080 / 40);
});

test('the network is drawn, large enough for the back row, and told as a list', async ({
  page,
  isMobile,
}) => {
  if (!isMobile) await page.setViewportSize({ width: 1920, height: 1080 });
  await openClass(page);
  await button(page, 'What hangs on what').click();
  await expect(page.locator('.node-cause')).toHaveCount(5);
  const edges = await page.locator('.edge').count();
  await page.getByText('Arrows', { exact: true }).click();
  await expect(page.locator('.figures-fold li')).toHaveCount(edges);
  expect(edges).toBeGreaterThan(10);
  // Attempts with the same outcome are one node; 14, with a bypass, is an attempt of another kind.
  await expect(page.locator('.node-attempt')).toHaveCount(2);
  await expect(page.locator('.node-attempt').filter({ hasText: '1, 7, 11' })).toHaveCount(1);
  // A letter of a fiftieth of the height of the picture is read from six times that height (common practice, no
  // source): there are more words in it than in a table.
  const size = await page.locator('.network').evaluate((svg: SVGSVGElement) => {
    const text = svg.querySelector('text');
    return parseFloat(text ? getComputedStyle(text).fontSize : '0') * (svg.getScreenCTM()?.a ?? 0);
  });
  if (!isMobile) expect(size).toBeGreaterThanOrEqual(1080 / 50);
});

test('what if the figures were others', async ({ page }) => {
  await openClass(page);
  await button(page, 'What if').click();
  const row = page.locator('tr[data-cause="stop-lead/grounded"]').getByRole('cell');
  await expect(row.first()).toContainText('%');
  const before = percentage((await row.first().textContent()) ?? '');
  await expect(row.last()).toHaveText((await row.first().textContent()) ?? '');
  await page.getByRole('slider', { name: 'Odds of it among machines that come in' }).fill('-3');
  await expect(page.getByText('1/8', { exact: true })).toBeVisible();
  await expect.poll(async () => percentage((await row.last().textContent()) ?? '')).toBeLessThan(before - 10);
  await button(page, 'Put back').click();
  await expect(row.last()).toHaveText((await row.first().textContent()) ?? '');
});

test('an exercise: picked steps against the clock, then what it was; its link is the same fault', async ({
  page,
  elsewhere,
}) => {
  await page.goto('/');
  await page.getByRole('textbox', { name: 'Number of the exercise' }).fill('7');
  await button(page, 'Start the exercise').click();
  const exercise = page.getByTestId('exercise');
  await expect(exercise).toContainText('Exercise 7');
  await expect(page.getByTestId('still-to-come')).toHaveCount(0);
  await settled(page, 1);
  // The page does not reveal the fault.
  await expect(page.getByTestId('causes')).toHaveCount(0);
  await choose(page, 'Look at the air filter');
  await button(nextStep(page), 'Do it').click();
  await settled(page, 2);
  await expect(exercise).toContainText(/Bench time: about \d+ min/);
  const found = await lines(page).locator('.got').allTextContents();
  await button(page, 'Give up and see').click();
  await expect(exercise.getByRole('heading', { name: 'What was wrong' })).toBeVisible({ timeout: 30_000 });
  await expect(exercise.getByRole('row', { name: /^Bench minutes/ }).getByRole('cell')).toHaveCount(2);
  const wrong = await exercise.locator('.closing-list').textContent();
  await page.reload();
  await settled(page, 2);
  await expect(exercise).toContainText('Exercise 7');
  await expect(page.getByTestId('still-to-come')).toHaveCount(0);

  await button(page, 'Copy link').click();
  const link =
    (await page
      .getByRole('textbox', { name: 'Link to this job' })
      .inputValue()
      .catch(() => '')) || '/#e=mower-recoil.7';
  const other = await elsewhere.newPage();
  await other.goto(link);
  await settled(other, 1);
  await choose(other, 'Look at the air filter');
  await button(nextStep(other), 'Do it').click();
  await settled(other, 2);
  expect(await lines(other).locator('.got').allTextContents()).toEqual(found);
  await button(other, 'Give up and see').click();
  await expect(other.getByTestId('exercise').locator('.closing-list')).toHaveText(wrong ?? '', {
    timeout: 30_000,
  });
});

test('a link to an exercise that is none says so', async ({ page }) => {
  await page.goto('/#e=mower-recoil.0');
  await expect(page.getByTestId('trouble')).toContainText('its number is none');
});
