import { describe, expect, it } from "vitest";
import { fromLabelLink, readRoute, to } from "./route.svelte";

describe("route", () => {
  it.each([
    ["", { page: "", key: "", query: {} }],
    ["#/read", { page: "read", key: "", query: {} }],
    ["#/slot/%2BK12.2.07", { page: "slot", key: "+K12.2.07", query: {} }],
    ["#/bin/ST1%2FA-03?from=unit", { page: "bin", key: "ST1/A-03", query: { from: "unit" } }],
    ["#/unit/%E0%A4", { page: "unit", key: "%E0%A4", query: {} }],
  ])("reads %s", (hash, route) => expect(readRoute(hash)).toEqual(route));

  it("reads back what it writes", () => {
    const address = to("swap", "+K12.2.07", { unit: "A&B", slot: undefined });
    expect(readRoute(address)).toEqual({ page: "swap", key: "+K12.2.07", query: { unit: "A&B" } });
  });

  it("opens a label link, in capitals or not", () => {
    expect(fromLabelLink("/L/MPU4F7Q2K9")).toBe("#/open/MPU4F7Q2K9");
    expect(fromLabelLink("/l/mpu4f7q2k9/")).toBe("#/open/mpu4f7q2k9");
    expect(fromLabelLink("/")).toBeNull();
  });
});
