// Keeping: input survives a reload, a crash and other windows.

import {
  button,
  choose,
  DEMO_STEPS,
  holdableAdvice,
  lines,
  nextStep,
  odds,
  openDemo,
  rewriteKept,
  settled,
  startJob,
  takeUp,
  trouble,
} from './bench.ts';
import { mower } from './machine.ts';
import { expect, test } from './quiet.ts';

/** The key under which the first version of the page kept its one job. */
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

  // The entry continues where it was interrupted.
  await field.press('End');
  await field.pressSequentially('4');
  await button(page, 'Record the reading').click();
  await settled(page, 2);
  await expect(lines(page).last()).toContainText(/414 kPa.*not sure/);
});

test('what is on the list is kept, however soon the reload', async ({ page }) => {
  await startJob(page);
  await choose(page, 'Look at the air filter');
  // The page reloads as soon as the line appears, before the job is written to the database.
  await page.evaluate(() => {
    const before = document.querySelectorAll('.sheet-line').length;
    new MutationObserver(() => {
      if (document.querySelectorAll('.sheet-line').length > before) location.reload();
    }).observe(document.body, { childList: true, subtree: true });
  });
  const reloaded = page.waitForEvent('load');
  await button(nextStep(page), 'packed solid').click();
  await reloaded;
  await settled(page, 2);
  await expect(lines(page).last()).toContainText('packed solid');
});

test('undo reaches back over a reload, and another job stays on the shelf', async ({ page }) => {
  await startJob(page);
  const mine = await odds(page);
  await choose(page, 'Look at the air filter');
  await button(nextStep(page), 'packed solid').click();
  await settled(page, 2);
  await button(page, 'Another job').click();
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
  await page.reload();
  await settled(page, DEMO_STEPS);
  await takeUp(page);
  await settled(page, 2);
  await page.reload();
  await button(page, 'Undo').click();
  await settled(page, 1);
  expect(await odds(page)).toEqual(mine);
});

test('a reload keeps a half-filled intake', async ({ page }) => {
  const puller = mower.tools.find(({ id }) => id === 'puller')?.name ?? '';
  await page.goto('/');
  await page.getByText('Starts and dies', { exact: true }).click();
  await page.getByText(puller, { exact: true }).click();
  await page.getByText('What to spare, limits, height', { exact: true }).click();
  await page.getByRole('textbox', { name: 'Height above the sea' }).fill('1,2');

  await page.reload();
  await expect(page.getByRole('radio', { name: 'Starts and dies' })).toBeChecked();
  await expect(page.getByRole('checkbox', { name: puller })).toBeChecked();
  await page.getByText('What to spare, limits, height', { exact: true }).click();
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
  await rewriteKept(page, '"check":"filter-look"', '"check":"filter-lok"');
  await page.reload();
  await expect(trouble(page)).toContainText('This job cannot be worked out');
  await expect(trouble(page)).toContainText(/Step 5: .*“filter-lok”.*“filter-look”/);
  await expect(nextStep(page)).toHaveCount(0);
  const wrong = lines(page).filter({ hasText: 'unknown step “filter-lok”' });
  await wrong.getByRole('button', { name: /^Change: / }).click();
  await button(wrong, 'Remove').click();
  await settled(page, DEMO_STEPS - 1);
  await expect(trouble(page)).toHaveCount(0);
  await expect(nextStep(page)).toBeVisible();
});

test('the job that the first version of the page kept is taken over, once', async ({ page }) => {
  await page.goto('/');
  await expect(button(page, 'Open the demo job')).toBeVisible();
  const draft = { step: '', known: null, reading: { mode: 'value', first: '', second: '', unit: null } };
  const job = { machine: 'mower-recoil', steps: [{ do: 'attempt', outcome: 'tries' }] };
  const stored = JSON.stringify({
    job,
    past: [{ job: null, what: 'x' }],
    future: [],
    chosen: null,
    draft,
    view: 'bench',
  });
  await page.evaluate(([key, text]) => localStorage.setItem(key ?? '', text ?? ''), [KEPT, stored]);
  // A second window is needed, because this one remembers that it had no job.
  const other = await page.context().newPage();
  await other.goto('/');
  await settled(other, 1);
  await expect(lines(other).first()).toContainText('Coughs or pops');
  expect(await other.evaluate((key) => localStorage.getItem(key), KEPT)).toBeNull();
  await other.reload();
  await settled(other, 1);
});

