// Opens pages in Chromium as a client, a phone and a printer would, and holds what only a browser can tell.
//   node check.mjs [--template TEMPLATE.svg] PAGE.html...
// A report's numbers are held against the result.json beside it. CHROMIUM names the browser (default /usr/bin/chromium);
// SHOTS a folder for pictures. pdftotext and pdftoppm (poppler-utils) must be installed.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { createRequire } from 'node:module';
import { FileSystemConfigLoader, HtmlValidate } from 'html-validate';
import { chromium } from 'playwright-core';

const require = createRequire(import.meta.url);
const files = process.argv.slice(2);
const templateFile = files[0] === '--template' ? files.splice(0, 2)[1] : null;
if (files.length === 0) {
  console.error('usage: node check.mjs [--template TEMPLATE.svg] PAGE.html...');
  process.exit(2);
}
const shots = process.env.SHOTS;
const work = mkdtempSync(join(tmpdir(), 'lastroom-browser-'));
const axe = readFileSync(require.resolve('axe-core'), 'utf8');
let failures = 0, file = '';

function hold(what, ok, detail = '') {
  if (ok) return;
  failures += 1;
  console.error(`FAILED: ${file}: ${what}${detail ? `: ${detail}` : ''}`);
}

const some = (list) => `${list.length}: ${list.slice(0, 4).join('; ')}`;

