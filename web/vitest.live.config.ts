import { defineConfig } from "vitest/config";

/** Tests that need a running server; tests/server/test_two_at_once.py starts one, and this with its address. */
export default defineConfig({
  test: { environment: "node", include: ["live/**/*.test.ts"], testTimeout: 600_000, hookTimeout: 600_000 },
});
