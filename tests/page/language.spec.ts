// The second language, and the two systems of units.

import { button, choose, DEMO_STEPS, lines, nextStep, openDemo, settled, startJob } from './bench.ts';
import { expect, test } from './quiet.ts';

test('German from the first word where the browser asks for it', async ({
  browser,
  contextOptions,
  baseURL,
}) => {
  const context = await browser.newContext({
    ...contextOptions,
    ...(baseURL && { baseURL }),
    locale: 'de-DE',
  });
  const page = await context.newPage();
  await page.goto('/');
  await expect(page.locator('html')).toHaveAttribute('lang', 'de');
  await button(page, 'Musterauftrag öffnen').click();
  await settled(page, DEMO_STEPS);
  await expect(page.getByTestId('causes')).toContainText('Was ihn aufhält');
  await expect(page.getByTestId('causes')).toContainText(/etwa \d+ von \d+/);
  await expect(nextStep(page)).toContainText(/Danach läuft er mit einer Chance von|Spart im Mittel/);
  await context.close();
});

test('the language can be changed at any time, and stays', async ({ page }) => {
  await openDemo(page);
  await button(page, 'Another job').click();
  await page.getByText('Language, units of readings').click();
  await page.getByText('Deutsch').click();
  await expect(page.getByRole('heading', { name: 'Was liegt auf der Werkbank?' })).toBeVisible();
  await page.reload();
  await button(page, 'Weiter').click();
  await settled(page, DEMO_STEPS);
  await expect(page.getByRole('heading', { name: 'Was ihn aufhält' })).toBeVisible();
});

test('a job passed on in German is the same job in English', async ({ page, elsewhere }) => {
  await page.goto('/');
  await page.getByText('Language, units of readings').click();
  await page.getByText('Deutsch').click();
  await button(page, 'Musterauftrag öffnen').click();
  await settled(page, DEMO_STEPS);
  await button(page, 'Link kopieren').click();
  await expect.poll(() => page.url()).toContain('#j=2.');
  const other = await elsewhere.newPage();
  await other.goto(page.url());
  await settled(other, DEMO_STEPS);
  await expect(nextStep(other)).toHaveAttribute(
    'data-step',
    (await nextStep(page).getAttribute('data-step')) ?? '',
  );
  // A changed description would give a notice; the same description in another language does not.
  await expect(other.getByText("The machine's description has changed")).toHaveCount(0);
});

test('what the engine says of an entry is said in German, and nothing entered is lost', async ({ page }) => {
  await page.goto('/');
  await page.getByText('Language, units of readings').click();
  await page.getByText('Deutsch').click();
  await page.getByText('Gar nichts', { exact: true }).click();
  await button(page, 'Alles').click();
  await button(page, 'Diesen Auftrag beginnen').click();
  await settled(page, 1);
  await button(page, 'Etwas anderes tun').click();
  await page.getByRole('searchbox').fill('am Seil gezogen');
  await page.locator('.every .peg').filter({ hasText: 'Kompressionsprüfer, am Seil gezogen' }).click();
  await nextStep(page).getByRole('textbox', { name: 'Ablesung' }).fill('99999');
  await button(page, 'Ablesung eintragen').click();
  await expect(page.getByTestId('trouble')).toContainText(
    /Schritt 2: 99\.999 kPa .* liegt nicht auf der Skala/i,
  );
  await expect(nextStep(page).getByRole('textbox', { name: 'Ablesung' })).toHaveValue('99999');
  await settled(page, 1);
});

test('gauges are read in the units that were chosen', async ({ page }) => {
  await page.goto('/');
  await page.getByText('Language, units of readings').click();
  await page.getByText('US', { exact: true }).click();
  await startJob(page);
  await choose(page, 'Compression gauge, pulled by rope');
  await expect(nextStep(page).getByRole('combobox', { name: 'Unit' })).toHaveValue('psi');
  await nextStep(page).getByRole('textbox', { name: 'Reading' }).fill('85');
  await button(page, 'Record the reading').click();
  await settled(page, 2);
  await expect(lines(page).last()).toContainText('85 psi');
});
