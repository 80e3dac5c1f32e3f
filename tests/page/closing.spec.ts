// The end of a job: from the repair to an engine that runs.

import {
  button,
  causes,
  choose,
  closing,
  DEMO_STEPS,
  lines,
  nextStep,
  openDemo,
  settled,
  tap,
} from './bench.ts';
import { expect, test } from './quiet.ts';

test('repair, try, it runs: the reason, and what was merely there', async ({ page }) => {
  await openDemo(page);
  await choose(page, 'Mend the stop lead');
  await expect(nextStep(page)).toContainText('What it would lead to');
  await button(nextStep(page), 'Done').click();
  await settled(page, DEMO_STEPS + 1);
  await expect(lines(page).last()).toHaveText(/Repaired\s*Mend the stop lead/);

  // The next step after a repair is the attempt that shows whether it took.
  await expect(nextStep(page)).toHaveAttribute('data-step', 'attempt');
  await expect(nextStep(page)).toContainText('The repair is done: see what the engine says to it.');
  await tap(page, 'Starts and keeps running');

  const tag = closing(page);
  await expect(tag.getByRole('heading', { name: 'It runs' })).toBeVisible();
  await expect(tag).toContainText(/The reason: stop lead grounded/);
  await expect(tag.getByText(/^The reason/)).toHaveCount(1);
  const part = (heading: string) =>
    tag
      .locator('.closing-list')
      .and(tag.locator(`h3:text-is("${heading}") + ul`))
      .locator('li');
  await expect(part('There, but not the reason')).toHaveText([
    /^fouled plug\s+mended$/,
    /^dirty air filter\s+mended$/,
  ]);
  await expect(tag).toContainText(/Work: about [\d.]+ (min|h)\. Parts: \d+\. In all: \d+\./);
  await expect(part('Before it goes out').filter({ hasText: 'A bypass was tried' })).toHaveText(
    /Try with the stop lead off at the coil.*controls stop the engine/,
  );
  await expect(nextStep(page)).toHaveCount(0);
  await expect(page.getByTestId('still-to-come')).toHaveCount(0);
  await expect(causes(page).getByRole('heading', { name: 'What was stopping it' })).toBeVisible();

  // A closed job can be opened again.
  await button(page, 'Undo').click();
  await settled(page, DEMO_STEPS + 1);
  await expect(closing(page)).toHaveCount(0);
  await expect(nextStep(page)).toBeVisible();
});
