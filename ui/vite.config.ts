import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

export default defineConfig({
  plugins: [svelte()],
  // Label links open at /L/CODE, so files are named from the top.
  base: "/",
  build: { target: "es2022", chunkSizeWarningLimit: 800 },
  server: {
    proxy: { "/api": "http://127.0.0.1:7180", "/enter": "http://127.0.0.1:7180" },
  },
  test: { include: ["src/**/*.test.ts"] },
});
