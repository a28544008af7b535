// The core in its worker: questions go there, answers come back; cancelling ends the worker and starts another.

async function unpacked(base64) {
  const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

export class Core {
  static async start() {
    const core = new Core();
    core.module = await WebAssembly.compile(await unpacked(document.getElementById('packed').textContent.trim()));
    document.getElementById('packed').remove();
    core.code = URL.createObjectURL(new Blob([document.getElementById('worker').textContent], { type: 'text/javascript' }));
    core.waiting = new Map();
    core.given = {};
    core.next = 1;
    core.onStage = () => {};
    core.#begin();
    return core;
  }

  #begin() {
    this.worker = new Worker(this.code);
    this.kept = {};
    this.worker.onmessage = ({ data }) => {
      if (data.stage !== undefined) this.onStage(data.stage);
      else this.#answered(data);
    };
    this.worker.onerror = () => this.cancel('failed');
    this.worker.postMessage({ module: this.module });
  }

  #answered({ id, files, failed, broken }) {
    const asked = this.waiting.get(id);
    this.waiting.delete(id);
    if (broken) this.cancel();
    asked?.(failed ? { failed } : { files });
  }

  /** A mesh file for what is asked from now on. */
  give(slot, bytes) {
    this.given[slot] = bytes;
    delete this.kept[slot];
  }

  /** {files: {name: bytes}} or {failed: 'cancelled' | 'no_memory' | 'failed'} */
  ask(request, needed = []) {
    const given = {};
    for (const slot of needed) {
      if (!this.kept[slot]) given[slot] = this.given[slot];
      this.kept[slot] = true;
    }
    const id = this.next;
    this.next += 1;
    return new Promise((resolve) => {
      this.waiting.set(id, resolve);
      this.worker.postMessage({ id, request, given });
    });
  }

  /** Ends whatever runs; what was asked is answered with why. */
  cancel(why = 'cancelled') {
    this.worker.terminate();
    for (const resolve of this.waiting.values()) resolve({ failed: why });
    this.waiting.clear();
    this.#begin();
  }
}

export const jsonIn = (bytes) => JSON.parse(new TextDecoder().decode(bytes));
export const textIn = (bytes) => new TextDecoder().decode(bytes);
