import { defineConfig } from 'vite';

export default defineConfig({
  root: import.meta.dirname,
  resolve: { conditions: ['source', 'module', 'browser', 'production'] },
  // Whoever builds, in whichever environment, gets the same pages.
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact', development: false } },
  build: {
    outDir: '../dist/web',
    emptyOutDir: true,
    target: 'es2022',
    // The page's policy allows no inline data but pictures: every file stays a file.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: true,
  },
});
