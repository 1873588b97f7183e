// Draws labels as a camera would see them, and makes films of them for the browser's camera.

import { execFile } from "node:child_process";
import { writeFile } from "node:fs/promises";
import { join } from "node:path";
import { promisify } from "node:util";

/** A grey picture: light wall, darker rail. */
export function scene(width, height) {
  const values = Buffer.alloc(width * height, 150);
  values.fill(118, Math.round(height * 0.3) * width, Math.round(height * 0.72) * width);
  return { width, height, values };
}

/** Draws a label's symbol, `px` for each module, with its middle at x, y. */
export function stick({ width, height, values }, { symbol, modules }, x, y, px) {
  const side = (modules + 8) * px;
  const [left, top] = [Math.round(x - side / 2), Math.round(y - side / 2)];
  for (let row = 0; row < side; row++) {
    for (let column = 0; column < side; column++) {
      const [mx, my] = [Math.floor(column / px) - 4, Math.floor(row / px) - 4];
      const inside = mx >= 0 && my >= 0 && mx < modules && my < modules;
      const dark = inside && symbol[my * modules + mx] === "1";
      const [px_x, px_y] = [left + column, top + row];
      if (px_x < 0 || px_y < 0 || px_x >= width || px_y >= height) continue;
      values[px_y * width + px_x] = dark ? 38 : 228;
    }
  }
}

/** Wipes a part of the picture, as dirt or a cable does. */
export function wipe({ width, values }, x, y, w, h) {
  for (let row = y; row < y + h; row++) values.fill(120, row * width + x, row * width + x + w);
}

/** Saves a scene as a picture. */
export async function photo(folder, name, scene) {
  const pgm = join(folder, `${name}.pgm`);
  const head = Buffer.from(`P5\n${scene.width} ${scene.height}\n255\n`);
  await writeFile(pgm, Buffer.concat([head, scene.values]));
  const png = join(folder, `${name}.png`);
  await ffmpeg("-i", pgm, png);
  return png;
}

/** Makes a film of a scene held in a hand that is not quite still. */
export async function film(folder, name, scene) {
  const png = await photo(folder, name, scene);
  const mjpeg = join(folder, `${name}.mjpeg`);
  const [w, h] = [scene.width - 24, scene.height - 24];
  const hand = `crop=${w}:${h}:12+9*sin(t*3):12+7*cos(t*4),scale=${scene.width}:${scene.height}`;
  const look = `${hand},noise=alls=6:allf=t`;
  // Chromium shows a film of grey alone as green.
  const kind = ["-pix_fmt", "yuvj420p", "-q:v", "4"];
  await ffmpeg("-loop", "1", "-i", png, "-t", "3", "-r", "30", "-vf", look, ...kind, mjpeg);
  return mjpeg;
}

async function ffmpeg(...args) {
  await promisify(execFile)("ffmpeg", ["-loglevel", "error", "-y", ...args]);
}
