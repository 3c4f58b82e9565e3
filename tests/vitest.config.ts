import { defineConfig } from 'vitest/config';

const conditions = ['source', 'node'];

export default defineConfig({
  root: new URL('..', import.meta.url).pathname,
  resolve: { conditions },
  ssr: { resolve: { conditions } },
  test: { include: ['tests/**/*.test.ts'], environment: 'node' },
});
