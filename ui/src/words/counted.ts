/** A number with a noun that takes an s where there is not exactly one: `1 piece`, `0 pieces`. */
export function counted(count: number, one: string, more = `${one}s`): string {
  return `${count.toLocaleString("en-GB")} ${count === 1 ? one : more}`;
}
