// The bench, used without a mouse.

import type { Locator, Page } from '@playwright/test';
import { button, closing, DEMO_STEPS, lines, nextStep, openDemo, settled, tabTo } from './bench.ts';
import { expect, test } from './quiet.ts';

test('the demo job is taken to a running engine by keys alone', async ({ page }) => {
  await page.goto('/');
  await tabTo(page, button(page, 'Open the demo job'));
  await page.keyboard.press('Enter');
  await settled(page, DEMO_STEPS);
  const heading = nextStep(page).locator('.step-name');
  await expect(heading).toBeFocused();

  // A step is found by name, independent of the advice.
  await tabTo(page, button(page, 'Do something else'));
  await page.keyboard.press('Enter');
  await page.keyboard.type('keyway');
  await tabTo(page, page.locator('.every').getByRole('button', { name: /^Look down at the keyway/ }));
  await page.keyboard.press('Enter');
  await expect(heading).toBeFocused();
  // A number key picks a result by its place.
  await page.keyboard.press('2');
  await settled(page, DEMO_STEPS + 1);
  await expect(lines(page).last()).toContainText('offset');
  await expect(heading).toBeFocused();
  await tabTo(page, button(page, 'Undo'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  await settled(page, DEMO_STEPS);

  await tabTo(page, button(page, 'Do something else'), 'Shift+Tab');
  await page.keyboard.press('Enter');
  await expect(page.getByRole('searchbox')).toBeFocused();
  // A number typed into a field does not pick a result.
  await page.keyboard.type('1');
  await expect(page.getByRole('searchbox')).toHaveValue('1');
  await settled(page, DEMO_STEPS);
  await page.keyboard.press('Backspace');
  await page.keyboard.type('mend the stop');
  await tabTo(page, page.locator('.every').getByRole('button', { name: /^Mend the stop lead/ }));
  await page.keyboard.press('Enter');
  await expect(heading).toHaveText('Mend the stop lead');
  await expect(heading).toBeFocused();

  await tabTo(page, button(page, 'Done'));
  await page.keyboard.press('Space');
  await settled(page, DEMO_STEPS + 1);
  await expect(heading).toHaveText('Try to start it');
  await expect(heading).toBeFocused();
  await page.keyboard.press('1');
  await expect(closing(page)).toContainText('The reason: stop lead grounded');
});

test('a reading is typed and recorded with Enter; after a mistake the focus is still in the field', async ({
  page,
}) => {
  await openDemo(page);
  await tabTo(page, button(page, 'Do something else'));
  await page.keyboard.press('Enter');
  await page.keyboard.type('pulled by rope');
  await tabTo(
    page,
    page.locator('.every').getByRole('button', { name: /^Compression gauge, pulled by rope/ }),
  );
  await page.keyboard.press('Enter');
  const field = nextStep(page).getByRole('textbox', { name: 'Reading' });
  await tabTo(page, field);
  await page.keyboard.type('9000');
  await page.keyboard.press('Enter');
  await expect(nextStep(page).getByRole('alert')).toContainText('off the scale');
  await expect(field).toBeFocused();
  await page.keyboard.press('Backspace');
  await page.keyboard.press('Enter');
  await settled(page, DEMO_STEPS + 1);
  await expect(lines(page).last()).toContainText('900 kPa');
});

test('what closes gives the focus back to where it was opened', async ({ page }) => {
  await openDemo(page);
  const change = lines(page)
    .nth(4)
    .getByRole('button', { name: /^Change: / });
  const press = async (target: Locator) => {
    await target.focus();
    await page.keyboard.press('Enter');
  };
  await press(change);
  await press(button(page, 'Leave it'));
  await expect(change).toBeFocused();

  // Corrections are often made in a row, so new advice does not take the focus away.
  const why = nextStep(page).locator('.step-why');
  const advice = (await why.textContent()) ?? '';
  const spark = lines(page).filter({ hasText: 'Spark across the fixed gap' });
  const correct = spark.getByRole('button', { name: /^Change: / });
  await press(correct);
  await spark.getByRole('combobox', { name: 'Result' }).selectOption('strong every turn');
  await press(button(page, 'Save the change'));
  await expect(button(page, 'Save the change')).toHaveCount(0);
  await expect(why).not.toHaveText(advice);
  await expect(correct).toBeFocused();

  await press(button(page, 'Tools'));
  await press(button(page, 'Cancel'));
  await expect(button(page, 'Tools')).toBeFocused();
  await page.evaluate(() => void (location.hash = '#j=1.broken'));
  await press(button(page, 'All right'));
  await expect(nextStep(page).locator('.step-name')).toBeFocused();
});

interface Stop {
  name: string;
  ring: boolean;
  inView: boolean;
  covered: boolean;
}

/** The element with the focus: null outside the page, its number if it had the focus before. */
const focused = (page: Page) =>
  page.evaluate((): Stop | number | null => {
    const element = document.activeElement;
    if (!(element instanceof HTMLElement) || element === document.body) return null;
    const store = window as unknown as { seen?: Element[] };
    const seen = (store.seen ??= []);
    if (seen.includes(element)) return seen.indexOf(element);
    seen.push(element);
    // For an input in a stamp or hook, and for a stub's name, the whole shape shows the focus ring.
    const shown = element.closest('.stamp-option, .hook, .stub') ?? element;
    const { outlineStyle, outlineWidth, outlineColor } = getComputedStyle(shown);
    const { left, right, top, bottom } = shown.getBoundingClientRect();
    const inView = bottom > 0 && top < innerHeight && right > 0 && left < innerWidth;
    const points = [0.1, 0.5, 0.9].map((part) =>
      document.elementFromPoint((left + right) / 2, top + (bottom - top) * part),
    );
    return {
      name: `${element.tagName} ${element.getAttribute('aria-label') ?? element.textContent}`.slice(0, 60),
      ring:
        outlineStyle !== 'none' &&
        Number.parseFloat(outlineWidth) >= 2 &&
        outlineColor !== 'rgba(0, 0, 0, 0)',
      inView,
      covered: !points.some((point) => point !== null && (shown.contains(point) || point.contains(shown))),
    };
  });

test('the Tab key goes through everything once and out again, and one always sees where it is', async ({
  page,
}) => {
  await page.emulateMedia({ reducedMotion: 'reduce' });
  await openDemo(page);
  await button(page, 'Tools').click();
  await button(page, 'Do something else').click();
  await page.getByRole('searchbox').fill('spark');
  await lines(page)
    .nth(4)
    .getByRole('button', { name: /^Change: / })
    .click();
  // Every element that can have the focus; of a group of radio buttons, the chosen one.
  const reachable = await page.evaluate(() => {
    const all = [
      ...document.querySelectorAll<HTMLElement>('button, input, select, summary, a[href], [tabindex="0"]'),
    ];
    const radios = (e: Element): e is HTMLInputElement => e instanceof HTMLInputElement && e.type === 'radio';
    return all.filter((e) => e.checkVisibility() && !e.matches(':disabled') && !(radios(e) && !e.checked))
      .length;
  });
  await page.evaluate(() => {
    (document.activeElement as HTMLElement).blur();
    getSelection()?.removeAllRanges();
  });

  const stops: Stop[] = [];
  for (let i = 0; i < 3 * reachable; i += 1) {
    await page.keyboard.press('Tab');
    const stop = await focused(page);
    if (stop === null) continue; // outside the page, before the focus starts again at the top
    if (typeof stop === 'number') {
      expect(stop, 'it goes round, not to and fro').toBe(0);
      break;
    }
    stops.push(stop);
  }
  expect(stops.filter(({ ring }) => !ring)).toEqual([]);
  expect(stops.filter(({ inView }) => !inView)).toEqual([]);
  expect(stops.filter(({ covered }) => covered)).toEqual([]);
  expect(stops.length).toBe(reachable);
});
