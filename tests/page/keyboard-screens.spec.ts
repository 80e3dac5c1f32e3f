// The screens other than the bench, used without a mouse.

import type { Locator, Page } from '@playwright/test';
import { button, causes, DEMO_STEPS, nextStep, openDemo, settled, tabTo } from './bench.ts';
import { expect, test } from './quiet.ts';

/** Moves the focus to an element by the Tab key and presses a key there. */
async function press(page: Page, target: Locator, key = 'Enter'): Promise<void> {
  await tabTo(page, target);
  await page.keyboard.press(key);
}

test('tools and prices are changed by keys alone', async ({ page }) => {
  await openDemo(page);
  await press(page, button(page, 'Tools'));
  const form = page.getByRole('form', { name: 'Tools, what is fitted, limits' });
  const meter = form.getByRole('checkbox', { name: 'multimeter' });
  const had = await meter.isChecked();
  await press(page, meter, 'Space');
  await expect(meter).toBeChecked({ checked: !had });
  const fold = form.getByText('What to spare, limits, height', { exact: true });
  const rate = form.getByRole('textbox', { name: 'Price of an hour of your work' });
  await press(page, fold);
  await tabTo(page, rate);
  await page.keyboard.press('Control+A');
  await page.keyboard.type('75');
  await page.keyboard.press('Enter');
  await expect(form).toHaveCount(0);
  await settled(page, DEMO_STEPS);
  await press(page, button(page, 'Tools'));
  await press(page, fold);
  await expect(rate).toHaveValue('75');
  await expect(meter).toBeChecked({ checked: !had });
});

test('a lesson is stepped through by keys alone', async ({ page }) => {
  await openDemo(page);
  await press(page, button(page, 'In class'));
  await expect(page.getByRole('heading', { level: 1, name: 'How the odds moved' })).toBeFocused();
  await press(page, page.getByRole('radio', { name: 'Percent' }), 'ArrowRight');
  await expect(page.getByRole('radio', { name: 'Log-odds' })).toBeChecked();
  await press(page, page.getByText('The same as a table'));
  await expect(page.getByRole('row', { name: /^stop lead grounded/ })).toBeVisible();

  await press(page, button(page, 'One step'));
  await expect(page.getByText(`Step ${DEMO_STEPS} of ${DEMO_STEPS}`)).toBeVisible();
  await press(page, button(page, 'Earlier step'));
  await expect(page.getByText(`Step ${DEMO_STEPS - 1} of ${DEMO_STEPS}`)).toBeVisible();

  await tabTo(page, button(page, 'What hangs on what'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  await expect(page.locator('.network')).toBeVisible();
  await press(page, page.getByText('Arrows', { exact: true }));
  await expect(page.locator('.figures-fold li').first()).toBeVisible();

  await tabTo(page, button(page, 'What if'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  const row = page.locator('tr[data-cause="stop-lead/grounded"]').getByRole('cell');
  const before = await row.first().textContent();
  await press(page, page.getByRole('slider', { name: 'Odds of it among machines that come in' }), 'Home');
  await expect(row.last()).not.toHaveText(before ?? '');
  await press(page, button(page, 'Put back'));
  await expect(row.last()).toHaveText(before ?? '');
  await tabTo(page, button(page, 'Back to the bench'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  await expect(nextStep(page).locator('.step-name')).toBeFocused();
});

test('an exercise is begun, played and looked up by keys alone', async ({ page }) => {
  await page.goto('/');
  await tabTo(page, page.getByRole('textbox', { name: 'Number of the exercise' }));
  await page.keyboard.press('Control+A');
  await page.keyboard.type('7');
  await press(page, button(page, 'Start the exercise'));
  await settled(page, 1);
  await expect(causes(page)).toHaveCount(0);
  await press(page, button(page, 'Do something else'));
  await expect(page.getByRole('searchbox')).toBeFocused();
  await page.keyboard.type('air filter');
  await press(page, page.locator('.every').getByRole('button', { name: /^Look at the air filter/ }));
  await expect(nextStep(page).locator('.step-name')).toBeFocused();
  await press(page, button(nextStep(page), 'Do it'));
  await settled(page, 2);
  await tabTo(page, button(page, 'Give up and see'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  await expect(page.getByRole('heading', { name: 'What was wrong' })).toBeVisible({ timeout: 30_000 });
});

test('a job is handed on, printed and put on the shelf by keys alone', async ({ page }) => {
  await openDemo(page);
  await press(page, button(page, 'Hand on'));
  await tabTo(page, page.getByRole('textbox', { name: 'Add a note' }));
  await page.keyboard.type('pulls hard');
  await press(page, button(page.locator('.hand-on'), 'Copy link'));
  await expect.poll(() => page.url()).toContain('#j=2.');
  await press(page, page.getByRole('radio', { name: 'Plain' }), 'ArrowRight');
  await expect(page.locator('.paste-text')).toHaveValue(/^### /);

  await tabTo(page, button(page, 'Work sheet'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  await expect(page.getByTestId('sheet').getByRole('heading', { level: 1 })).toBeFocused();
  await tabTo(page, button(page, 'Back to the bench'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  await expect(nextStep(page).locator('.step-name')).toBeFocused();

  await tabTo(page, button(page, 'Another job'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  await press(page, button(page, 'Open the demo job'));
  await settled(page, DEMO_STEPS);
  await tabTo(page, button(page, 'Another job'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  const shelf = page.getByTestId('shelf');
  await press(page, shelf.getByRole('button', { name: /^Throw away: / }).first());
  await press(page, button(page, 'Put it back'));
  await press(page, shelf.getByRole('button', { name: /^Take up: / }).first());
  await settled(page, DEMO_STEPS);
});

test('language and units are chosen by keys alone', async ({ page }) => {
  await page.goto('/');
  await press(page, page.getByText('Language, units of readings'));
  await press(page, page.getByRole('radio', { name: 'English' }), 'ArrowRight');
  await expect(page.getByRole('heading', { level: 1, name: 'Was liegt auf der Werkbank?' })).toBeVisible();
  await expect(page.locator('html')).toHaveAttribute('lang', 'de');
});
