/**
 * What every one of some lists holds, in the order of the first: said once, it need not be said of
 * each. Nothing where there are fewer than two lists.
 */
export function inEveryList(lists: string[][]): string[] {
  const [first, ...others] = lists;
  if (!first || others.length === 0) return [];
  return first.filter((one) => others.every((list) => list.includes(one)));
}
