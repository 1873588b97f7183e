/** Makes JPEGs of a video's frames: in a worker where the browser can, else on a canvas. */
export class Encoder {
  #worker: Worker | null = null;
  #waiting = new Map<number, (blob: Blob | null) => void>();
  #at = 0;
  #canvas = document.createElement("canvas");

  constructor() {
    if (typeof OffscreenCanvas === "undefined" || typeof createImageBitmap === "undefined") return;
    this.#worker = new Worker(new URL("./encode.worker.ts", import.meta.url), { type: "module" });
    this.#worker.onmessage = ({ data }: MessageEvent<{ at: number; blob?: Blob }>) =>
      this.#done(data.at, data.blob ?? null);
    // Without the worker the canvas does it.
    this.#worker.onerror = () => {
      this.#worker = null;
      for (const at of [...this.#waiting.keys()]) this.#done(at, null);
    };
  }

  /** A JPEG whose longest side is `longest_px` at most; null while there is no picture yet. */
  async encode(view: HTMLVideoElement, longest_px: number): Promise<Blob | null> {
    const { videoWidth, videoHeight } = view;
    if (videoWidth === 0) return null;
    const scale = Math.min(1, longest_px / Math.max(videoWidth, videoHeight));
    const width = Math.round(videoWidth * scale);
    const height = Math.round(videoHeight * scale);
    if (!this.#worker) return this.#byCanvas(view, width, height);
    const frame = await createImageBitmap(view);
    const at = ++this.#at;
    return new Promise((done) => {
      this.#waiting.set(at, done);
      this.#worker?.postMessage({ at, frame, width, height }, [frame]);
    });
  }

  close(): void {
    this.#worker?.terminate();
    for (const at of [...this.#waiting.keys()]) this.#done(at, null);
  }

  #done(at: number, blob: Blob | null): void {
    this.#waiting.get(at)?.(blob);
    this.#waiting.delete(at);
  }

  #byCanvas(view: HTMLVideoElement, width: number, height: number): Promise<Blob | null> {
    this.#canvas.width = width;
    this.#canvas.height = height;
    this.#canvas.getContext("2d", { alpha: false })?.drawImage(view, 0, 0, width, height);
    return new Promise((done) => this.#canvas.toBlob(done, "image/jpeg", 0.8));
  }
}
