import { expect, it } from "vitest";
import { asField, ofField } from "./times";

it("a time goes into a field and comes back the same", () => {
  expect(ofField(asField("2027-04-14T04:30:00Z"))).toBe("2027-04-14T04:30:00.000Z");
  expect(asField("2027-04-14T04:30:00Z")).toMatch(/^2027-04-1[345]T\d\d:\d\d$/);
});

it("what is no time is nothing", () => {
  expect(ofField("")).toBeNull();
  expect(ofField("soon")).toBeNull();
  expect(asField("soon")).toBe("");
});
