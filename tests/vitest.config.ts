import { defineConfig } from 'vitest/config';

const conditions = ['source', 'node'];

export default defineConfig({
  root: new URL('..', import.meta.url).pathname,
  resolve: { conditions },
  ssr: { resolve: { conditions } },
  test: {
    include: ['tests/**/*.test.ts'],
    environment: 'node',
    globalSetup: 'tests/browser/pages.ts',
    // Most of a test's time is waiting: for a browser, a broker, a process that starts.
    maxWorkers: 4,
    // What a file takes in is taken in once a worker: half of the processor's work went there.
    isolate: false,
    // The end of a test that waits in vain, far from what a busy machine needs: no measure of speed.
    testTimeout: 60_000,
    hookTimeout: 60_000,
  },
});
