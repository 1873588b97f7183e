/** Groups a list by a name, in the order in which names first come. */
export function grouped<T>(list: T[], name: (item: T) => string): [string, T[]][] {
  const groups = new Map<string, T[]>();
  for (const item of list) {
    const key = name(item);
    const group = groups.get(key);
    if (group) group.push(item);
    else groups.set(key, [item]);
  }
  return [...groups];
}
