// Steps that must wait: what the page says about them, and that they can be recorded all the same.

import { readFileSync } from 'node:fs';
import type { Page } from '@playwright/test';
import { button, choose, lines, nextStep, openJob, settled, tap } from './bench.ts';
import { stepOf } from './machine.ts';
import { expect, test } from './quiet.ts';

const JOB = {
  machine: 'mower-recoil',
  steps: [
    { do: 'attempt', outcome: 'nothing' },
    { do: 'check', check: 'spill-look', result: 'wet' },
  ],
};

/** The gate of the description that this finding closes. */
const GATE: { why: string; until: { repair: string }[] } = JSON.parse(
  readFileSync(new URL('../../web/src/engine/machines/mower-recoil.json', import.meta.url), 'utf8'),
).gates.find(({ id }: { id: string }) => id === 'spilt');
const OPENS = GATE.until.map(({ repair }) => stepOf(repair));

const waits = (page: Page) => page.getByTestId('waits');

test('what must wait is said with its reason, and what ends the wait is one tap away', async ({ page }) => {
  await openJob(page, JOB);
  await expect(waits(page)).toContainText(GATE.why);
  expect(OPENS.length).toBeGreaterThan(0);
  for (const { id, name } of OPENS) {
    await button(waits(page), name).click();
    await expect(nextStep(page)).toHaveAttribute('data-step', id);
    await expect(nextStep(page).locator('.step-name')).toBeFocused();
  }
  await button(nextStep(page), 'Done').click();
  await settled(page, 3);
  await expect(waits(page)).toHaveCount(0);
});

test('a step that must wait says so, and can be recorded all the same', async ({ page }) => {
  await openJob(page, JOB);
  await waits(page)
    .getByRole('button', { name: /\d steps wait/ })
    .click();
  await button(waits(page), 'Try to start it').click();
  await expect(nextStep(page)).toHaveAttribute('data-step', 'attempt');
  // The reason stands on the tag of the step now, and only there.
  await expect(nextStep(page)).toContainText(GATE.why);
  await expect(page.getByText(GATE.why)).toHaveCount(1);
  await tap(page, 'Nothing at all');
  await expect(lines(page).last()).toContainText('Nothing at all');

  await choose(page, 'Try to start it');
  await button(nextStep(page), OPENS[0]?.name ?? '').click();
  await expect(nextStep(page)).toHaveAttribute('data-step', OPENS[0]?.id ?? '');
});
