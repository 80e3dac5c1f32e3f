// The first screen in the page itself, in every language: it is on the screen one round trip earlier than
// what scripts draw, and the scripts then take it over (src/main.tsx).

import { createServer } from 'vite';
import { WEB } from './toolchain.mjs';

/** Nothing is drawn before it has run, and nothing else waits for it. */
const SCRIPT = {
  tag: 'script',
  attrs: { src: './first-language.js', async: true, blocking: 'render', fetchpriority: 'high' },
};

const PLACE = '<div id="page"></div>';

/** Service workers are for browsers. @returns {import('vite').Plugin} */
const withoutServiceWorker = () => ({
  name: 'without-service-worker',
  resolveId: (id) => (id === 'virtual:pwa-register' ? `\0${id}` : undefined),
  load: (id) => (id === '\0virtual:pwa-register' ? 'export const registerSW = () => undefined;' : undefined),
});

/** Every first screen, by the page's own sources. @returns {Promise<{ tag: string, html: string }[]>} */
async function drawn() {
  const server = await createServer({
    root: WEB,
    configFile: false,
    appType: 'custom',
    logLevel: 'error',
    server: { middlewareMode: true, hmr: false, ws: false, watch: null },
    optimizeDeps: { noDiscovery: true },
    plugins: [withoutServiceWorker()],
  });
  try {
    return await (await server.ssrLoadModule('/src/first-screen.tsx')).firstScreens();
  } finally {
    await server.close();
  }
}

/**
 * The words of other languages are files of their own: where they are, so that they can be asked for before
 * any script has been fetched.
 *
 * @param {import('vite').Rolldown.OutputBundle | undefined} bundle
 * @returns {import('vite').HtmlTagDescriptor[]}
 */
function wordFiles(bundle) {
  return Object.values(bundle ?? {}).flatMap((file) => {
    const language =
      file.type === 'chunk' ? /\/src\/words\/(\w+)\.ts$/.exec(file.facadeModuleId ?? '')?.[1] : undefined;
    return language === undefined
      ? []
      : [{ tag: 'meta', attrs: { name: `words-${language}`, content: `./${file.fileName}` } }];
  });
}

/**
 * The page with its styles in it instead of a link to them, where they would come one round trip later.
 *
 * @param {string} page
 * @param {import('vite').Rolldown.OutputBundle | undefined} bundle
 */
function withStyles(page, bundle = {}) {
  return page.replace(/<link rel="stylesheet"[^>]* href="\.\/([^"]+)">/g, (link, name) => {
    const file = bundle[name];
    if (file?.type !== 'asset') throw new Error(`nothing was built for ${link}`);
    delete bundle[name];
    return `<style>${file.source}</style>`;
  });
}

/**
 * Puts them where the page is drawn; public/first-language.js shows one.
 *
 * @returns {import('vite').Plugin}
 */
export function firstScreens() {
  return {
    name: 'first-screens',
    apply: 'build',
    transformIndexHtml: {
      order: 'post',
      async handler(page, { bundle }) {
        if (!page.includes(PLACE)) throw new Error(`index.html has no ${PLACE}`);
        const screens = (await drawn()).map(
          (one) => `<div class="first-screen" lang="${one.tag}">${one.html}</div>`,
        );
        const html = withStyles(page, bundle).replace(PLACE, () => screens.join('\n    '));
        return { html, tags: [...wordFiles(bundle), SCRIPT] };
      },
    },
  };
}
