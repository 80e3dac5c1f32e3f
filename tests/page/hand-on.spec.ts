// Handing a job on: a link with a note, a QR code, a text to paste, a file, a sheet of paper.

import { answers } from './advice.ts';
import { readFileSync } from 'node:fs';
import { button, choose, closing, DEMO_STEPS, lines, nextStep, openDemo, settled, trouble } from './bench.ts';
import { expect, test } from './quiet.ts';

test('a note travels with the link, and is text and nothing else', async ({ page, elsewhere }) => {
  await openDemo(page);
  await button(page, 'Hand on').click();
  const evil = '<img src=x onerror="document.title=1"> **bold** [b]x[/b]';
  await page.getByRole('textbox', { name: 'Add a note' }).fill(evil);
  const panel = page.locator('.hand-on');
  await button(panel, 'Copy link').click();
  await expect.poll(() => page.url()).toContain('#j=2.');

  const other = await elsewhere.newPage();
  await other.goto(page.url());
  await settled(other, DEMO_STEPS);
  const slip = other.getByRole('region', { name: 'A job came with this link' });
  await expect(slip.locator('blockquote')).toHaveText(evil);
  await expect(slip.locator('img')).toHaveCount(0);
  await expect(other).toHaveTitle('halfsplit');
});

test('a link made with another description says so, and steps it does not know stay in the list', async ({
  page,
}) => {
  // A link in the format of `link::encode` for a job with one unknown step and the fingerprint "AAAAAAAAAAA":
  // version 2, the job as JSON in one stored block of RFC 1951, without abbreviated phrases.
  const json = JSON.stringify({
    job: {
      machine: 'mower-recoil',
      steps: [
        { do: 'attempt', outcome: 'nothing' },
        { do: 'check', check: 'filter-glance', result: 'dirty' },
      ],
    },
    fingerprint: 'AAAAAAAAAAA',
  });
  const length = [json.length & 255, json.length >> 8];
  const block = Buffer.from([1, ...length, ...length.map((byte) => 255 - byte), ...Buffer.from(json)]);
  await page.goto(`/#j=2.${block.toString('base64url')}`);
  await expect(page.getByText("The machine's description has changed since the link was made")).toBeVisible();
  const said = page.getByRole('region', { name: 'A job came with this link' });
  await expect(said).toContainText('Step 2: There is no check “filter-glance”.');
  await expect(lines(page)).toHaveCount(2);
  await expect(trouble(page)).toContainText('This job cannot be worked out');
  await lines(page)
    .nth(1)
    .getByRole('button', { name: /^Change: / })
    .click();
  await button(lines(page).nth(1), 'Remove').click();
  await settled(page, 1);
  await expect(nextStep(page)).toBeVisible();
});

test('a text to paste, in three kinds of markup', async ({ page }) => {
  await openDemo(page);
  await button(page, 'Hand on').click();
  const text = page.locator('.paste-text');
  await expect(text).toHaveValue(
    /Spark across the fixed gap: none[^]*stop lead grounded[^]*Next step: \w[^]*#j=2\./,
  );
  await page.getByText('Markdown', { exact: true }).click();
  await expect(text).toHaveValue(/^### Recoil-start[^]*\*\*Next step: \w[^\n]*\*\*[^]*\]\(<http/);
  await page.getByText('BBCode', { exact: true }).click();
  await expect(text).toHaveValue(/^\[b\]Recoil-start[^]*\[list=1\][^]*\[url=http/);
});

test('the code to scan holds the link', async ({ page }) => {
  await openDemo(page);
  await button(page, 'Hand on').click();
  const code = page.getByRole('img', { name: 'The link as a code to scan with another telephone.' });
  await expect(code).toBeVisible();
  // A link of some 370 bytes needs version 12 or more at the lowest correction: 17 + 4 * 12 modules a side
  // (ISO/IEC 18004, tables 1 and 7).
  await expect.poll(async () => Number(await code.getAttribute('data-size'))).toBeGreaterThanOrEqual(65);
});

test('a job goes out as a file and comes in again', async ({ page }) => {
  await openDemo(page);
  await button(page, 'Hand on').click();
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    button(page, 'Save as a file').click(),
  ]);
  const path = await download.path();
  const job = JSON.parse(readFileSync(path, 'utf8'));
  expect(job.steps).toHaveLength(DEMO_STEPS);
  await button(page, 'Another job').click();
  const field = page.locator('input[type=file]');
  await field.setInputFiles({
    name: 'x.json',
    mimeType: 'application/json',
    buffer: Buffer.from('{"machine": 7}'),
  });
  await expect(trouble(page)).toContainText(
    'Machine: What stands there is not of the kind that belongs there (invalid type: integer `7`, expected a string).',
  );
  await field.setInputFiles(path);
  await settled(page, DEMO_STEPS);
  await expect(page.getByTestId('next-step')).toHaveAttribute('data-step', answers(job).last.next.id);
});

test('the work sheet has everything on one page', async ({ page }) => {
  await openDemo(page);
  await choose(page, 'Mend the stop lead');
  await button(nextStep(page), 'Done').click();
  await settled(page, DEMO_STEPS + 1);
  await button(nextStep(page), 'Starts and keeps running').click();
  await expect(closing(page)).toContainText('What to confirm');
  await button(page, 'Work sheet').click();
  const sheet = page.getByTestId('sheet');
  await expect(sheet.locator('tbody tr')).toHaveCount(DEMO_STEPS + 2);
  await expect(sheet).toContainText('The reason');
  await expect(sheet).toContainText(/stop lead grounded: .*%/);
  const season = sheet
    .locator('section')
    .filter({ has: page.getByRole('heading', { name: 'For next season' }) });
  await expect(season).toContainText(/likelier with “.+: .+”/);
  await expect(season).toContainText("The maker's manual comes first.");
  // The sheet fits on one page of A4 with the margins of its own style.
  await page.emulateMedia({ media: 'print' });
  await expect(page.locator('.plate-rail')).toBeHidden();
  await expect(button(page, 'Print')).toBeHidden();
  const pdf = (await page.pdf({ format: 'A4' })).toString('latin1');
  // ISO 32000-1, 7.7.3.3: every page is an object of type Page.
  expect(pdf.match(/\/Type\s*\/Page\b/g)).toHaveLength(1);
});