async function open(browser, width, height) {
  const context = await browser.newContext({ viewport: { width, height }, bypassCSP: false });
  const page = await context.newPage();
  const address = pathToFileURL(resolve(file)).href, heard = [];
  page.on('console', (message) => heard.push(`console ${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => heard.push(`error: ${error.message}`));
  page.on('request', (request) => {
    if (request.url() !== address) heard.push(`request: ${request.url()}`);
  });
  await page.goto(address);
  hold('silent, and nothing asked for', heard.length === 0, some(heard));
  const styled = await page.evaluate(() => getComputedStyle(document.body).margin === '0px');
  hold('the policy lets the style sheet through', styled);
  return { context, page };
}

// 1440: a desk. 768: a tablet. 390: a phone. 320: the width at which WCAG 2.2 (SC 1.4.10) wants no sideways scrolling; it is also 1280 px
// at 400 % zoom.
async function screens(page) {
  for (const [width, height] of [[1440, 900], [768, 1024], [390, 844], [320, 640]]) {
    await page.setViewportSize({ width, height });
    const small = await page.evaluate(() => [...document.querySelectorAll('svg[role=img]:not(.one-to-one) text')].filter((text) => {
      const box = text.getBoundingClientRect();
      return box.height > 0 && box.height < 6;
    }).length);
    hold(`${width} px: no lettering under 6 px`, small === 0, `${small} pieces`);
    await nothingScrolls(page, width);
    await columnsThere(page, width);
    await lettersApart(page, width);
    if (shots) await page.screenshot({ path: join(shots, `${resolve(file).split('/').slice(-3).join('-')}-${width}.png`), fullPage: true });
  }
}

// Neither the page nor anything in it scrolls sideways or hides what is too wide for it.
async function nothingScrolls(page, width) {
  const wide = await page.evaluate(() => {
    const room = document.documentElement.clientWidth;
    const name = (e) => `${e.localName}.${e.className.baseVal ?? e.className}`;
    const scrolling = [document.documentElement, ...document.querySelectorAll('body, body *:not(svg, svg *)')].filter((e) =>
      e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 && (e === document.documentElement || getComputedStyle(e).overflowX !== 'visible'));
    const past = [...document.querySelectorAll('body *:not(svg *)')].filter((e) => {
      const box = e.getBoundingClientRect();
      return box.width > 0 && (box.right > room + 1 || box.left < -1);
    });
    return [...scrolling.map((e) => `${name(e)} scrolls`), ...past.map((e) => `${name(e)} is past the edge`)];
  });
  hold(`${width} px: nothing scrolls sideways or is cut off`, wide.length === 0, some(wide));
}

// Every cell of every table is there, under its column's heading or with the heading before it.
async function columnsThere(page, width) {
  const lost = await page.evaluate(() => [...document.querySelectorAll('table')].flatMap((table) => {
    const heads = [...table.querySelectorAll('thead th')];
    return [...table.querySelectorAll('tbody tr')].flatMap((row) => [...row.cells].filter((cell, i) => {
      const box = cell.getBoundingClientRect(), head = heads[i].getBoundingClientRect();
      const before = getComputedStyle(cell, '::before').content;
      const headed = head.width > 0 ? Math.abs(head.left - box.left) < 2 : i === 0 || before === JSON.stringify(heads[i].textContent);
      return box.width < 10 || box.height < 5 || !headed || row.cells.length !== heads.length;
    }).map((cell) => `"${cell.textContent}" in "${table.caption.textContent}"`));
  }));
  hold(`${width} px: no table loses a column`, lost.length === 0, some(lost));
}

async function figures(page) {
  const unnamed = await page.evaluate(() => [...document.querySelectorAll('svg')].filter((svg) =>
    svg.getAttribute('aria-hidden') !== 'true' && !(svg.getAttribute('aria-label') || '').trim()).length);
  hold('every figure has a name', unnamed === 0, `${unnamed} have none`);
  const broken = await page.evaluate(() => [...document.querySelectorAll('svg path')].filter((path) =>
    path.getAttribute('d') && path.getTotalLength() === 0 && path.getAttribute('d').length > 30).length);
  hold('every path can be drawn', broken === 0, `${broken} are broken`);
  const recoloured = await page.evaluate(() => [...document.querySelectorAll('svg [fill^="#"]')].filter((shape) => {
    const [red, green, blue] = [1, 3, 5].map((at) => parseInt(shape.getAttribute('fill').slice(at, at + 2), 16));
    return getComputedStyle(shape).fill !== `rgb(${red}, ${green}, ${blue})`;
  }).map((shape) => `${shape.getAttribute('class')} ${shape.getAttribute('fill')}`));
  hold('no style sheet paints over a colour that tells a figure', recoloured.length === 0, some(recoloured));
  const texts = await page.evaluate(() => [...document.querySelectorAll('svg[role=img]')].map((svg) => {
    const frame = svg.getBoundingClientRect();
    return [...svg.querySelectorAll('text')].filter((text) => {
      const box = text.getBoundingClientRect();
      return getComputedStyle(svg).overflow === 'hidden' &&
        (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1 || box.bottom > frame.bottom + 1);
    }).map((text) => `"${text.textContent}" in "${svg.getAttribute('aria-label').slice(0, 50)}"`);
  }).flat());
  hold('no lettering is cut off by its figure', texts.length === 0, some(texts));
}

// No lettering lies on other lettering: of the page, or of one picture.
async function lettersApart(page, width) {
  const met = await page.evaluate(() => {
    const lines = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      if (!node.data.trim() || node.parentElement.closest('.one-to-one')) continue;  // sheets for paper
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const box of range.getClientRects()) if (box.width > 0) lines.push({ node, box });
    }
    lines.sort((a, b) => a.box.top - b.box.top);
    const met = [];
    lines.forEach((a, i) => {
      for (let k = i + 1; k < lines.length && lines[k].box.top < a.box.bottom; k += 1) {
        const b = lines[k];
        const across = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
        const down = Math.min(a.box.bottom, b.box.bottom) - b.box.top;
        // A line's box is taller than its letters: of two lines that are set tight the boxes meet by a quarter.
        if (a.node !== b.node && across > 1 && down > 0.25 * Math.min(a.box.height, b.box.height))
          met.push(`"${a.node.data.trim().slice(0, 40)}" on "${b.node.data.trim().slice(0, 40)}"`);
      }
    });
    return met;
  });
  hold(`${width} px: no lettering lies on other lettering`, met.length === 0, some(met));
}

/** Numbers as the English report writes them. */
function written(value, decimals = 1) {
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? `−${text}` : text;
}

async function numbers(page) {
  const beside = join(dirname(file), 'result.json');  // of other pages the C++ tests hold the numbers
  if (basename(file) !== 'report.html' || !existsSync(beside) || await page.evaluate(() => document.documentElement.lang) !== 'en') return;
  const result = JSON.parse(readFileSync(beside, 'utf8'));
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
  await page.evaluate(axe);
  const found = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
  const list = found.violations.map((v) => `${v.id} (${v.nodes.length}): ${v.nodes[0].html.slice(0, 120)}`);
  hold('axe finds nothing', list.length === 0, some(list));
}

/** A grey picture's size and bytes. */
function picture(pgm) {
  const bytes = readFileSync(pgm);
  const [, w, h] = bytes.subarray(0, 40).toString('latin1').match(/P5\s+(\d+)\s+(\d+)\s+255\s/).map(Number);
  return { w, h, pixels: bytes.subarray(bytes.length - w * h) };
}

// The longest dark line between two shares of a sheet's height is the bar's lower line, which is 100 mm and its own width long
// (0.3 mm); a pixel either way. 254 dots an inch are 10 a millimetre.
function barMeasures(pdf, sheet, from, to) {
  execFileSync('pdftoppm', ['-r', '254', '-gray', '-f', String(sheet), '-l', String(sheet), '-singlefile', pdf, join(work, 'bar')]);
  const { w, h, pixels } = picture(join(work, 'bar.pgm'));
  let longest = 0;
  for (let y = Math.floor(h * from); y < Math.floor(h * to); y += 1) {
    let run = 0;
    for (let x = 0; x < w; x += 1) {
      run = pixels[y * w + x] < 128 ? run + 1 : 0;
      longest = Math.max(longest, run);
    }
  }
  hold('1:1: the bar measures 100 mm in the PDF', Math.abs(longest / 10 - 100.3) <= 0.2, `${longest / 10} mm`);
}

const kDots = 50;  // an inch, of the pictures of the sheets

// The sheets as pictures: no ink where a printer can't print, and none of them nearly empty after a full one.
function sheetsWhole(pdf, format) {
  execFileSync('pdftoppm', ['-r', String(kDots), '-gray', pdf, join(work, format)]);
  const sheets = readdirSync(work).filter((name) => name.startsWith(`${format}-`)).sort();
  sheets.forEach((name, i) => {
    const { w, h, pixels } = picture(join(work, name));
    const margin = Math.floor(5 / 25.4 * kDots);  // 5 mm: what printers leave at least; common practice, no source
    let [left, right, top, bottom] = [w, 0, h, 0], last = 0;
    for (let y = 0; y < h; y += 1)
      for (let x = 0; x < w; x += 1)
        if (pixels[y * w + x] < 200) {
          [left, right, top, bottom] = [Math.min(left, x), Math.max(right, x), Math.min(top, y), Math.max(bottom, y)];
          if (y < h - 20 / 25.4 * kDots) last = y;  // above the page's number
        }
    hold(`${format}: page ${i + 1} keeps its margins`, left >= margin && top >= margin && right < w - margin && bottom < h - margin,
      `${left} ${top} ${right} ${bottom} of ${w} ${h}`);
    // A row or a line alone is an eighth of the sheet at most, with a table's heading above it.
    hold(`${format}: page ${i + 1} is no leftover`, last - top > h / 8, `${last - top} of ${h}`);
    rmSync(join(work, name));
  });
}

// Words as they were printed: none on another. (A word with a rim of white is printed twice.)
function wordsApart(pdf, format) {
  const boxes = execFileSync('pdftotext', ['-bbox', pdf, '-'], { encoding: 'utf8', maxBuffer: 1e8 });
  boxes.split('<page ').slice(1).forEach((sheet, i) => {
    const words = [...sheet.matchAll(/xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">([^<]*)/g)]
      .map(([, left, top, right, bottom, text]) => ({ left: +left, top: +top, right: +right, bottom: +bottom, text }))
      .sort((a, b) => a.top - b.top);
    const met = words.flatMap((a, k) => words.slice(k + 1).filter((b) => {
      const across = Math.min(a.right, b.right) - Math.max(a.left, b.left), down = Math.min(a.bottom, b.bottom) - b.top;
      return a.text !== b.text && across > 0.75 && down > 0.3 * Math.min(a.bottom - a.top, b.bottom - b.top);
    }).map((b) => `"${a.text}" on "${b.text}"`));
    hold(`${format}: no word of page ${i + 1} lies on another`, met.length === 0, some(met));
  });
}

async function printed(page) {
  const paper = await page.evaluate(() => document.querySelector('figure.one-to-one') !== null);
  for (const format of paper ? ['own'] : ['A4', 'Letter']) {  // sheets at 1:1 name the paper that they are for
    const pdf = join(work, `${format}.pdf`);
    await page.pdf(paper ? { path: pdf, preferCSSPageSize: true, printBackground: true }
      : { path: pdf, format, preferCSSPageSize: false, printBackground: true });
    if (paper) barMeasures(pdf, 2, 0.83, 0.91);
    const pages = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8' }).split('\f').filter((sheet) => sheet.trim());
    const [least, most] = await page.evaluate(() => (document.querySelector('main.sheet')
      ? [1, 1] : [document.querySelector('.kicker') ? 2 : 1, document.querySelector('.two-feet') ? 45 : 25]));
    hold(`${format}: a few pages, a client's page on one`, pages.length >= least && pages.length <= most, `${pages.length}`);
    pages.forEach((sheet, i) => hold(`${format}: page ${i + 1} has its number`, new RegExp(`${i + 1} / ${pages.length}`).test(sheet)));
    sheetsWhole(pdf, format);
    wordsApart(pdf, format);
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
  file = templateFile;
  const svg = readFileSync(templateFile, 'utf8');
  const [, width, height] = svg.match(/width="([\d.]+)mm" height="([\d.]+)mm"/);
  const page = await (await browser.newContext()).newPage();
  await page.setContent(`<style>@page{size:${width}mm ${height}mm;margin:0}body{margin:0}svg{display:block}</style>${svg.replace(/<\?xml.*?\?>/, '')}`);
  const pdf = join(work, 'template.pdf');
  await page.pdf({ path: pdf, preferCSSPageSize: true, printBackground: true });
  barMeasures(pdf, 1, 0.85, 1);
}

async function valid() {
  const validator = new HtmlValidate(new FileSystemConfigLoader());
  // Validated as a file beside this one, so that .htmlvalidate.json holds.
  const { results } = await validator.validateString(readFileSync(file, 'utf8'), join(import.meta.dirname ?? '.', 'report.html'));
  const list = results.flatMap((r) => r.messages).map((m) => `${m.ruleId} line ${m.line}: ${m.message}`);
  hold('html-validate finds nothing', list.length === 0, `${list.length}: ${[...new Set(list)].slice(0, 6).join(' | ')}`);
}

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox', '--disable-background-networking'] });
try {
  for (file of files) {
    const { context, page } = await open(browser, 1440, 900);
    await figures(page);
    await numbers(page);
    await screens(page);
    await printed(page);
    await accessible(page);
    await valid();
    await context.close();
  }
  await template(browser);
} finally {
  await browser.close();
  rmSync(work, { recursive: true, force: true });
}
console.log(failures === 0 ? `${files.length} pages in the browser: all held` : `pages in the browser: ${failures} failed`);
process.exit(failures === 0 ? 0 : 1);
