// The flow: files, questions, check, result.
import { Body } from './bodies.js';
import { Core, jsonIn } from './core.js';
import { showResult } from './result.js';
import { make, setWords, word } from './words.js';

const STAGES = 6;
const at = (id) => document.getElementById(id);

class Flow {
  constructor(core) {
    this.core = core;
    this.form = at('form');
    this.running = false;
    const changed = () => this.#changed();
    this.bodies = ['scan', 'last'].map((id) => new Body(at(id), core, () => ({ language: this.language }), changed));
    core.onStage = (stage) => this.#stage(stage);
    this.form.addEventListener('submit', (event) => { event.preventDefault(); this.check(); });
    this.form.addEventListener('input', changed);
    at('cancel').addEventListener('click', () => core.cancel());
    at('demo').addEventListener('click', () => this.#demo());
    at('language').addEventListener('change', () => this.speak(at('language').value));
    // A file dropped beside its place must not be opened instead of this page.
    for (const name of ['dragover', 'drop']) document.addEventListener(name, (event) => event.preventDefault());
  }

  /** Everything in another language: the page, what was read, and the result. */
  async speak(language) {
    this.speaking = true;
    await this.#speak(language);
    this.speaking = false;
  }

  async #speak(language) {
    this.language = language;
    const { files, failed } = await this.core.ask({ do: 'words', language });
    if (failed) throw new Error(failed);
    const { languages, texts, version } = jsonIn(files['words.json']);
    setWords(texts, language);
    at('version').textContent = version;
    const select = at('language');
    select.replaceChildren(...languages.map((l) => make('option', { value: l, selected: l === language },
      new Intl.DisplayNames([l], { type: 'language' }).of(l))));
    select.parentElement.hidden = false;
    if (this.running) return;
    this.#stages(null);
    for (const body of this.bodies) await body.look();
    if (!at('result').hidden) await this.#write({ do: 'write', language, ...this.#head() });
  }

  #head() {
    const now = new Date();
    const day = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, '0')).join('-');
    return { client: this.form.elements.client.value.trim(), date: day };
  }

  #changed() {
    if (!at('result').hidden && !this.running && !this.speaking) this.#tell(word('app.needs_again'));
  }

  #tell(text, grave = false) {
    at('told').replaceChildren(text ? make('p', { class: grave ? 'refused' : '' }, text) : '');
  }

  #stage(stage) {
    if (this.running) this.#stages(stage);
  }

  /** Which stage is at work; none for null. */
  #stages(now) {
    at('stages').hidden = now === null;
    at('stages').replaceChildren(...Array.from({ length: STAGES }, (_, i) => make('li',
      { class: i < now ? 'done' : i === now ? 'now' : '', ...(i === now && { 'aria-current': 'step' }) }, word(`app.stage.${i}`))));
    if (now !== null) this.#tell(word(`app.stage.${now}`));
  }

  /** The number in a field; undefined where it is empty. Throws the sentence that tells what is wrong. */
  #number(name) {
    const field = this.form.elements[name];
    const text = field.value.trim().replace(',', '.');
    const value = Number(text);
    const [least, most] = [Number(field.dataset.least), Number(field.dataset.most)];
    const wrong = text !== '' && !(value >= least && value <= most);
    field.toggleAttribute('aria-invalid', wrong);
    if (wrong) {
      field.focus();
      throw word('app.number_wrong', { what: field.parentElement.firstElementChild.textContent, least, most });
    }
    return text === '' ? undefined : value;
  }

  #request() {
    const wearer = this.form.elements.wearer.value;
    if (!wearer || !this.bodies.every((body) => body.shown)) throw word('app.needs');
    return { do: 'check', language: this.language, ...this.#head(), wearer, scan_load: this.form.elements.scan_load.value,
      sock_mm: this.#number('sock_mm'), tape_joint_mm: this.#number('tape_joint_mm'),
      ...this.bodies[0].request(), ...this.bodies[1].request() };
  }

  async check() {
    if (this.running) return;
    let request;
    try {
      request = this.#request();
    } catch (why) {
      this.#tell(String(why), true);
      return;
    }
    this.#run(true);
    at('result').hidden = true;
    this.#stages(0);
    const done = await this.#write(request, ['scan', 'last']);
    this.#run(false);
    this.#stages(null);
    if (done) { this.#tell(''); at('result').focus(); at('result').scrollIntoView(); }
  }

  #run(is) {
    this.running = is;
    at('check').disabled = is;
    at('cancel').hidden = !is;
  }

  /** Whether there is a result to be seen. */
  async #write(request, needed) {
    const { files, failed } = await this.core.ask(request, needed);
    const shown = files && files['shown.json'] && jsonIn(files['shown.json']);
    if (!shown || shown.refused) {
      at('result').hidden = true;
      const why = shown?.refused ?? word(`app.${failed ?? 'failed'}`);
      setTimeout(() => this.#tell(why, failed !== 'cancelled'));
      return false;
    }
    showResult(at('result'), shown, files);
    return true;
  }

  async #demo() {
    const { files, failed } = await this.core.ask({ do: 'demo' });
    if (failed) { this.#tell(word(`app.${failed}`), true); return; }
    const names = Object.keys(files);
    for (const [i, body] of this.bodies.entries()) await body.give(names[i], files[names[i]]);
  }
}

Core.start().then(async (core) => {
  const flow = new Flow(core);
  const { files } = await core.ask({ do: 'words', language: 'en' });
  const { languages } = jsonIn(files['words.json']);
  await flow.speak(navigator.languages.map((l) => l.slice(0, 2)).find((l) => languages.includes(l)) ?? 'en');
  at('starting').hidden = true;
  at('form').hidden = false;
}).catch((error) => {
  at('starting').textContent = `This page could not start here (${error.message ?? error}). It needs a current browser: Chromium, Firefox or Safari of 2023 or later.`;
});
