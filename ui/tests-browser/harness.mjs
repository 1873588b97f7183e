// Serves a store made from the sample site and shows its screens in a real Chromium.

import { spawn, execFile } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdtemp, mkdir, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { delimiter, join, resolve } from "node:path";
import { promisify } from "node:util";
import { test } from "node:test";
import { chromium } from "playwright-core";

export const ROOT = resolve(import.meta.dirname, "../..");
const PICTURES = join(ROOT, "target/browser");

/** The sizes that every flow is walked at: a phone in one hand, and a window on a desk. */
export const SIZES = {
  phone: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true },
  desk: { viewport: { width: 1280, height: 860 } },
};

/** How long a screen may take to show what it was asked for, on a machine that is busy. */
const PATIENCE_MS = 20_000;

const FLAGS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

/**
 * Runs `flow({ page, site })` once for each size, on a store of its own made from the sample
 * site, or an empty one with `{ empty: true }`. `{ lan: true }` opens the door for phones, too. A
 * flow that fails leaves a picture behind.
 *
 * `camera(site)` gives a film for a camera of the browser; `context` goes to the page as it is.
 */
export function flow(name, walk, options = {}) {
  const { empty, lan, sizes = Object.keys(SIZES), camera = null, context = {} } = options;
  for (const size of sizes) {
    test(`${name} (${size})`, async () => {
      const site = await Site.open({ empty, lan });
      const args = [...FLAGS, ...(camera ? cameraFlags(await camera(site)) : [])];
      const browser = await chromium.launch({ executablePath: chromiumPath(), args });
      try {
        const page = await browser.newPage({ ...SIZES[size], ...context });
        page.setDefaultTimeout(PATIENCE_MS);
        const faults = [];
        page.on("pageerror", (fault) => faults.push(String(fault)));
        await page.goto(site.url);
        try {
          await walk({ page, site, size });
          if (faults.length > 0) throw new Error(`the page broke: ${faults.join("; ")}`);
        } catch (fault) {
          await picture(page, `failed-${name}-${size}`);
          throw fault;
        }
      } finally {
        await browser.close();
        await site.close();
      }
    });
  }
}

/** A camera that shows a film, and no question whether the page may use it. */
function cameraFlags(film) {
  return [
    "--use-fake-ui-for-media-stream",
    "--use-fake-device-for-media-stream",
    `--use-file-for-fake-video-capture=${film}`,
  ];
}

/** Saves what the page shows now, for a person to look at. */
export async function picture(page, name) {
  await mkdir(PICTURES, { recursive: true });
  const file = `${name.replaceAll(/[^a-z0-9-]+/gi, "-")}.png`;
  await page.screenshot({ path: join(PICTURES, file), fullPage: true });
}

/** Fails where the page is wider than its window, so that a phone would scroll sideways. */
export async function fits(page) {
  const over_px = await page.evaluate(
    () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
  );
  if (over_px > 0) throw new Error(`the page is ${over_px} px wider than its window`);
}

/** What the browser was given to keep when this was done. */
export async function saved(page, act) {
  const [download] = await Promise.all([page.waitForEvent("download"), act()]);
  return readFile(await download.path());
}

/** A store in a folder of its own, and the program that serves it. */
export class Site {
  static async open({ empty = false, lan = false } = {}) {
    const site = new Site();
    site.folder = await mkdtemp(join(tmpdir(), "slotkeep-"));
    site.store = join(site.folder, "site.slotkeep");
    if (!empty) await site.run("import", join(ROOT, "sample-site"));
    await site.serve(lan ? ["--lan", "--lan-port", "0"] : []);
    return site;
  }

  /** Runs the terminal program on this store and returns what it printed. */
  async run(...words) {
    const args = ["--store", this.store, ...words];
    const { stdout } = await promisify(execFile)(program(), args, { cwd: ROOT, maxBuffer: 1e8 });
    return stdout;
  }

  /** The same with `--json`, read. */
  async ask(...words) {
    return JSON.parse(await this.run("--json", ...words));
  }

  async serve(more) {
    const args = ["--store", this.store, "serve", "--port", "0", ...more];
    this.server = spawn(program(), args, { cwd: ROOT, stdio: ["ignore", "pipe", "inherit"] });
    this.url = await new Promise((found, failed) => {
      let printed = "";
      this.server.stdout.on("data", (data) => {
        printed += data;
        const address = /http:\/\/127\.0\.0\.1:\S+/.exec(printed);
        this.lan_url = /https:\/\/\S+/.exec(printed)?.[0];
        if (address && (this.lan_url || more.length === 0)) found(address[0]);
      });
      this.server.on("error", failed);
      this.server.on("exit", (code) => failed(new Error(`serving stopped (${code}): ${printed}`)));
    });
  }

  /** A page of a phone that came in by a pass of its own, through the door for phones. */
  async phone(page, size) {
    const { pass } = await ask(page, "device.invite", { person: "Technician 1", title: "phone" });
    // The phone does not trust the site's own authority yet.
    const context = { ...SIZES[size], ignoreHTTPSErrors: true };
    const phone = await page.context().browser().newPage(context);
    phone.setDefaultTimeout(PATIENCE_MS);
    await phone.goto(this.lan_url);
    await phone.getByTestId("pass").fill(pass);
    await phone.keyboard.press("Enter");
    await phone.getByTestId("nav-read").waitFor();
    return phone;
  }

  async close() {
    const gone = new Promise((done) => this.server.on("exit", done));
    if (this.server.exitCode === null) {
      this.server.kill("SIGINT");
      await gone;
    }
    await rm(this.folder, { recursive: true, force: true });
  }
}

function program() {
  const path = process.env.SLOTKEEP ?? join(ROOT, "target/debug/slotkeep");
  if (!existsSync(path)) throw new Error(`${path} is not there: run cargo build first`);
  return path;
}

function chromiumPath() {
  const found = (process.env.PATH ?? "")
    .split(delimiter)
    .map((folder) => join(folder, "chromium"))
    .find((path) => existsSync(path));
  if (!found) throw new Error("there is no chromium on PATH: run cargo xtask setup");
  return found;
}

/** Asks one command through the door as the page itself would. */
export async function ask(page, name, input = {}) {
  return page.evaluate(
    async ([name, input]) => {
      const answer = await fetch(`/api/${name}`, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify(input),
      });
      const reply = await answer.json();
      if (!answer.ok) throw new Error(`${name}: ${reply.message}`);
      return reply;
    },
    [name, input],
  );
}

/** Goes to a screen by its link, as a person would: on a phone some stand behind "More". */
export async function visit(page, screen) {
  const link = page.getByTestId(`nav-${screen}`);
  if (!(await link.isVisible())) {
    await page.getByTestId("nav-more").click();
    return page.getByTestId(`more-${screen}`).click();
  }
  return link.click();
}

/** Types as a wedge scanner does: fast, wherever the focus is, and Enter at the end. */
export async function scan(page, text) {
  await page.evaluate(() => document.activeElement?.blur());
  // All at once: waiting for each key would be as slow as a person on a busy machine.
  await Promise.all([...text, "Enter"].map((key) => page.keyboard.press(key)));
}
