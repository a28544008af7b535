// Opens a report in Chromium as a client, a phone and a printer would, and holds what only a browser can tell.
//   node check.mjs REPORT.html RESULT.json [TEMPLATE.svg]    (or shelf.html shelf.json, compare.html compare.json)
// CHROMIUM names the browser (default /usr/bin/chromium); SHOTS a folder for pictures. pdftotext and pdftoppm
// (poppler-utils) must be installed.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { createRequire } from 'node:module';
import { FileSystemConfigLoader, HtmlValidate } from 'html-validate';
import { chromium } from 'playwright-core';

const require = createRequire(import.meta.url);
const [reportFile, resultFile, templateFile] = process.argv.slice(2);
if (!resultFile) {
  console.error('usage: node check.mjs REPORT.html RESULT.json [TEMPLATE.svg]');
  process.exit(2);
}
const report = pathToFileURL(resolve(reportFile)).href;
const result = JSON.parse(readFileSync(resultFile, 'utf8'));
const shots = process.env.SHOTS;
const work = mkdtempSync(join(tmpdir(), 'lastroom-browser-'));
let failures = 0;

function hold(what, ok, detail = '') {
  if (ok) return;
  failures += 1;
  console.error(`FAILED: ${what}${detail ? `: ${detail}` : ''}`);
}

