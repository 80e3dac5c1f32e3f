// Steps that can be done and are not worth doing now.

import { ahead, button, lines, nextStep, openJob, settled } from './bench.ts';
import { answers } from './advice.ts';
import { expect, test } from './quiet.ts';

const JOB = { machine: 'mower-recoil', steps: [{ do: 'attempt', outcome: 'nothing' }] };

test('one tap shows everything that can be done, and what is not worth it stands below', async ({ page }) => {
  const { set_aside: aside, ranking } = answers(JOB).last;
  expect(aside.length).toBeGreaterThan(0);
  await openJob(page, JOB);
  await expect(ahead(page)).toHaveAttribute('data-settled', 'true', { timeout: 20_000 });
  const others = page.locator('#other');
  const low = page.getByTestId('set-aside');
  await expect(low).toHaveCount(0);
  await button(others, `Show everything that can be done (${ranking.length + aside.length - 1})`).click();
  await expect(others.locator('.peg')).toHaveCount(ranking.length + aside.length - 1);
  await expect(low.locator('.peg')).toHaveCount(aside.length);

  // What is not worth it can be recorded like any other step.
  const step = aside.find(({ kind }) => kind === 'check');
  expect(step).toBeDefined();
  await low
    .locator('.peg')
    .filter({ has: page.getByText(step?.name ?? '', { exact: true }) })
    .click();
  await expect(nextStep(page)).toHaveAttribute('data-step', step?.id ?? '');
  await expect(nextStep(page)).toContainText('Not worth doing now');
  await nextStep(page).locator('.stub-name').first().click();
  await settled(page, 2);
  await expect(lines(page).last()).toContainText(step?.name ?? '');
});
