// Jobs handed on by a link, which holds the whole job in the address.

import { deflateRawSync } from 'node:zlib';
import type { Page } from '@playwright/test';
import {
  button,
  chance,
  choose,
  DEMO_STEPS,
  lines,
  nextStep,
  odds,
  openDemo,
  settled,
  shows,
  startJob,
  trouble,
} from './bench.ts';
import { expect, test } from './quiet.ts';

/** Copies the link of the job on the bench. */
async function copyLink(page: Page): Promise<string> {
  await button(page, 'Copy link').click();
  await expect.poll(() => new URL(page.url()).hash).toMatch(/^#j=2\.[\w-]+$/);
  return page.url();
}

/** Follows a link in the open window, as from a bookmark. */
const follow = (page: Page, link: string) =>
  page.evaluate((hash) => {
    location.hash = hash;
  }, new URL(link, 'http://here').hash);

/** Checks that a link is refused for this reason, puts nothing into the page and leaves the demo job. */
async function refused(page: Page, what: string, link: string, why: RegExp): Promise<void> {
  await follow(page, link);
  const note = trouble(page);
  await expect(note, what).toContainText('That link cannot be opened');
  await expect(note, what).toContainText(why);
  await expect(note, what).toContainText('Your job is left as it was.');
  await expect(page.locator('img[src="x"], main script')).toHaveCount(0);
  await settled(page, DEMO_STEPS);
  await button(note, 'All right').click();
  await expect(note).toHaveCount(0);
  expect(new URL(page.url()).hash).toBe('');
}

const texts = (page: Page) => lines(page).locator('.sheet-text > p').allTextContents();

test('a copied link opens the same job with the same odds somewhere else, and nothing is sent', async ({
  page,
  context,
  elsewhere,
  traffic,
}) => {
  await context.grantPermissions(['clipboard-read', 'clipboard-write']);
  await openDemo(page);
  const loaded = traffic.asked.length;
  const link = await copyLink(page);
  await expect(page.getByText('Link copied. Whoever opens it sees this job as it stands.')).toBeVisible();
  expect(await page.evaluate(() => navigator.clipboard.readText())).toBe(link);
  const [here, found] = [await odds(page), await texts(page)];
  // The browser may request the icon of the page later.
  expect(traffic.asked.slice(loaded).filter((url) => !url.endsWith('/tag.svg'))).toEqual([]);

  const other = await elsewhere.newPage();
  await other.goto(link);
  await settled(other, DEMO_STEPS);
  expect(await odds(other)).toEqual(here);
  expect(await texts(other)).toEqual(found);
  await expect(nextStep(other)).toHaveAttribute(
    'data-step',
    (await nextStep(page).getAttribute('data-step')) ?? '',
  );
  await expect(trouble(other)).toHaveCount(0);

  // The link stands for the job as it was, so it leaves the address once the job changes.
  await choose(page, 'Look at the air filter');
  await button(nextStep(page), 'packed solid').click();
  await settled(page, DEMO_STEPS + 1);
  await expect.poll(() => new URL(page.url()).hash).toBe('');
});

test('where the clipboard is refused, the link can be copied by hand', async ({ page, context }) => {
  await context.grantPermissions([]); // every permission is refused
  await openDemo(page);
  const link = await copyLink(page);
  await expect(page.getByRole('textbox', { name: 'Link to this job' })).toHaveValue(link);
});

test('a link that comes to a bench with a job on it asks first', async ({ page, elsewhere }) => {
  const other = await elsewhere.newPage();
  await openDemo(other);
  const [link, theirs] = [await copyLink(other), await odds(other)];

  await startJob(page);
  const mine = await odds(page);
  const slip = page.getByRole('region', { name: 'A job came with this link' });
  await follow(page, link);
  await expect(slip).toBeFocused();
  await expect(slip).toContainText(`${DEMO_STEPS} things done so far.`);
  await expect(slip).toContainText('Your own job, with 1 thing done, is still on the bench.');
  await settled(page, 1);
  await button(slip, 'Keep mine').click();
  await expect(slip).toHaveCount(0);
  await shows(page, mine);
  expect(new URL(page.url()).hash).toBe('');

  await follow(page, link);
  await button(slip, 'Open the linked job').click();
  await settled(page, DEMO_STEPS);
  await shows(page, theirs);
  // The own job is on the shelf.
  await button(page, 'Another job').click();
  await page
    .getByTestId('shelf')
    .getByRole('button', { name: /^Take up: / })
    .click();
  await settled(page, 1);
  await shows(page, mine);
});

test('a broken link says what is wrong, and the job on the bench stays', async ({ page }) => {
  await openDemo(page);
  const whole = await copyLink(page);
  const before = await odds(page);
  // Removes the link from the address, so that following the same link later is a change of the address.
  await choose(page, 'Look at the air filter');
  await button(nextStep(page), 'packed solid').click();
  await settled(page, DEMO_STEPS + 1);
  await button(page, 'Undo').click();
  await settled(page, DEMO_STEPS);

  const broken = {
    'cut off': [whole.slice(0, -10), /the link is damaged/],
    'of another program': ['#j=7.abcdef', /version that this program does not know/],
    empty: ['#j=', /version that this program does not know/],
  } as const;
  for (const [what, [link, why]] of Object.entries(broken)) await refused(page, what, link, why);
  await shows(page, before);
  expect(await chance(page, 'stop-lead/grounded')).toBeGreaterThan(50);
});

test('a hostile link neither fills the memory nor puts anything into the page', async ({ page }) => {
  await openDemo(page);
  const before = await odds(page);
  const packed = (version: number, text: string | Buffer) =>
    `#j=${version}.${deflateRawSync(text).toString('base64url')}`;
  const evil = '<img src=x onerror="document.title=1"><script>document.title=2</script>';
  const attempt = { do: 'attempt', outcome: evil };
  const hostile = {
    // A link of 96 kB that unpacks to 96 MB.
    'a bomb': [packed(2, Buffer.alloc(96 << 20)), /cannot be unpacked/],
    'a bomb of the first version': [packed(1, Buffer.alloc(96 << 20, '[')), /cannot be unpacked/],
    'nested too deep': [packed(1, '['.repeat(9e5)), /What the link holds is no job/],
    'markup for a machine': [packed(1, JSON.stringify({ machine: evil, steps: [] })), /img src=x/],
    'markup for an outcome': [
      packed(1, JSON.stringify({ machine: 'mower-recoil', steps: [attempt] })),
      /img src=x/,
    ],
    'a prototype': [
      packed(1, '{"machine": "mower-recoil", "steps": [], "__proto__": {"steps": 1}}'),
      /__proto__/,
    ],
    'no job at all': [packed(2, evil), /no job file: line 1, character 1 is not JSON/],
    'a machine of the page': [
      packed(1, JSON.stringify({ machine: '../../index.html', steps: [] })),
      /index\.html/,
    ],
  } as const;
  for (const [what, [link, why]] of Object.entries(hostile)) await refused(page, what, link, why);
  await expect(page).toHaveTitle('halfsplit');
  await shows(page, before);
});

test('a broken link on a first visit leaves the intake usable', async ({ page }) => {
  await page.goto('/#j=1.AAAA');
  await expect(trouble(page)).toContainText('That link cannot be opened');
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
});