async function open(browser, width, height) {
  const context = await browser.newContext({ viewport: { width, height }, bypassCSP: false });
  const page = await context.newPage();
  const heard = [];
  page.on('console', (message) => heard.push(`console ${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => heard.push(`error: ${error.message}`));
  page.on('request', (request) => {
    if (request.url() !== report) heard.push(`request: ${request.url()}`);
  });
  await page.goto(report);
  hold(`${width} px: silent, and nothing asked for`, heard.length === 0, heard.slice(0, 3).join(' | '));
  return { context, page };
}

// 1440: a desk. 768: a tablet. 390: a phone. 320: the width at which WCAG 2.2 (SC 1.4.10) wants no sideways scrolling; it is also 1280 px
// at 400 % zoom.
async function screens(browser) {
  for (const [width, height] of [[1440, 900], [768, 1024], [390, 844], [320, 640]]) {
    const { context, page } = await open(browser, width, height);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    hold(`${width} px: no sideways scroll`, wide <= 0, `${wide} px too wide`);
    const styled = await page.evaluate(() => getComputedStyle(document.body).margin === '0px');
    hold(`${width} px: the policy lets the style sheet through`, styled);
    const small = await page.evaluate(() => [...document.querySelectorAll('svg[role=img] text')].filter((text) => {
      const box = text.getBoundingClientRect();
      return box.height > 0 && box.height < 6;
    }).length);
    hold(`${width} px: no lettering under 6 px`, small === 0, `${small} pieces`);
    await lettersApart(page, width);
    if (shots) await page.screenshot({ path: join(shots, `report-${width}.png`), fullPage: true });
    await context.close();
  }
}

async function figures(page) {
  const unnamed = await page.evaluate(() => [...document.querySelectorAll('svg')].filter((svg) =>
    svg.getAttribute('aria-hidden') !== 'true' && !(svg.getAttribute('aria-label') || '').trim()).length);
  hold('every figure has a name', unnamed === 0, `${unnamed} have none`);
  const broken = await page.evaluate(() => [...document.querySelectorAll('svg path')].filter((path) =>
    path.getAttribute('d') && path.getTotalLength() === 0 && path.getAttribute('d').length > 30).length);
  hold('every path can be drawn', broken === 0, `${broken} are broken`);
  const texts = await page.evaluate(() => [...document.querySelectorAll('svg[role=img]')].map((svg) => {
    const frame = svg.getBoundingClientRect();
    return [...svg.querySelectorAll('text')].filter((text) => {
      const box = text.getBoundingClientRect();
      return getComputedStyle(svg).overflow === 'hidden' &&
        (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1 || box.bottom > frame.bottom + 1);
    }).map((text) => `"${text.textContent}" in "${svg.getAttribute('aria-label').slice(0, 50)}"`);
  }).flat());
  hold('no lettering is cut off by its figure', texts.length === 0, texts.slice(0, 4).join('; '));
}

// Names in the pictures of what was found: one on another can't be read.
async function lettersApart(page, width) {
  const met = await page.evaluate(() => [...document.querySelectorAll('svg.found')].map((svg) => {
    const texts = [...svg.querySelectorAll('text')].map((text) => [text.textContent, text.getBoundingClientRect()]);
    return texts.flatMap(([a, at], i) => texts.slice(0, i).filter(([, other]) =>
      Math.min(at.right, other.right) - Math.max(at.left, other.left) > 1 &&
      Math.min(at.bottom, other.bottom) - Math.max(at.top, other.top) > 2).map(([b]) => `"${a}" on "${b}"`));
  }).flat());
  hold(`${width} px: no name lies on another`, met.length === 0, met.slice(0, 4).join('; '));
}

/** Numbers as the English report writes them. */
function written(value, decimals = 1) {
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? `−${text}` : text;
}

async function numbers(page) {
  if (result.schema !== 'lastroom.result/1') return;  // a shelf or a comparison: the C++ tests hold their numbers
  const text = (await page.evaluate(() => document.body.innerText)).replace(/\s+/g, ' ');
  const has = (piece, what) => hold(`${what} is in the page`, text.includes(piece), piece);
  // The C++ test compares every number; here: what a reader sees after layout. A tie in rounding may fall either way.
  const near = (value, what, suffix) => {
    const ways = [value, value + 5e-5, value - 5e-5].map((v) => written(v) + suffix);
    hold(`${what} is in the page`, ways.some((way) => text.includes(way)), ways[0]);
  };
  for (const finding of result.findings) {
    if (finding.measured_mm !== null) near(finding.measured_mm, finding.rule, finding.uncertainty_mm === null ? ' mm' : ' ±');
  }
  if (result.verdict === 'none') return;
  for (const zone of result.zones) near(zone.p05_mm, zone.zone, ' ±');
  near(result.foot.joint_girth_mm, 'joint girth of the foot', ' mm');
  near(result.last.joint_girth_mm, 'joint girth of the last', ' mm');
  has(result.inputs.scan.sha256, 'the scan\'s hash');
}

async function accessible(page) {
  // axe is put into the page by the tool, not by the report: the report's own policy would keep it out.
  await page.evaluate(readFileSync(require.resolve('axe-core'), 'utf8'));
  const found = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
  const list = found.violations.map((v) => `${v.id} (${v.nodes.length}): ${v.nodes[0].html.slice(0, 120)}`);
  hold('axe finds nothing', list.length === 0, list.join(' | '));
}

async function printed(page) {
  for (const format of ['A4', 'Letter']) {
    const pdf = join(work, `${format}.pdf`);
    await page.pdf({ path: pdf, format, preferCSSPageSize: false, printBackground: true });
    const text = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8' });
    const pages = text.split('\f').filter((sheet) => sheet.trim());
    const least = result.schema ? 2 : 1;  // a page of measures or of a refusal is short
    const most = await page.evaluate(() => (!document.querySelector('main.sheet') ? 25 : document.querySelector('.two-feet') ? 2 : 1));
    hold(`${format}: a few pages, a client's page on one a foot`, pages.length >= least && pages.length <= most, `${pages.length}`);
    pages.forEach((sheet, i) => hold(`${format}: page ${i + 1} has its number`, new RegExp(`${i + 1} / ${pages.length}`).test(sheet)));
  }
  // A figure is cut when its top and its bottom are on different sheets: nothing taller than a sheet, all unbreakable.
  await page.emulateMedia({ media: 'print' });
  await page.setViewportSize({ width: 680, height: 960 });  // A4 less its margins at 96 px an inch
  const tall = await page.evaluate(() => [...document.querySelectorAll('figure')].filter((figure) =>
    figure.getBoundingClientRect().height > 960 || getComputedStyle(figure).breakInside !== 'avoid').length);
  hold('print: figures fit on a sheet and do not break', tall === 0, `${tall} do not`);
  await page.emulateMedia({ media: 'screen' });
}

async function template(browser) {
  if (!templateFile) return;
  const svg = readFileSync(templateFile, 'utf8');
  const [, width, height] = svg.match(/width="([\d.]+)mm" height="([\d.]+)mm"/);
  const page = await (await browser.newContext()).newPage();
  await page.setContent(`<style>@page{size:${width}mm ${height}mm;margin:0}body{margin:0}svg{display:block}</style>${svg.replace(/<\?xml.*?\?>/, '')}`);
  const pdf = join(work, 'template.pdf');
  await page.pdf({ path: pdf, preferCSSPageSize: true, printBackground: true });
  // 254 dots an inch are 10 a millimetre. The bar is the lowest dark thing on the sheet.
  execFileSync('pdftoppm', ['-r', '254', '-gray', '-singlefile', pdf, join(work, 'template')]);
  const pgm = readFileSync(join(work, 'template.pgm'));
  const [, w, h] = pgm.subarray(0, 40).toString('latin1').match(/P5\s+(\d+)\s+(\d+)\s+255\s/).map(Number);
  const pixels = pgm.subarray(pgm.length - w * h);
  let longest = 0;
  for (let y = Math.floor(h * 0.85); y < h; y += 1) {
    let run = 0;
    for (let x = 0; x < w; x += 1) {
      run = pixels[y * w + x] < 128 ? run + 1 : 0;
      longest = Math.max(longest, run);
    }
  }
  // Its lower line is 100 mm and the line's own width (0.3 mm) long; a pixel either way.
  hold('template: the bar measures 100 mm in the PDF', Math.abs(longest / 10 - 100.3) <= 0.2, `${longest / 10} mm`);
}

async function valid() {
  const validator = new HtmlValidate(new FileSystemConfigLoader());
  // Validated as a file beside this one, so that .htmlvalidate.json holds.
  const { results } = await validator.validateString(readFileSync(reportFile, 'utf8'), join(import.meta.dirname ?? '.', 'report.html'));
  const list = results.flatMap((r) => r.messages).map((m) => `${m.ruleId} line ${m.line}: ${m.message}`);
  hold('html-validate finds nothing', list.length === 0, `${list.length}: ${[...new Set(list)].slice(0, 6).join(' | ')}`);
}

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox', '--disable-background-networking'] });
try {
  await screens(browser);
  const { page } = await open(browser, 1440, 900);
  await figures(page);
  await numbers(page);
  await accessible(page);
  await printed(page);
  await template(browser);
  await valid();
} finally {
  await browser.close();
  rmSync(work, { recursive: true, force: true });
}
console.log(failures === 0 ? 'report in the browser: all held' : `report in the browser: ${failures} failed`);
process.exit(failures === 0 ? 0 : 1);
