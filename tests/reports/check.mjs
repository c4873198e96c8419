// Opens pages in a headless browser and says what is wrong with them, as JSON on standard output.
// Usage: node check.mjs BROWSER OUTPUT_FOLDER PAGE…
// Each page is opened in light and dark, wide and narrow; printed on A4 and Letter.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [browserPath, output, ...pages] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const browser = await chromium.launch({
  executablePath: browserPath,
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync"],
});
const looks = [
  { name: "wide light", colorScheme: "light", viewport: { width: 1100, height: 900 } },
  { name: "wide dark", colorScheme: "dark", viewport: { width: 1100, height: 900 } },
  { name: "phone light", colorScheme: "light", viewport: { width: 390, height: 844 } },
  { name: "phone dark", colorScheme: "dark", viewport: { width: 390, height: 844 } },
];
const found = [];
for (const file of pages) {
  const page = { file: path.basename(file), looks: [], requests: [], dialogs: 0, scripts: 0, pdfPages: {} };
  for (const look of looks) {
    const context = await browser.newContext({ colorScheme: look.colorScheme, viewport: look.viewport });
    const tab = await context.newPage();
    tab.on("request", (request) => { if (!request.url().startsWith("file:")) page.requests.push(request.url()); });
    tab.on("dialog", (dialog) => { page.dialogs += 1; dialog.dismiss(); });
    await tab.goto(pathToFileURL(file).href);
    page.scripts = Math.max(page.scripts, await tab.locator("script, [onerror], [onload], iframe, object, embed, link, img").count());
    const layout = await tab.evaluate(() => ({
      overflow: document.documentElement.scrollWidth - document.documentElement.clientWidth,
      background: getComputedStyle(document.documentElement).backgroundColor,
      tooWide: [...document.querySelectorAll("td, th, dd, p, svg")]
        .filter((element) => !element.closest(".unseen") && element.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
        .map((element) => element.tagName + ": " + element.textContent.slice(0, 60)),
    }));
    await tab.evaluate(axe);
    const result = await tab.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
    page.looks.push({
      name: look.name,
      ...layout,
      passes: result.passes.length,
      violations: result.violations.map((rule) => ({
        rule: rule.id, help: rule.help, where: rule.nodes.slice(0, 3).map((node) => node.html.slice(0, 200)),
      })),
    });
    await context.close();
  }
  const tab = await browser.newPage();
  await tab.goto(pathToFileURL(file).href);
  for (const format of ["A4", "Letter"]) {
    const pdf = await tab.pdf({ format, preferCSSPageSize: false, path: path.join(output, `${page.file}.${format}.pdf`) });
    page.pdfPages[format] = (pdf.toString("latin1").match(/\/Type\s*\/Page[^s]/g) ?? []).length;
  }
  await tab.close();
  found.push(page);
}
await browser.close();
process.stdout.write(JSON.stringify(found, null, 1));
