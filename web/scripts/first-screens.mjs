// Puts the first screen into the page itself, in every language. It is on the screen one round trip earlier than
// anything drawn by scripts, which then take it over (src/main.tsx).

import { createServer } from 'vite';
import { WEB } from './toolchain.mjs';

/** The script that picks the language. The browser draws nothing before it has run; nothing else waits for it. */
const SCRIPT = {
  tag: 'script',
  attrs: { src: './first-language.js', async: true, blocking: 'render', fetchpriority: 'high' },
};

const PLACE = '<div id="page"></div>';

/** A plugin that leaves out the service worker, which Node does not have. @returns {import('vite').Plugin} */
const withoutServiceWorker = () => ({
  name: 'without-service-worker',
  resolveId: (id) => (id === 'virtual:pwa-register' ? `\0${id}` : undefined),
  load: (id) => (id === '\0virtual:pwa-register' ? 'export const registerSW = () => undefined;' : undefined),
});

/** Draws every first screen from the page's own sources. @returns {Promise<{ tag: string, html: string }[]>} */
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
 * Tags that name the files with the words of other languages, so that they can be requested before
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
 * Returns the page with its styles inlined. Through a link they would come one round trip later.
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
 * The plugin that puts the first screens into the page; public/first-language.js shows one of them.
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
