import { defineConfig } from 'vite';

export default defineConfig({
  root: import.meta.dirname,
  resolve: { conditions: ['source', 'module', 'browser', 'production'] },
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
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
