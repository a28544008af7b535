// Opens build/lastroom.html from the disk as a maker would: drops a scan, picks a last, answers, checks, turns, reads, saves.
//   node page.mjs LASTROOM.html DEMO-FOLDER PAIR       holds its result against the program's DEMO-FOLDER/PAIR/result.json
// CHROMIUM names the browser (default /usr/bin/chromium); SHOTS a folder for pictures.
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const require = createRequire(import.meta.url);
const [pageFile, demo, pair] = process.argv.slice(2);
if (!pair) {
  console.error('usage: node page.mjs LASTROOM.html DEMO-FOLDER PAIR');
  process.exit(2);
}
const address = pathToFileURL(resolve(pageFile)).href;
const native = JSON.parse(readFileSync(join(demo, pair, 'result.json'), 'utf8'));
const scanFile = join(demo, native.inputs.scan.file), lastFile = join(demo, native.inputs.last.file);
const shots = process.env.SHOTS;
const minutes = 60_000;
let failures = 0;

function hold(what, ok, detail = '') {
  if (ok) return;
  failures += 1;
  console.error(`FAILED: ${what}${detail ? `: ${detail}` : ''}`);
}

async function open(browser, width, height, language = 'en-GB') {
  const context = await browser.newContext({ viewport: { width, height }, locale: language, offline: true, acceptDownloads: true });
  const page = await context.newPage();
  const heard = [];
  page.on('console', (message) => heard.push(`console ${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => heard.push(`error: ${error.message}`));
  page.on('request', (request) => {
    if (request.url() !== address && !/^(blob|about|data):/.test(request.url())) heard.push(`request: ${request.url()}`);
  });
  const began = Date.now();
  await page.goto(address);
  await page.locator('#form').waitFor({ state: 'visible', timeout: 2 * minutes });
  return { context, page, heard, ready_ms: Date.now() - began };
}

/** A file dropped from a folder, as the browser hands it over. */
async function drop(page, place, file) {
  const transfer = await page.evaluateHandle(([name, base64]) => {
    const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
    const data = new DataTransfer();
    data.items.add(new File([bytes], name));
    return data;
  }, [file.name, file.bytes.toString('base64')]);
  await page.locator(place).dispatchEvent('drop', { dataTransfer: transfer });
}

const fileAt = (path) => ({ name: path.split('/').pop(), bytes: readFileSync(path) });

async function accessible(page, when) {
  await page.evaluate(readFileSync(require.resolve('axe-core'), 'utf8'));
  const found = await page.evaluate(() => globalThis.axe.run(document, { iframes: false, runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
  const list = found.violations.map((v) => `${v.id} (${v.nodes.length}): ${v.nodes[0].html.slice(0, 120)}`);
  hold(`axe finds nothing ${when}`, list.length === 0, list.join(' | '));
}

async function widths(page, when) {
  for (const [width, height] of [[1440, 900], [768, 1024], [390, 844], [320, 640]]) {
    await page.setViewportSize({ width, height });
    await page.waitForTimeout(300);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    hold(`${width} px, ${when}: no sideways scroll`, wide <= 0, `${wide} px too wide`);
    if (shots) await page.screenshot({ path: join(shots, `page-${when.replaceAll(' ', '_')}-${width}.png`), fullPage: true });
  }
  await page.setViewportSize({ width: 1440, height: 900 });
}

/** Leaves of a JSON value by their path, without times. */
function leaves(value, path = '', into = new Map()) {
  if (value !== null && typeof value === 'object') {
    for (const [key, part] of Object.entries(value)) if (key !== 'timing_s') leaves(part, `${path}/${key}`, into);
  } else into.set(path, value);
  return into;
}

/**
 * The same keys, words and verdicts. Numbers are the same too but for two things. The matrices are not rounded: C libraries'
 * sines differ in the last place, and Eigen adds in another order with SSE than without; of lengths below 1000 mm with
 * 2.2e-16 a step, a million steps of rounding make 2e-7, and no more is let pass. All else is rounded to 0.0001, where a
 * tie may fall either way: one step of it.
 */
const OFF = { matrix: 2e-7, rounded: 1.0001e-4 };
function sameResult(mine) {
  const ours = leaves(mine), theirs = leaves(native);
  const keys = (map) => [...map.keys()].filter((key) => !theirs.has(key) || !ours.has(key));
  hold('the result has the same keys', keys(ours).length + keys(theirs).length === 0, [...keys(ours), ...keys(theirs)].slice(0, 4).join(' '));
  let most = 0, where = '', other = 0;
  const wrong = [];
  for (const [path, value] of ours) {
    const native_value = theirs.get(path);
    if (typeof value === 'number' && typeof native_value === 'number') {
      const off = Math.abs(value - native_value);
      if (off > 0) other += 1;
      if (off > most) [most, where] = [off, path];
      if (off > (/scan_to_last|last_file_to_last/.test(path) ? OFF.matrix : OFF.rounded)) wrong.push(`${path}: ${value} for ${native_value}`);
      continue;
    }
    hold(`${path} is the program's`, value === native_value, `${value} for ${native_value}`);
  }
  console.log(`numbers that differ from the program's: ${other} of ${ours.size}; most ${most} at ${where}`);
  hold('every number is the program\'s', wrong.length === 0, wrong.slice(0, 4).join('; '));
}

async function given(page) {
  await page.locator('#check').click();
  hold('without files it says what is missing', (await page.locator('#told').innerText()).startsWith('First give a scan'));
  await drop(page, '#scan', { name: 'letter.ply', bytes: Buffer.from('Dear maker, here is my foot.') });
  await page.locator('#scan .refused').waitFor();
  hold('a file that is no mesh is refused by name', (await page.locator('#scan .refused').innerText()).includes('letter.ply'));
  await drop(page, '#scan', { name: 'a.docx', bytes: Buffer.from('PK') });
  await page.waitForFunction(() => document.querySelector('#scan .refused')?.textContent.includes('a.docx'));
  await drop(page, '#scan', fileAt(scanFile));
  await page.locator('#scan dl').waitFor({ timeout: 2 * minutes });
  const chooser = page.waitForEvent('filechooser');
  await page.locator('#last .drop').click();
  await (await chooser).setFiles(lastFile);
  await page.locator('#last dl').waitFor({ timeout: 2 * minutes });
  const seen = await page.locator('#scan').innerText();
  hold('the scan\'s length is shown', seen.includes(`${native.foot.length_mm.toFixed(1)} mm`), seen.slice(0, 300));
  hold('the scan\'s side is shown', seen.includes(native.side));
}

async function cancelled(page) {
  await page.getByLabel('No: the wearer was asked').check();
  await page.locator('#check').click();
  await page.locator('#cancel').click();
  await page.getByText('Cancelled.').waitFor();
  hold('after Cancel it can be checked again', await page.locator('#check').isEnabled());
}

async function checked(page) {
  const began = Date.now();
  await page.locator('#check').click();
  await page.locator('#result .verdict').waitFor({ timeout: 5 * minutes });
  console.log(`a check in the page: ${Date.now() - began} ms; the program's: ${Math.round(1000 * native.timing_s.total)} ms`);
  const download = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Save result.json' }).click();
  sameResult(JSON.parse(readFileSync(await (await download).path(), 'utf8')));
  const frame = page.frameLocator('iframe.reader').last();
  hold('the client\'s page is there to read', (await frame.locator('h1').innerText()).length > 10);
  hold('as many findings as the result has', (await page.locator('.findings > li').count()) === native.findings.length);
}

async function seenIn3d(page) {
  const canvas = page.locator('#result canvas');
  await page.setViewportSize({ width: 1280, height: 900 });
  await page.locator('#result .viewer').evaluate((viewer) => viewer.scrollIntoView());
  await page.waitForTimeout(500);
  if (shots) await page.screenshot({ path: join(shots, 'page-view.png') });  // the README's picture
  const picture = async () => createHash('sha256').update(await canvas.screenshot()).digest('hex');
  const box = await canvas.boundingBox();
  const before = await picture();
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width / 2 + 120, box.y + box.height / 2 + 20, { steps: 4 });
  await page.mouse.up();
  await page.waitForTimeout(300);
  hold('dragging turns it', (await picture()) !== before);
  await canvas.focus();
  await page.keyboard.press('1');
  await page.waitForTimeout(300);
  await page.keyboard.press('Enter');
  hold('Enter tells the room in the middle', /mm of room/.test(await page.locator('.here').innerText()), await page.locator('.here').innerText());
  const pins = page.locator('#result .pin');
  if ((await pins.count()) > 0) {
    const turned = await picture();
    await pins.first().focus();
    await page.keyboard.press('Enter');
    await page.waitForTimeout(300);
    hold('a pin flies to its place', (await picture()) !== turned);
  }
}

