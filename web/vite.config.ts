import { defineConfig, type Plugin } from "vite";

/**
 * What the built page may load: its own files and nothing else. The development server is left
 * without it, because it puts styles into the page by script.
 */
const POLICY = [
  "default-src 'none'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "worker-src 'self'",
  "style-src 'self'",
  "img-src 'self' data:",
  "connect-src 'self'",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
].join("; ");

function contentSecurityPolicy(): Plugin {
  return {
    name: "content-security-policy",
    apply: "build",
    transformIndexHtml: {
      order: "post",
      handler: () => [
        {
          tag: "meta",
          attrs: { "http-equiv": "Content-Security-Policy", content: POLICY },
          injectTo: "head-prepend",
        },
      ],
    },
  };
}

export default defineConfig({
  // Relative, so that the built page can be put in any folder of any host.
  base: "./",
  plugins: [contentSecurityPolicy()],
  worker: { format: "es" },
  json: { stringify: false },
  build: {
    target: "es2022",
    // Nothing is inlined: the policy above allows no script or engine from a data address.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: true,
  },
  // The machine descriptions are beside the page, not in it.
  server: { host: "127.0.0.1", port: 5173, fs: { allow: [".."] } },
  preview: { host: "127.0.0.1", port: 5173 },
});
