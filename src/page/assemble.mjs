// Puts the page into one file: node assemble.mjs SRC BUILD OUT.html
import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';

const [src, build, out] = process.argv.slice(2);
const source = (name) => readFileSync(join(src, name), 'utf8');
const sha256 = (text) => `'sha256-${createHash('sha256').update(text).digest('base64')}'`;
/** Modules one after the other: what they import stands above them. */
const joined = (...names) => names.map((name) => source(`page/${name}`)
  .replace(/^import .*;\n/gm, '').replace(/^export /gm, '')).join('\n');
const inScript = (text) => text.replaceAll('</script', '<\\/script').replaceAll('<!--', '<\\!--');

const script = inScript(`'use strict';\n(() => {\n${joined('core.js', 'view3d.js', 'words.js', 'bodies.js', 'result.js', 'flow.js')}\n})();\n`);
const css = source('report/report.css') + source('page/page.css');
const wasm = gzipSync(readFileSync(join(build, 'core.wasm')), { level: 9 }).toString('base64');
// Nothing can be fetched or sent. The report in its frame has a stricter policy of its own, and styles of its own.
const policy = ["default-src 'none'", `script-src ${sha256(script)} 'wasm-unsafe-eval'`, 'worker-src blob:',
  "style-src 'unsafe-inline'", "frame-src 'self'", "connect-src 'none'", "base-uri 'none'", "form-action 'none'"].join('; ');
const parts = {
  policy, css, wasm, script,
  worker: inScript(readFileSync(join(build, 'core.js'), 'utf8') + source('page/worker.js')),
};
const page = source('page/page.html').replace(/\{\{(\w+)\}\}/g, (_, name) => parts[name]);
writeFileSync(out, page);
console.log(`${out}: ${(page.length / 1e6).toFixed(2)} MB`);
