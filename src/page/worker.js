// In the worker: the core (Emscripten's glue, `core`, stands above) and the one who asks it.
const SLOTS = ['request', 'scan', 'last'];
let ready;

globalThis.tellStage = (stage) => postMessage({ stage });

/** Compiled once by the page, so that a worker started again after Cancel has not to do it. */
function start(module) {
  return core({
    instantiateWasm(imports, receive) {
      WebAssembly.instantiate(module, imports).then((instance) => receive(instance, module));
      return {};
    },
  });
}

function put(made, slot, bytes) {
  const at = made._door_room(SLOTS.indexOf(slot), bytes.length) >>> 0;  // past 2 GB a pointer comes as a negative number
  made.HEAPU8.set(bytes, at);
}

/** Null-terminated. */
function text(made, at) {
  return new TextDecoder().decode(made.HEAPU8.slice(at, made.HEAPU8.indexOf(0, at)));
}

function answer(made, asked) {
  for (const [slot, bytes] of Object.entries(asked.given ?? {})) put(made, slot, bytes);
  put(made, 'request', new TextEncoder().encode(JSON.stringify(asked.request)));
  const count = made._door_answer();
  if (count < 0) return { failed: count === -1 ? 'no_memory' : 'failed' };
  const files = {};
  for (let i = 0; i < count; i += 1) {
    const at = made._door_bytes(i) >>> 0;
    files[text(made, made._door_name(i) >>> 0)] = made.HEAPU8.slice(at, at + (made._door_size(i) >>> 0));
  }
  return { files };
}

globalThis.onmessage = async ({ data }) => {
  if (data.module) {
    ready = start(data.module);
    return;
  }
  let said;
  try {
    said = answer(await ready, data);
  } catch (error) {
    // The core is broken from here on: the page starts another one.
    said = { failed: /memory|allocation/i.test(String(error)) ? 'no_memory' : 'failed', broken: true };
  }
  postMessage({ id: data.id, ...said }, Object.values(said.files ?? {}).map((bytes) => bytes.buffer));
};
