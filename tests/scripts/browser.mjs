// Finds a Chromium and a chromedriver of the same version: those named in the environment, those on the
// machine, Debian's packages, or a download into the cache, in this order.

import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { spawnSync } from 'node:child_process';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ask, programsOnPath, step, Stop } from '../../web/scripts/steps.mjs';
import { CACHE, canInstallPackages, installPackages, ROOT } from '../../web/scripts/toolchain.mjs';

/**
 * @typedef {object} Browser
 * @property {string} chrome path of the browser
 * @property {string} chromedriver path of the driver
 * @property {string} version of the browser
 * @property {boolean} sandbox whether its sandbox works here
 */

const CHROME_NAMES = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'chrome'];
// Places of browsers that their installers do not put on PATH.
const CHROME_PLACES = [
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
];
const DRIVER_PLACES = ['/usr/lib/chromium/chromedriver', '/usr/lib/chromium-browser/chromedriver'];

/** The browser's options for the engine's tests, in the form that chromedriver takes. */
export const DRIVER_OPTIONS = JSON.parse(readFileSync(join(ROOT, 'wasm', 'webdriver.json'), 'utf8'));

/**
 * The same options for a command line: no background traffic, no dialogs that wait for a user.
 *
 * @type {string[]}
 */
export const CHROME_ARGS = DRIVER_OPTIONS['goog:chromeOptions'].args.map(
  (/** @type {string} */ name) => `--${name}`,
);

/** The four-part version of a browser or driver, or null. @param {string} path */
function versionOf(path) {
  // On Windows the browser opens a window instead of answering.
  if (process.platform === 'win32' && !/chromedriver/i.test(path)) return null;
  return /\d+\.\d+\.\d+\.\d+/.exec(ask(path, ['--version']) ?? '')?.[0] ?? null;
}

const major = (/** @type {string | null} */ version) => version?.split('.')[0];

/**
 * A browser and a driver of the same major version, or null.
 *
 * @param {string[]} chromes
 * @param {string[]} drivers
 */
function pair(chromes, drivers) {
  const known = drivers.map((path) => ({ path, version: versionOf(path) }));
  for (const chrome of chromes) {
    const version = versionOf(chrome);
    if (version === null) continue;
    const driver = known.find((one) => major(one.version) === major(version));
    if (driver) return { chrome, chromedriver: driver.path, version };
  }
  return null;
}

/** The pair that the environment names. It takes precedence, and must work. */
function fromEnvironment() {
  const { CHROME, CHROMEDRIVER } = process.env;
  for (const [name, path] of Object.entries({ CHROME, CHROMEDRIVER })) {
    if (path && !existsSync(path)) throw new Stop(`${name} is "${path}", and there is no such file.`);
  }
  return { chromes: CHROME ? [CHROME] : null, drivers: CHROMEDRIVER ? [CHROMEDRIVER] : null };
}

function onThisMachine() {
  const named = fromEnvironment();
  const chromes = named.chromes ?? [
    ...CHROME_NAMES.flatMap(programsOnPath),
    ...CHROME_PLACES.filter((path) => existsSync(path)),
  ];
  const drivers = named.drivers ?? [
    ...programsOnPath('chromedriver'),
    ...DRIVER_PLACES.filter((path) => existsSync(path)),
  ];
  const found = pair(chromes, drivers);
  if (found === null && named.chromes && named.drivers) {
    const [chrome, chromedriver] = [named.chromes[0], named.drivers[0]];
    const [version, other] = [versionOf(chrome), versionOf(chromedriver)];
    if (version === null || other === null) return { chrome, chromedriver, version: 'of unknown version' };
    throw new Stop(`CHROME is ${version} and CHROMEDRIVER ${other}: they must be of the same major version.`);
  }
  return found;
}

const BY_HAND =
  'Install Chromium (or Chrome) and a chromedriver of the same version, and name them in CHROME and CHROMEDRIVER.';
const DOWNLOADS = join(CACHE, 'browsers');
const RECORD = join(DOWNLOADS, 'pair.json');

function downloadedBefore() {
  if (!existsSync(RECORD)) return null;
  const found = JSON.parse(readFileSync(RECORD, 'utf8'));
  return existsSync(found.chrome) && existsSync(found.chromedriver) ? found : null;
}

/** Downloads the newest stable browser and the driver of the same version. */
async function downloadPair() {
  const { Browser, detectBrowserPlatform, install, resolveBuildId } = await import('@puppeteer/browsers');
  const platform = detectBrowserPlatform();
  if (platform === undefined) throw new Stop(`No browser can be downloaded for this system. ${BY_HAND}`);
  mkdirSync(DOWNLOADS, { recursive: true });
  try {
    const buildId = await resolveBuildId(Browser.CHROME, platform, 'stable');
    const get = async (/** @type {import('@puppeteer/browsers').Browser} */ browser) => {
      const options = { browser, buildId, platform, cacheDir: DOWNLOADS };
      return (await install({ ...options, downloadProgressCallback: 'default' })).executablePath;
    };
    const found = {
      chrome: await get(Browser.CHROME),
      chromedriver: await get(Browser.CHROMEDRIVER),
      version: buildId,
    };
    writeFileSync(RECORD, JSON.stringify(found));
    return found;
  } catch (error) {
    throw new Stop(`The download failed: ${error instanceof Error ? error.message : error}\n${BY_HAND}`);
  }
}

/** Whether the browser starts and shows a page. @param {string} chrome @param {boolean} sandbox */
function starts(chrome, sandbox) {
  const profile = mkdtempSync(join(tmpdir(), 'halfsplit-browser-'));
  try {
    const { stdout, stderr, error } = spawnSync(
      chrome,
      [
        '--headless',
        ...CHROME_ARGS,
        ...(sandbox ? [] : ['--no-sandbox']),
        `--user-data-dir=${profile}`,
        '--dump-dom',
        'data:text/html,<p>it starts</p>',
      ],
      { encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'], timeout: 60_000 },
    );
    return {
      ok: (stdout ?? '').includes('it starts'),
      message: `${error?.message ?? ''}${stderr ?? ''}`.slice(-1500),
    };
  } finally {
    rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
  }
}

/** Whether the sandbox works; a browser that does not start at all is a {@link Stop}. @param {string} chrome */
function sandboxWorks(chrome) {
  const isRoot = process.getuid?.() === 0;
  if (!isRoot && starts(chrome, true).ok) return true;
  const { ok, message } = starts(chrome, false);
  if (!ok) throw new Stop(`${chrome} does not start. It says:\n${message}`);
  console.log(
    isRoot
      ? "   without the browser's sandbox: it does not run for root"
      : "   without the browser's sandbox: this system does not permit it; only our own page is opened",
  );
  return false;
}

/** @returns {Promise<Browser>} */
export function needBrowser() {
  return step('Finding Chromium and its driver', async () => {
    let found = onThisMachine() ?? downloadedBefore();
    if (found === null && canInstallPackages()) {
      console.log("   none that fit together: installing Debian's packages");
      await installPackages(['chromium', 'chromium-driver', 'fonts-liberation']);
      found = onThisMachine();
    }
    if (found === null) {
      console.log(`   none that fit together: downloading into ${DOWNLOADS}`);
      found = await downloadPair();
    }
    console.log(`   ${found.chrome} ${found.version}\n   ${found.chromedriver}`);
    return { ...found, sandbox: sandboxWorks(found.chrome) };
  });
}
