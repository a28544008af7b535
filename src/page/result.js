// What a check has found: verdict, cautions and findings as the report says them, the foot in 3D, pages to read and keep.
import { reader } from './bodies.js';
import { textIn } from './core.js';
import { LOOK_NAMES, View3d, bodyIn } from './view3d.js';
import { make, number, word } from './words.js';

const PAGES = ['client', 'report', 'referral'];
const KINDS = { html: 'text/html', json: 'application/json', ply: 'application/octet-stream' };

function verdictSign(verdict) {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  const add = (tag, values) => {
    const node = document.createElementNS('http://www.w3.org/2000/svg', tag);
    for (const [name, value] of Object.entries(values)) node.setAttribute(name, value);
    svg.append(node);
  };
  for (const [name, value] of Object.entries({ class: `sign ${verdict}`, viewBox: '0 0 12 12', 'aria-hidden': 'true' })) svg.setAttribute(name, value);
  add('circle', { cx: 6, cy: 6, r: 4.8 });
  if (verdict === 'watch') add('path', { d: 'M6 1.2A4.8 4.8 0 0 1 6 10.8Z' });
  return svg;
}

function tag(verdict, text) {
  return make('span', { class: `tag ${verdict}` }, verdictSign(verdict), make('span', {}, text));
}

/** First what the report says first. */
function answer(shown) {
  const caution = make('div', { class: shown.grave ? 'caution grave' : 'caution' },
    shown.wearer ? make('p', {}, shown.wearer) : '', make('p', {}, shown.caution));
  return make('div', { class: 'verdict' }, make('h2', { id: 'headline' }, shown.headline), tag(shown.verdict, shown.tag),
    ...shown.doubts.map((text) => make('p', { class: 'refused' }, text)),
    make('p', { class: 'lead' }, shown.lead), caution, make('h2', {}, word('next.heading')),
    make('ol', { class: 'steps' }, ...shown.next.map((text) => make('li', {}, text))));
}

function finding(shown, flyTo) {
  const badge = shown.at
    ? make('button', { type: 'button', class: 'number', 'aria-label': `${shown.number}: ${word('app.view')}`, click: () => flyTo(shown.number) }, shown.number)
    : make('span', { class: 'number' }, shown.number);
  const measured = shown.limit ? word('app.measured', { value: shown.measured, limit: shown.limit }) : shown.measured;
  return make('li', { class: 'finding', id: `finding_${shown.number}` },
    make('h3', {}, badge, make('span', {}, shown.what), tag(shown.verdict, shown.tag)),
    measured ? make('p', {}, measured) : '', shown.minus ? make('p', { class: 'quiet' }, shown.minus) : '',
    make('p', { class: 'advice' }, shown.advice));
}

function scale(shown) {
  return make('div', { class: 'scale' },
    make('div', { class: 'scale-bar', 'aria-hidden': 'true' }, ...shown.scale.map(({ colour, to }) => {
      const band = make('i', {}, make('span', {}, to));
      band.style.background = colour;
      return band;
    })),
    make('div', { class: 'scale-words' }, make('span', {}, word('clearance.presses')), make('span', {}, word('clearance.touches')), make('span', {}, word('clearance.room'))),
    make('p', { class: 'quiet' }, make('span', { class: 'tight-sample', 'aria-hidden': 'true' }), word('clearance.key_tight')));
}

/** The 3D view with its tools. Gives the viewer, or nothing where the browser draws none. */
function viewer(section, shown, bytes) {
  const picture = make('div', { class: 'picture' });
  const here = make('output', { class: 'here' }, word('app.nothing_here'));
  const glass = make('input', { type: 'range', min: '0', max: '100', value: '50', input: () => { view.glass = glass.value / 100; view.draw(); } });
  const looks = LOOK_NAMES.map((name) => make('button', { type: 'button', class: 'plain', click: () => view.look(name) }, word(`look.${name}`)));
  section.append(make('div', { class: 'viewer' }, make('h2', {}, word('app.view')), make('div', { class: 'tools' }, ...looks,
    make('label', {}, make('span', {}, word('app.glass')), glass)), picture, here, scale(shown), make('p', { class: 'quiet' }, word('app.view_help'))));
  const told = (at) => {
    const zone = at && shown.zones[at.zone];
    if (!at) here.textContent = word('app.nothing_here');
    else if (!zone || Number.isNaN(at.room)) here.textContent = word('zone.none');
    else here.textContent = word('app.room_here', { zone: zone.name, room: number(at.room), doubt: number(at.doubt), limit: zone.limit });
  };
  let view = null;
  try {
    view = new View3d(picture, { body: bodyIn(bytes), left: shown.left, label: word('app.view'),
      limits: Object.fromEntries(Object.entries(shown.zones).map(([zone, { limit_mm }]) => [zone, limit_mm])),
      pins: shown.findings.filter((f) => f.at).map((f) => ({ number: f.number, at: f.at, name: f.what })),
      onPoint: told, onPin: (n) => document.getElementById(`finding_${n}`).scrollIntoView({ block: 'nearest' }) });
  } catch {
    picture.replaceWith(make('p', {}, word('app.no_view')));
  }
  return view;
}

function pages(files) {
  const here = PAGES.filter((name) => files[`${name}.html`]);
  const frame = make('div');
  const open = (name) => {
    frame.replaceChildren(reader(textIn(files[`${name}.html`]), word(`app.page.${name}`)));
    buttons.forEach((button, i) => button.setAttribute('aria-pressed', String(here[i] === name)));
  };
  const buttons = here.map((name) => make('button', { type: 'button', class: 'plain', 'aria-pressed': 'false', click: () => open(name) }, word(`app.page.${name}`)));
  const saves = Object.keys(files).filter((file) => /\.(html|json|ply)$/.test(file) && file !== 'shown.json')
    .map((file) => make('button', { type: 'button', class: 'plain', click: () => save(file, files[file]) }, word('app.save', { file })));
  open(here[0]);
  return make('div', {}, make('h2', {}, word('app.pages')), make('div', { class: 'tools' }, ...buttons), frame,
    make('div', { class: 'tools saves' }, ...saves));
}

function save(file, bytes) {
  const url = URL.createObjectURL(new Blob([bytes], { type: KINDS[file.split('.').pop()] }));
  make('a', { href: url, download: file }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

export function showResult(section, shown, files) {
  section.replaceChildren(answer(shown));
  section.hidden = false;
  const list = make('ol', { class: 'findings' });
  const view = shown.verdict === 'none' ? null : viewer(section, shown, files['view.bin']);
  list.append(...shown.findings.map((f) => finding(f, (n) => {
    view?.host.scrollIntoView({ block: 'center' });
    view?.flyTo(n);
  })));
  if (shown.findings.length > 0) section.append(make('h2', {}, word('app.findings')), list);
  section.append(pages(files));
}