async function inGerman(page) {
  await page.locator('#language').selectOption('de');
  await page.waitForFunction(() => document.documentElement.lang === 'de' && document.querySelector('#result h2')?.textContent.includes('Leisten'), undefined, { timeout: minutes });
  hold('the page speaks German', (await page.locator('h1').innerText()).includes('Leisten'));
}

async function shut(page) {
  const refused = await page.evaluate(() => fetch('https://example.org/').then(() => false, () => true));
  hold('the policy lets nothing be fetched', refused);
  hold('nothing is kept', await page.evaluate(() => localStorage.length + sessionStorage.length + document.cookie.length) === 0);
}

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-background-networking', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'] });
try {
  hold('the page is at most 6 MB', readFileSync(pageFile).length <= 6e6);
  const { page, heard, ready_ms } = await open(browser, 1440, 900);
  console.log(`ready after ${ready_ms} ms`);
  await accessible(page, 'at the beginning');
  await widths(page, 'at the beginning');
  await given(page);
  await cancelled(page);
  await checked(page);
  await seenIn3d(page);
  await accessible(page, 'with a result');
  await widths(page, 'with a result');
  await inGerman(page);
  hold('silent, and nothing asked for', heard.length === 0, heard.slice(0, 3).join(' | '));
  await shut(page);
} finally {
  await browser.close();
}
console.log(failures === 0 ? 'the page: all held' : `the page: ${failures} failed`);
process.exit(failures === 0 ? 0 : 1);
