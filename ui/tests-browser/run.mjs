// Runs every flow, or those whose file names hold one of the words given.

import { readdir } from "node:fs/promises";

const words = process.argv.slice(2);
const files = (await readdir(import.meta.dirname))
  .filter((name) => name.endsWith(".flow.mjs"))
  .filter((name) => words.length === 0 || words.some((word) => name.includes(word)))
  .sort();
if (files.length === 0) throw new Error(`no flow is named like ${words.join(", ")}`);
for (const file of files) await import(`./${file}`);
