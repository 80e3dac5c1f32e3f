// The content security policy of the built page: it may load its own files and nothing else.

import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { DEMO_STEPS, openDemo, settled } from './bench.ts';
import { expect, test } from './quiet.ts';

const built = readFileSync(new URL('../../web/dist/index.html', import.meta.url), 'utf8');

test('the policy is the first thing in the page, and strict', async ({ page }) => {
  await page.goto('/');
  const head = page.locator('head');
  const policy = (await head.locator(':scope > :first-child').getAttribute('content')) ?? '';
  expect(await head.locator(':scope > :first-child').getAttribute('http-equiv')).toBe(
    'Content-Security-Policy',
  );
  const rules = Object.fromEntries(policy.split(';').map((rule) => rule.trim().split(/ (.*)/s).slice(0, 2)));
  // https://html.spec.whatwg.org/#charset: must be within the first 1024 bytes.
  expect(Buffer.byteLength(built.slice(0, built.indexOf('charset') + 20))).toBeLessThan(1024);
  // The policy allows the inline styles by their digest and no others.
  const styles = [...built.matchAll(/<style>(.*?)<\/style>/gs)].map(([, text = '']) => text);
  expect(styles).toHaveLength(1);
  const digest = createHash('sha256')
    .update(styles[0] ?? '')
    .digest('base64');
  // https://www.w3.org/TR/CSP3/: nothing is allowed unless it is named below.
  expect(rules).toEqual({
    'default-src': "'none'",
    'script-src': "'self' 'wasm-unsafe-eval'",
    'worker-src': "'self'",
    'style-src': `'self' 'sha256-${digest}'`,
    'img-src': "'self' data:",
    'connect-src': "'self'",
    'manifest-src': "'self'",
    'base-uri': "'none'",
    'form-action': "'none'",
  });
  expect(built).not.toMatch(/<script(?![^>]* src=)/);
  expect(built.replace(/<style>.*?<\/style>/gs, '')).not.toMatch(/<style|\sstyle=|\son\w+=/);
  expect(built).not.toMatch(/(src|href)="(https?:)?\/\//);
});

test('the browser enforces it', async ({ page, traffic }) => {
  await openDemo(page);
  traffic.expected.push(/Content Security Policy/);
  const refused = await page.evaluate(async () => {
    const told: string[] = [];
    addEventListener('securitypolicyviolation', (event) =>
      told.push(`${event.effectiveDirective} ${event.blockedURI}`),
    );
    const script = document.createElement('script');
    script.textContent = 'window.ran = true';
    document.body.append(script);
    await fetch('http://192.0.2.1/').catch(() => undefined); // RFC 5737: an address that nobody has
    await new Promise((resolve) => setTimeout(resolve, 100));
    return { told, ran: 'ran' in window };
  });
  expect(refused.ran).toBe(false);
  expect(refused.told).toEqual(
    expect.arrayContaining([expect.stringMatching(/^script-src.* inline/), 'connect-src http://192.0.2.1/']),
  );
  await settled(page, DEMO_STEPS);
});

test('everything comes from one place, and the whole of it when the page is opened', async ({
  page,
  traffic,
}) => {
  await openDemo(page);
  const kinds = traffic.asked.map((url) => /[^/.]*$/.exec(new URL(url).pathname)?.[0]);
  expect(kinds.filter((kind) => kind === 'wasm')).toHaveLength(1);
  expect([...new Set(kinds)].sort()).toEqual(
    ['', 'js', 'json', 'svg', 'wasm'].filter((kind) => kinds.includes(kind)),
  );
});
