import { NoCamera } from "./camera";

/** A camera of the computer that runs the window, read by the program instead of the page. */
export interface OwnCamera {
  /** The next frame, shown as well; null after a frame that did not come whole. */
  next(): Promise<Blob | null>;
  close(): void;
}

interface Told {
  there: boolean;
  message: string;
}

/**
 * Opens the camera that the program itself reads; null where pages have to ask the browser.
 *
 * Fails with `NoCamera` where the program reads cameras but none is connected.
 */
export async function openOwn(
  onframe: (url: string, width: number, height: number) => void,
): Promise<OwnCamera | null> {
  const answer = await fetch("/camera", { credentials: "same-origin" }).catch(() => null);
  const json = answer?.headers.get("content-type")?.includes("application/json");
  if (!answer?.ok || !json) return null;
  const { there, message } = (await answer.json()) as Told;
  if (!there) throw new NoCamera(message);
  let url = "";
  return {
    async next() {
      const frame = await fetch("/camera/frame", { credentials: "same-origin" });
      if (!frame.ok) return null;
      const blob = await frame.blob();
      const picture = await createImageBitmap(blob);
      const before = url;
      url = URL.createObjectURL(blob);
      onframe(url, picture.width, picture.height);
      picture.close();
      // The picture before is let go of once the new one is drawn.
      setTimeout(() => URL.revokeObjectURL(before), 500);
      return blob;
    },
    close() {
      URL.revokeObjectURL(url);
      void fetch("/camera/close", { method: "POST", credentials: "same-origin" }).catch(() => {});
    },
  };
}
