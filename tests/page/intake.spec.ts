// The intake: machine, outcome of the last attempt, tools; and the first advice.

import { button, chance, choose, lines, nextStep, openEveryStep, settled, startJob } from './bench.ts';
import { cautionsOf, mower, stepOf, steps } from './machine.ts';
import { expect, test } from './quiet.ts';

test('a job starts, and the first advice says how, why, how long and what can hurt before it asks', async ({
  page,
}) => {
  await page.goto('/');
  await expect(page.getByRole('radio', { name: mower.name })).toBeChecked();
  await page.getByText('Nothing at all', { exact: true }).click();
  await button(page, 'Start this job').click();
  await settled(page, 1);
  await expect(page.getByRole('heading', { level: 1, name: mower.name })).toBeVisible();
  await expect(lines(page)).toHaveText(/Tried to start.*Nothing at all/);

  const advice = nextStep(page);
  await expect(advice).toHaveAccessibleName('Next step');
  const advised = stepOf((await advice.getAttribute('data-step')) ?? '');
  await expect(advice.locator('.how')).toHaveText(advised.how);
  await expect(advice.locator('.step-why')).toHaveText(/\w{3,}.*\.$/);
  await expect(advice.locator('.step-price')).toHaveText(/(about \d+|under 1) min/);
  const cautions = await advice.locator('.cautions li').allTextContents();
  expect(cautions.sort()).toEqual(cautionsOf(advised).sort());

  // From top to bottom: the warnings and the instructions come before the entry of the result.
  const order = await advice.evaluate((tag) => {
    const parts = [...tag.querySelectorAll('.step-why, .cautions, .how, .entry')];
    return parts.map((part) => part.className.split(' ')[0]).filter((name, i, all) => name !== all[i - 1]);
  });
  expect(order.slice(-2)).toEqual(['how', 'entry']);
  expect(order.slice(0, -2)).toEqual(cautions.length > 0 ? ['step-why', 'cautions'] : ['step-why']);
});

test('a dose of petrol comes with the cautions against fire, fume and blade', async ({ page }) => {
  await startJob(page);
  await choose(page, 'Try with a small dose of petrol');
  const expected = cautionsOf(stepOf('dose'));
  expect(expected.join(' ')).toMatch(/vapour.*flame/i);
  const notes = nextStep(page).locator('.cautions');
  expect((await notes.locator('li').allTextContents()).sort()).toEqual(expected.sort());
  await expect(notes).toContainText("The maker's manual, local rules and licensed practice come first.");
  const [warned, asked] = [await notes.boundingBox(), await nextStep(page).locator('.stubs').boundingBox()];
  expect((warned?.y ?? 0) + (warned?.height ?? 0)).toBeLessThan(asked?.y ?? 0);
});

test('without a tool, the steps that need it are listed with that as the reason; with it, they are open', async ({
  page,
}) => {
  const multimeter = mower.tools.find(({ id }) => id === 'meter')?.name ?? '';
  const needing = steps.filter(({ tools }) => tools?.includes('meter'));
  expect(needing.length).toBeGreaterThan(1);
  const reason = `needs a tool that is not at hand: ${multimeter}`;

  await page.goto('/');
  await page.getByText('Nothing at all', { exact: true }).click();
  await button(page, 'All of them').click();
  await page.getByText(multimeter, { exact: true }).click();
  await expect(page.getByRole('checkbox', { name: multimeter })).not.toBeChecked();
  await button(page, 'Start this job').click();
  await settled(page, 1);

  const every = await openEveryStep(page);
  await expect(every.locator('.peg')).toHaveCount(steps.length + 1); // and the plain attempt
  const shut = every.locator('.peg').filter({ hasText: reason });
  expect((await shut.locator('.peg-name').allTextContents()).sort()).toEqual(
    needing.map(({ name }) => name).sort(),
  );

  // Such a step can still be viewed, with the same reason.
  await choose(page, needing[0]?.name ?? '');
  await expect(nextStep(page).locator('.step-why')).toHaveText(`Not advised now: ${reason}`);

  await button(page, 'Tools').click();
  await page
    .getByRole('form', { name: 'Tools, what is fitted, limits' })
    .getByText(multimeter, { exact: true })
    .click();
  await button(page, 'Save').click();
  await expect(button(page, 'Save')).toHaveCount(0);
  await settled(page, 1);
  await expect((await openEveryStep(page)).locator('.peg').filter({ hasText: multimeter })).toHaveCount(0);
});

