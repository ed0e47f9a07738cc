import { defineConfig } from 'vitest/config';

// Tests import the built packages (dist, marked external): a source transformed by vitest reads every import
// through a getter and makes hot loops several times slower than the code that users run.
export default defineConfig({
  test: {
    include: ['packages/*/test/**/*.test.ts', 'tests/**/*.test.ts'],
    isolate: false,
    testTimeout: 60_000,
    // The first plan of the demo, and a browser's first start on a busy machine.
    hookTimeout: 120_000,
    server: { deps: { external: [/packages\/[^/]+\/dist\//] } },
  },
});
