// Foot and last as they are given: picked or dropped, shown as they were read, side and unit put right.
import { jsonIn, textIn } from './core.js';
import { View3d, bodyIn } from './view3d.js';
import { has, make, word } from './words.js';

const ENDINGS = '.stl,.ply,.obj,.off,.glb,.gltf,.asc,.xyz';
const UNITS = ['mm', 'cm', 'm', 'in'];

/** A frame in which a page of the core's is read: no script, no way out. */
export function reader(html, title) {
  return make('iframe', { class: 'reader', sandbox: '', title, srcdoc: html, tabindex: '0' });
}

export class Body {
  /** `host` is the fieldset; `settings()` the page's language and the choices that `read` needs. */
  constructor(host, core, settings, changed) {
    Object.assign(this, { host, core, settings, changed, slot: host.id, as: host.dataset.as, name: null, shown: null, chosen: {} });
    const input = make('input', { type: 'file', accept: ENDINGS, 'aria-describedby': `${this.slot}_hint`,
      change: () => this.take(this.input.files[0]) });
    this.input = input;
    this.title = make('b', { 'data-word': 'app.drop' });
    this.drop = make('label', { class: 'drop' }, this.title,
      make('span', { class: 'quiet', id: `${this.slot}_hint`, 'data-word': `app.${this.slot}_hint` }), input);
    this.read = make('div', { class: 'read', 'aria-live': 'polite' });
    host.append(this.drop, this.read);
    host.addEventListener('dragover', (event) => { event.preventDefault(); host.classList.add('over'); });
    host.addEventListener('dragleave', () => host.classList.remove('over'));
    host.addEventListener('drop', (event) => {
      event.preventDefault();
      host.classList.remove('over');
      this.take(event.dataTransfer.files[0]);
    });
  }

  async take(file) {
    if (!file) return;
    this.give(file.name, new Uint8Array(await file.arrayBuffer()));
  }

  give(name, bytes) {
    this.name = name;
    this.chosen = {};
    this.core.give(this.slot, bytes);
    return this.look();
  }

  /** Side and unit as they were put right, by the core's names. */
  request() {
    const { side, unit } = this.chosen;
    return { [`${this.slot}_name`]: this.name, ...(side && { side }), ...(unit && { [`${this.slot}_unit`]: unit }) };
  }

  /** Reads the file and shows what was found in it. */
  async look() {
    if (this.name === null) return;
    this.shown = null;
    this.changed();
    this.read.replaceChildren(make('p', {}, word('app.reading', { file: this.name })));
    const { files, failed } = await this.core.ask({ do: 'read', as: this.as, ...this.settings(), ...this.request() }, [this.slot]);
    this.drop.classList.add('has-file');
    if (failed === 'cancelled') this.read.replaceChildren();
    else if (failed) this.#refuse(word(`app.${failed}`));
    else this.#show(jsonIn(files['shown.json']), files);
    this.changed();
  }

  #refuse(why, html) {
    this.read.replaceChildren(make('p', { class: 'refused' }, why), html ? this.#details('app.look', reader(html, word('app.look'))) : '');
  }

  #details(key, ...inside) {
    return make('details', {}, make('summary', {}, word(key)), ...inside);
  }

  #show(shown, files) {
    if (shown.refused) {
      this.#refuse(shown.refused, files['refusal.html'] && textIn(files['refusal.html']));
      return;
    }
    this.shown = shown;
    const rows = [[make('bdi', {}, shown.file), ''], ...shown.rows];
    if (shown.toes) rows.push([word('app.toes'), shown.toes]);
    const list = make('dl', {}, ...rows.slice(1).map(([name, value]) => make('div', {}, make('dt', {}, name), make('dd', {}, value))),
      ...this.#choices(shown));
    const picture = make('div', { class: 'picture' });
    this.read.replaceChildren(make('p', { class: 'file-name' }, make('bdi', {}, shown.file)),
      ...[shown.doubt, ...(shown.remarks ?? [])].filter(Boolean).map((text) => make('p', { class: 'refused' }, text)),
      picture, list, make('p', { class: 'quiet' }, shown.likeness),
      shown.repairs.length ? this.#details('app.repairs', make('ul', {}, ...shown.repairs.map((text) => make('li', {}, text)))) : '',
      this.#details('app.look', reader(textIn(files['measures.html']), word('app.look'))));
    try {
      new View3d(picture, { body: bodyIn(files['view.bin']), left: shown.side === 'left', points: shown.points.map(({ label, at }) => ({ label: has(`found.${label}`) ? word(`found.${label}`) : label, at })),
        label: word(`found.${this.as}`, { side: word(`side.${shown.side}`) }) });
    } catch {
      picture.remove();
    }
  }

  /** Side (of the foot) and unit, each as found or as chosen. */
  #choices(shown) {
    const choice = (key, name, options) => {
      const select = make('select', { change: () => { this.chosen[name] = select.value; this.look(); } },
        ...options.map(([value, text]) => make('option', { value, selected: (this.chosen[name] ?? '') === value }, text)));
      return make('div', {}, make('dt', {}, make('label', { for: `${this.slot}_${name}` }, word(key))),
        make('dd', {}, Object.assign(select, { id: `${this.slot}_${name}` })));
    };
    const found = (what) => ['', word('app.as_found', { what })];
    const side = this.as === 'foot'
      ? choice('app.side', 'side', [this.chosen.side ? ['', '–'] : found(word(`side_in_sentence.${shown.side}`)),
        ...['left', 'right'].map((s) => [s, word(`side_in_sentence.${s}`)])])
      : make('div', {}, make('dt', {}, word('app.side')),
        make('dd', {}, shown.straight ? word('app.straight') : word(`side_in_sentence.${shown.side}`)));
    return [side, choice('app.unit', 'unit', [this.chosen.unit ? ['', '–'] : found(word(`unit.${shown.unit}`)),
      ...UNITS.map((u) => [u, word(`unit.${u}`)])])];
  }
}