test('a price that is no number is told, and nothing that was entered is lost', async ({ page }) => {
  await page.goto('/');
  await page.getByText('Coughs or pops', { exact: true }).click();
  await page.getByText('What to spare, limits, height', { exact: true }).click();
  const rate = page.getByRole('textbox', { name: 'Price of an hour of your work' });
  await rate.fill('a lot');
  await button(page, 'Start this job').click();
  await expect(page.getByTestId('trouble')).toContainText('“a lot” is not a number.');
  await rate.fill('-4');
  await button(page, 'Start this job').click();
  await expect(page.getByTestId('trouble')).toContainText(/Price of an hour: -4 is not above 0/);
  await expect(page.getByRole('radio', { name: 'Coughs or pops' })).toBeChecked();
  await rate.fill('42,50');
  await button(page, 'Start this job').click();
  await settled(page, 1);
  await expect(lines(page)).toContainText('Coughs or pops');
});

test('what a machine is worth is a limit, and what is to be spared is a choice; both can be changed later', async ({
  page,
}) => {
  await page.goto('/');
  await page.getByText('Nothing at all', { exact: true }).click();
  await page.getByText('What to spare, limits, height', { exact: true }).click();
  await expect(page.getByRole('radio', { name: 'Time and money' })).toBeChecked();
  await page.getByRole('textbox', { name: 'What it is worth once it runs' }).fill('1');
  await button(page, 'Start this job').click();
  await settled(page, 1);
  await expect(
    nextStep(page).getByRole('heading', { name: 'Stop here: it is not worth repairing' }),
  ).toBeVisible();

  const form = page.getByRole('form', { name: 'Tools, what is fitted, limits' });
  const open = async () => {
    await button(page, 'Tools').click();
    await form.getByText('What to spare, limits, height', { exact: true }).click();
  };
  await open();
  const worth = form.getByRole('textbox', { name: 'What it is worth once it runs' });
  await expect(worth).toHaveValue('1');
  await worth.fill('');
  await form.getByText('Money', { exact: true }).click();
  await button(form, 'Save').click();
  await settled(page, 1);
  await expect(nextStep(page)).not.toHaveAttribute('data-step', 'not-worth-it');
  await open();
  await expect(worth).toHaveValue('');
  await expect(form.getByRole('radio', { name: 'Money', exact: true })).toBeChecked();
});

test('what the owner says, what is fitted and where it comes from go into the job, and can be changed later', async ({
  page,
}) => {
  await page.goto('/');
  await page.getByText('Nothing at all', { exact: true }).click();
  await page.getByText('What the owner says').click();
  await page.getByRole('combobox', { name: 'Ask when it last ran' }).selectOption('longer ago, under a roof');
  await page.getByRole('combobox', { name: 'Ask whether the blade hit something' }).selectOption('yes');
  await page.getByText('What is fitted', { exact: false }).first().click();
  await page.getByRole('combobox', { name: 'help for a cold start' }).selectOption('primer bulb');
  await page.getByText('Where it comes from').click();
  await page
    .getByRole('combobox', { name: 'time of year' })
    .selectOption('spring, first start of the season');
  await expect(page.getByText('2 of 9 known')).toBeVisible();
  await page.reload();
  await expect(page.getByText('2 of 9 known')).toBeVisible();
  await button(page, 'Start this job').click();
  await settled(page, 3);
  // Common practice, no source: a blade that hit something shears the key.
  const struck = await chance(page, 'key/sheared');
  expect(await chance(page, 'choke/not-closing')).toBe(0);

  await button(page, 'Tools').click();
  const form = page.getByRole('form', { name: 'Tools, what is fitted, limits' });
  await form.getByText('What is fitted', { exact: false }).click();
  const help = form.getByRole('combobox', { name: 'help for a cold start' });
  await expect(help).toHaveValue('primer');
  await help.selectOption('choke, by hand or automatic');
  await form.getByText('Where it comes from').click();
  await expect(form.getByRole('combobox', { name: 'time of year' })).toHaveValue('spring');
  await button(form, 'Save').click();
  await settled(page, 3);
  expect(await chance(page, 'choke/not-closing')).toBeGreaterThan(0);

  // Without the owner's statement the key is less suspect.
  const said = lines(page).filter({ hasText: 'Ask whether the blade hit something' });
  await said.getByRole('button', { name: /^Change: / }).click();
  await button(said, 'Remove').click();
  await settled(page, 2);
  expect(await chance(page, 'key/sheared')).toBeLessThan(struck);
});
