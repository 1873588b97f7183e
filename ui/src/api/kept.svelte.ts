/** The part of `Storage` that is needed. */
export type Place = Pick<Storage, "getItem" | "setItem" | "removeItem">;

/** Reads what was kept; nothing where it cannot be read. */
export function readKept<T>(key: string, place: Place): T | null {
  try {
    return JSON.parse(place.getItem(key) ?? "null") as T | null;
  } catch {
    return null;
  }
}

/** Keeps a value, or removes it where it is null; where the device has no room it is not kept. */
export function writeKept(key: string, value: unknown, place: Place): void {
  try {
    if (value === null) place.removeItem(key);
    else place.setItem(key, JSON.stringify(value));
  } catch {
    // Then it lasts as long as the page.
  }
}

/**
 * What a person is in the middle of, kept on this device so that a reload loses nothing.
 *
 * Make it while a component is set up. Names end in a number that changes with the shape.
 */
export class Kept<T> {
  value = $state() as T;

  constructor(name: string, none: T) {
    const key = `slotkeep.${name}`;
    const place = globalThis.localStorage;
    this.value = readKept<T>(key, place) ?? none;
    const empty = JSON.stringify(none);
    $effect(() => {
      const text = JSON.stringify(this.value);
      writeKept(key, text === empty ? null : $state.snapshot(this.value), place);
    });
  }
}
