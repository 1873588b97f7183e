/** Makes a JPEG of a frame away from the screen's own thread. */

interface Order {
  at: number;
  frame: ImageBitmap;
  width: number;
  height: number;
}

let canvas: OffscreenCanvas | null = null;

self.onmessage = async ({ data }: MessageEvent<Order>) => {
  const { at, frame, width, height } = data;
  try {
    if (canvas?.width !== width || canvas.height !== height)
      canvas = new OffscreenCanvas(width, height);
    canvas.getContext("2d", { alpha: false })!.drawImage(frame, 0, 0, width, height);
    const blob = await canvas.convertToBlob({ type: "image/jpeg", quality: 0.8 });
    self.postMessage({ at, blob });
  } catch (thrown) {
    self.postMessage({ at, fault: String(thrown) });
  } finally {
    frame.close();
  }
};
