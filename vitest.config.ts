import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['host/src/**/*.test.{ts,tsx}', 'tests/**/*.test.{ts,tsx}'],
    testTimeout: 120_000,
    hookTimeout: 120_000,
  },
});
