import { describe, expect, it } from "vitest";
import { heldPicture, holdPicture, pictureOf } from "./pictures";

function data(files: File[], items: Partial<DataTransferItem>[] = []): DataTransfer {
  return { files, items } as unknown as DataTransfer;
}

const photo = new File(["x"], "rail.jpg", { type: "image/jpeg" });
const text = new File(["x"], "notes.txt", { type: "text/plain" });

describe("pictureOf", () => {
  it("takes an image before other files", () => {
    expect(pictureOf(data([text, photo]))).toBe(photo);
  });
  it("hands on a file that says of itself that it is no image, so that it gets its answer", () => {
    expect(pictureOf(data([text]))).toBe(text);
  });
  it("finds a picture that is only an item, as some windows paste it", () => {
    const items = [{ kind: "string" }, { kind: "file", getAsFile: () => photo }];
    expect(pictureOf(data([], items))).toBe(photo);
  });
  it("leaves pasted text alone", () => {
    expect(pictureOf(data([], [{ kind: "string" }]))).toBeNull();
    expect(pictureOf(null)).toBeNull();
  });
});

describe("heldPicture", () => {
  it("gives a picture once", () => {
    holdPicture(photo);
    expect(heldPicture()).toBe(photo);
    expect(heldPicture()).toBeNull();
  });
});