test('several jobs lie side by side; one thrown away can be put back', async ({ page }) => {
  await startJob(page);
  await button(page, 'Another job').click();
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
  await button(page, 'Another job').click();
  const shelf = page.getByTestId('shelf');
  await expect(shelf.getByRole('listitem')).toHaveCount(1);
  await expect(shelf).toContainText('1 thing done');
  await shelf.getByRole('button', { name: /^Throw away: / }).click();
  await expect(shelf).toHaveCount(0);
  await button(page, 'Put it back').click();
  await expect(shelf.getByRole('listitem')).toHaveCount(1);
  await shelf.getByRole('button', { name: /^Take up: / }).click();
  await settled(page, 1);
});

test('two windows with the same job: what is found in one is seen in the other', async ({
  page,
  context,
}) => {
  await openDemo(page);
  const other = await context.newPage();
  await other.goto('/');
  await settled(other, DEMO_STEPS);
  await choose(page, 'Look at the air filter');
  await button(nextStep(page), 'packed solid').click();
  await settled(page, DEMO_STEPS + 1);
  await settled(other, DEMO_STEPS + 1);
  await button(other, 'Undo').click();
  await settled(other, DEMO_STEPS);
  await settled(page, DEMO_STEPS);
});

test('changed in two windows at once, both are kept', async ({ page, context }) => {
  await openDemo(page);
  const other = await context.newPage();
  // This window gets no messages from the first.
  await other.addInitScript(() => {
    BroadcastChannel.prototype.postMessage = () => undefined;
    BroadcastChannel.prototype.addEventListener = () => undefined;
  });
  await other.goto('/');
  await settled(other, DEMO_STEPS);
  for (const [window, result] of [
    [page, 'packed solid'],
    [other, 'dirty, but light shows'],
  ] as const) {
    await choose(window, 'Look at the air filter');
    await button(nextStep(window), result).click();
    await settled(window, DEMO_STEPS + 1);
  }
  await expect(trouble(other)).toContainText('Both are kept');
  await button(other, 'Another job').click();
  await expect(other.getByTestId('shelf').getByRole('listitem')).toHaveCount(1);
  await other
    .getByTestId('shelf')
    .getByRole('button', { name: /^Take up: / })
    .click();
  await expect(lines(other).last()).toContainText('Packed solid', { ignoreCase: true });
});

test('a job that is taken up while a step of another one is worked out gets none of it', async ({ page }) => {
  const { hold } = await holdableAdvice(page);
  await startJob(page);
  await button(page, 'Another job').click();
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
  const release = hold();
  await choose(page, 'Look at the air filter');
  await button(nextStep(page), 'packed solid').click();
  await expect(lines(page)).toHaveCount(DEMO_STEPS + 1);
  await takeUp(page);
  release();
  await settled(page, 1);
  await takeUp(page);
  await settled(page, DEMO_STEPS + 1);
  await expect(lines(page).last()).toContainText('packed solid');
});

test('where nothing more can be kept, it is told, and the job goes on', async ({ page }) => {
  await page.addInitScript(() => {
    IDBObjectStore.prototype.put = () => {
      throw new DOMException('no room', 'QuotaExceededError');
    };
  });
  await page.goto('/');
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
  await expect(trouble(page)).toContainText('This browser does not keep the job (no room)');
  await choose(page, 'Look at the air filter');
  await button(nextStep(page), 'packed solid').click();
  await settled(page, DEMO_STEPS + 1);
});
