import { createHash } from "node:crypto";
import { defineConfig, type Plugin } from "vite";
import { VitePWA } from "vite-plugin-pwa";
import { firstScreens } from "./scripts/first-screens.mjs";

/**
 * The content security policy of the built page: it may load its own files, and the inline styles with these
 * digests. The development server has no policy, because it adds styles by script.
 */
const policy = (styles: readonly string[]): string =>
  [
    "default-src 'none'",
    "script-src 'self' 'wasm-unsafe-eval'",
    "worker-src 'self'",
    ["style-src 'self'", ...styles.map(digest)].join(" "),
    "img-src 'self' data:",
    "connect-src 'self'",
    "manifest-src 'self'",
    "base-uri 'none'",
    "form-action 'none'",
  ].join("; ");

/** https://www.w3.org/TR/CSP3/#grammardef-hash-source */
const digest = (text: string): string => `'sha256-${createHash("sha256").update(text).digest("base64")}'`;

function contentSecurityPolicy(): Plugin {
  return {
    name: "content-security-policy",
    apply: "build",
    transformIndexHtml: {
      order: "post",
      handler: (html) => {
        const styles = [...html.matchAll(/<style>(.*?)<\/style>/gs)].map(([, text = ""]) => text);
        const attrs = { "http-equiv": "Content-Security-Policy", content: policy(styles) };
        return [{ tag: "meta", attrs, injectTo: "head-prepend" }];
      },
    },
  };
}

/** Keeps all files after the first visit; a newer version waits until the user accepts it. */
const offline = VitePWA({
  registerType: "prompt",
  injectRegister: false,
  includeAssets: ["tag.svg"],
  workbox: {
    globPatterns: ["**/*.{html,js,css,wasm,json,svg,png}"],
    maximumFileSizeToCacheInBytes: 4e6,
    cleanupOutdatedCaches: true,
  },
  manifest: {
    name: "halfsplit",
    short_name: "halfsplit",
    description: "A small engine that will not start: what to do next, and why.",
    start_url: "./",
    scope: "./",
    display: "standalone",
    background_color: "#dde2e3",
    theme_color: "#dde2e3",
    icons: [
      { src: "tag.svg", sizes: "any", type: "image/svg+xml", purpose: "any" },
      { src: "tag-192.png", sizes: "192x192", type: "image/png", purpose: "any" },
      { src: "tag-512.png", sizes: "512x512", type: "image/png", purpose: "any maskable" },
    ],
  },
});

export default defineConfig({
  // Relative, so that the built page can be put in any folder of any host.
  base: "./",
  plugins: [firstScreens(), contentSecurityPolicy(), offline],
  worker: { format: "es" },
  json: { stringify: false },
  build: {
    target: "es2022",
    // Nothing is inlined, because the policy above allows no script or engine from a data URL.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    // One style sheet for all screens, which is inlined into the page.
    cssCodeSplit: false,
    reportCompressedSize: true,
  },
  server: { host: "127.0.0.1", port: 5173 },
  preview: { host: "127.0.0.1", port: 5173 },
});
