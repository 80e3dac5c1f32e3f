// Readings of gauges, and the provenance of findings.

import {
  button,
  chance,
  choose,
  lines,
  nextStep,
  odds,
  settled,
  shows,
  startJob,
  tap,
  trouble,
} from './bench.ts';
import type { Page } from '@playwright/test';
import { expect, test } from './quiet.ts';

const GAUGE = 'Compression gauge, pulled by rope';

async function enter(page: Page, number: string, unit: string): Promise<void> {
  await nextStep(page).getByRole('textbox', { name: 'Reading' }).fill(number);
  await nextStep(page).getByRole('combobox', { name: 'Unit' }).selectOption(unit);
  await button(page, 'Record the reading').click();
}

test('a pressure in psi, kPa or bar is the same pressure', async ({ page }) => {
  await startJob(page);
  const start = await odds(page);
  // 1 psi = 6.894757 kPa (NIST SP 811, appendix B.8): 24 psi.
  const readings = [
    ['24', 'psi'],
    ['165.474', 'kPa'],
    ['1,65474', 'bar'],
  ] as const;
  let first: Record<string, string> | null = null;
  for (const [number, unit] of readings) {
    await choose(page, GAUGE);
    await enter(page, number, unit);
    await settled(page, 2);
    await expect(lines(page).last()).toContainText(`${number.replace(',', '.')} ${unit}`);
    await expect(page.getByTestId('readings')).toContainText(`${number.replace(',', '.')} ${unit}`);
    if (first === null) {
      first = await odds(page);
      expect(first).not.toEqual(start);
    } else {
      await shows(page, first);
    }
    await button(page, 'Undo').click();
    await settled(page, 1);
  }
  // The same number in another unit is another pressure.
  await choose(page, GAUGE);
  await enter(page, '24', 'bar');
  await expect(trouble(page)).toContainText('off the scale');
  await nextStep(page).getByRole('textbox', { name: 'Reading' }).fill('8.4');
  await button(page, 'Record the reading').click();
  await settled(page, 2);
  expect(await odds(page)).not.toEqual(first);
});

test('a wrong number is told at its place, and nothing is lost', async ({ page }) => {
  await startJob(page);
  await choose(page, GAUGE);
  const start = await odds(page);
  const field = nextStep(page).getByRole('textbox', { name: 'Reading' });
  const said = nextStep(page).getByRole('alert');
  const rejected = async (number: string, unit: string, why: RegExp) => {
    await enter(page, number, unit);
    await expect(said).toHaveText(why);
    await expect(field).toHaveValue(number);
    await settled(page, 1);
  };
  await rejected('', 'psi', /Enter the number that was read off\./);
  await rejected('ninety', 'psi', /“ninety” is not a number\./);
  await rejected('301', 'psi', /301 psi is off the scale, which goes from 0 to 300 psi/);
  await rejected('-1', 'kPa', /off the scale, which goes from 0 to 300 psi/);
  await rejected('9000', 'kPa', /Step 2: .*off the scale/);

  await nextStep(page).getByRole('combobox', { name: 'It', exact: true }).selectOption('is between');
  await nextStep(page).getByRole('textbox', { name: 'Lowest' }).fill('90');
  await nextStep(page).getByRole('textbox', { name: 'Highest' }).fill('80');
  await button(page, 'Record the reading').click();
  await expect(said).toContainText('The first number must be the smaller one.');

  await shows(page, start);
  await nextStep(page).getByRole('combobox', { name: 'Unit' }).selectOption('psi');
  await nextStep(page).getByRole('textbox', { name: 'Highest' }).fill('100');
  await button(page, 'Record the reading').click();
  await settled(page, 2);
  await expect(lines(page).last()).toContainText('90 to 100 psi');
  await expect(trouble(page)).toHaveCount(0);
});

test('a thing told moves the odds less than the same thing seen', async ({ page }) => {
  await startJob(page);
  const CHECK = 'Spark across the fixed gap';
  const before = await chance(page, 'coil/dead');

  await choose(page, CHECK);
  await expect(nextStep(page).getByRole('radio', { name: 'Seen' })).toBeChecked();
  await nextStep(page).getByText('Told', { exact: true }).click();
  await tap(page, 'none');
  await expect(lines(page).last()).toContainText('told');
  const told = await chance(page, 'coil/dead');
  await button(page, 'Undo').click();
  await settled(page, 1);

  await choose(page, CHECK);
  await tap(page, 'none');
  await expect(lines(page).last()).not.toContainText('told');
  const seen = await chance(page, 'coil/dead');
  const asSeen = await odds(page);
  expect(before).toBeLessThan(told);
  expect(told).toBeLessThan(seen);

  // The finding is changed from seen to told and back.
  const last = lines(page).last();
  for (const [known, expected] of [
    ['Told', told],
    ['Seen', seen],
  ] as const) {
    await last.getByRole('button', { name: /^Change: / }).click();
    await last.getByText(known, { exact: true }).click();
    await button(last, 'Save the change').click();
    await expect(button(page, 'Save the change')).toHaveCount(0);
    await expect.poll(() => chance(page, 'coil/dead')).toBe(expected);
  }
  await shows(page, asSeen);
});
