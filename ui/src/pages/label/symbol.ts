/** Light modules around a QR symbol. Source: ISO/IEC 18004, quiet zone of four modules. */
export const QUIET = 4;

/** Draws the dark modules of a symbol given row by row as one path, a run of modules at a time. */
export function symbolPath(symbol: string, modules: number): string {
  const rows = symbol.replace(/[^01]/g, "");
  const runs: string[] = [];
  for (let y = 0; y < modules; y++) {
    const row = rows.slice(y * modules, (y + 1) * modules);
    for (const run of row.matchAll(/1+/g)) {
      runs.push(`M${run.index + QUIET} ${y + QUIET}h${run[0].length}v1h-${run[0].length}z`);
    }
  }
  return runs.join("");
}
