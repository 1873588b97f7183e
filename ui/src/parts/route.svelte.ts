/** Where the page is: `#/unit/MPU4F7Q2K9?from=read` is page `unit`, that key, that query. */
export interface Route {
  page: string;
  key: string;
  query: Record<string, string>;
}

/** Reads the part of an address after `#`. What cannot be decoded is taken as written. */
export function readRoute(hash: string): Route {
  const [path = "", search = ""] = hash.replace(/^#?\/?/, "").split("?", 2);
  const cut = path.indexOf("/");
  const page = cut < 0 ? path : path.slice(0, cut);
  const key = cut < 0 ? "" : decoded(path.slice(cut + 1));
  return { page, key, query: Object.fromEntries(new URLSearchParams(search)) };
}

/** Writes an address; empty fields of the query are left out. */
export function to(page: string, key = "", query: Record<string, string | undefined> = {}): string {
  const kept = Object.entries(query).filter((field): field is [string, string] => !!field[1]);
  const search = new URLSearchParams(kept).toString();
  const path = key ? `${page}/${encodeURIComponent(key)}` : page;
  return `#/${path}${search ? `?${search}` : ""}`;
}

/**
 * The label link that the page was opened by, as an address of ours.
 *
 * A phone's own camera opens `https://HOST:PORT/L/CODE`.
 */
export function fromLabelLink(pathname: string): string | null {
  const found = /^\/L\/([^/]+)\/?$/i.exec(pathname);
  return found ? to("open", decoded(found[1]!)) : null;
}

export const here = $state<{ route: Route }>({ route: readRoute(globalThis.location?.hash ?? "") });

export function go(address: string): void {
  location.hash = address;
}

/** Goes on without leaving the present page in the way back. */
export function goInstead(address: string): void {
  history.replaceState(null, "", address);
  follow();
}

export function follow(): void {
  here.route = readRoute(location.hash);
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
