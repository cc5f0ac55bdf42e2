import preact from "@preact/preset-vite";
import { defineConfig } from "vitest/config";

export default defineConfig({
  plugins: [preact()],
  base: "/app/",
  build: {
    outDir: "../annotator/server/static/app",
    emptyOutDir: true,
    // Every file under its own name: the server's policy allows no data: fonts or scripts in the page.
    assetsInlineLimit: 0,
  },
  server: { proxy: { "/api": "http://127.0.0.1:8017", "/courses": "http://127.0.0.1:8017", "/booklet": "http://127.0.0.1:8017" } },
  test: { environment: "happy-dom", include: ["test/**/*.test.{ts,tsx}"], restoreMocks: true, testTimeout: 120_000, hookTimeout: 120_000 },
});
