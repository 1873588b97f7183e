import { words } from "../words/parts";

type Taker = (picture: File) => void;

/** Whoever came last takes the pictures, as with scans. */
const takers: Taker[] = [];

/** Takes every picture that is pasted or dropped, until the returned function is called. */
export function takePictures(take: Taker): () => void {
  takers.push(take);
  return () => {
    const at = takers.lastIndexOf(take);
    if (at >= 0) takers.splice(at, 1);
  };
}

let held: File | null = null;

/** Keeps a picture for the screen that is opened for it. */
export function holdPicture(picture: File): void {
  held = picture;
}

/** Gives the kept picture once. */
export function heldPicture(): File | null {
  const picture = held;
  held = null;
  return picture;
}

/** What the page shows while a picture is held over it, and what it says of what is no file. */
export interface Hearer {
  over: (over: boolean) => void;
  say: (sentence: string) => void;
}

/** Hears pictures that are pasted or dropped anywhere on the page. */
export function hearPictures(page: Document, { over, say }: Hearer): () => void {
  const carries = (data: DataTransfer | null) => data?.types.includes("Files") ?? false;
  const handed = (how: "copied" | "dropped") =>
    void handedPicture(how)
      .then((picture) => picture && give(picture))
      .catch((why: Error) => say(why.message));
  let pasted = false;
  const paste = (event: ClipboardEvent) => {
    pasted = true;
    const picture = pictureOf(event.clipboardData);
    if (picture) {
      event.preventDefault();
      give(picture);
    } else if (!event.clipboardData?.getData("text/plain")) handed("copied");
  };
  // A web view may keep a paste to itself where no text can be written.
  const key = (event: KeyboardEvent) => {
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "v") return;
    pasted = false;
    setTimeout(() => pasted || handed("copied"), PASTE_MS);
  };
  const dragover = (event: DragEvent) => {
    if (takesFiles(event.target)) return over(false);
    if (!carries(event.dataTransfer)) return;
    event.preventDefault();
    over(true);
  };
  const leave = (event: DragEvent) => {
    if (event.relatedTarget === null) over(false);
  };
  const drop = (event: DragEvent) => {
    over(false);
    if (takesFiles(event.target)) return;
    const picture = pictureOf(event.dataTransfer);
    // Else the browser would leave the page and show the file.
    if (picture || carries(event.dataTransfer)) event.preventDefault();
    if (picture) give(picture);
    else if (event.dataTransfer?.types.includes("text/uri-list")) {
      event.preventDefault();
      say(words.dropTheFile);
    }
  };
  // Said by the window, where its web view keeps dropped files from the page.
  const own: [string, () => void][] = [
    ["picture-over", () => over(true)],
    ["picture-away", () => over(false)],
    ["picture-dropped", () => (over(false), handed("dropped"))],
  ];
  for (const [name, hear] of own) page.addEventListener(name, hear);
  page.addEventListener("keydown", key);
  page.addEventListener("paste", paste);
  page.addEventListener("dragover", dragover);
  page.addEventListener("dragleave", leave);
  page.addEventListener("drop", drop);
  return () => {
    for (const [name, hear] of own) page.removeEventListener(name, hear);
    page.removeEventListener("keydown", key);
    page.removeEventListener("paste", paste);
    page.removeEventListener("dragover", dragover);
    page.removeEventListener("dragleave", leave);
    page.removeEventListener("drop", drop);
  };
}

function give(picture: File): void {
  takers.at(-1)?.(picture);
}

/** How long a paste may come after its keys, ms. */
const PASTE_MS = 150;

/**
 * The picture that was copied, or dropped on the window, as the program behind the window sees it;
 * null where there is none, and in browsers, which give pictures to the page.
 *
 * Fails with the sentence of whoever could not read it.
 */
async function handedPicture(how: string): Promise<File | null> {
  const answer = await fetch(`/pictures/${how}`, { credentials: "same-origin" });
  if (answer.status === 204) return null;
  if (!answer.ok) throw new Error(((await answer.json()) as { message: string }).message);
  return new File([await answer.blob()], how, { type: "image/*" });
}

/** The first file of a paste or drop, an image before others; none where it is only text. */
export function pictureOf(data: DataTransfer | null): File | null {
  if (!data) return null;
  const files = [...data.files];
  if (files.length === 0)
    for (const item of data.items) {
      const file = item.kind === "file" ? item.getAsFile() : null;
      if (file) files.push(file);
    }
  return files.find(({ type }) => type.startsWith("image/")) ?? files[0] ?? null;
}

/** Whether a file dropped there belongs to a field for files. */
function takesFiles(target: EventTarget | null): boolean {
  return target instanceof HTMLInputElement && target.type === "file";
}
