// A small viewer: foot in its colours, last as glass. WebGL 1, orthographic, z up; no library.

const VERTEX = `
attribute vec3 place, normal; attribute vec3 colour; attribute float tight;
uniform mat3 turn; uniform vec3 middle, pan; uniform vec2 scale;
varying vec3 shade, n; varying float hatched;
void main() {
  vec3 seen = turn * (place - middle) + pan;
  gl_Position = vec4(seen.xy * scale, -seen.z / 1000.0, 1.0);
  n = turn * normal; shade = colour; hatched = tight;
}`;
const FRAGMENT = `
precision mediump float;
uniform float glass; uniform float dots;
varying vec3 shade, n; varying float hatched;
void main() {
  vec3 facing = normalize(n);
  float towards = abs(facing.z);
  if (glass > 0.0) { gl_FragColor = vec4(0.08, 0.33, 0.29, glass * (0.12 + 0.88 * pow(1.0 - towards, 1.5))); return; }
  float light = 0.45 + 0.55 * max(0.0, dot(facing, normalize(vec3(0.25, 0.45, 0.85))));
  vec3 lit = shade * light;
  float stripe = mod(gl_FragCoord.x + gl_FragCoord.y, 9.0 * dots);
  if (hatched > 0.5 && stripe < 1.6 * dots) lit = vec3(0.11, 0.14, 0.13);
  gl_FragColor = vec4(lit, 1.0);
}`;

/** Where the eye is, and what is up, in the last frame of a right foot (its inside at +y). */
const LOOKS = {
  above: [[0, 0, 1], [1, 0, 0]],
  inside: [[0, 1, 0], [0, 0, 1]],
  outside: [[0, -1, 0], [0, 0, 1]],
  sole: [[0, 0, -1], [1, 0, 0]],
  toe_end: [[1, 0, 0], [0, 0, 1]],
};
export const LOOK_NAMES = Object.keys(LOOKS);

const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const unit = (a) => { const l = Math.hypot(...a) || 1; return a.map((x) => x / l); };
/** Rows: right, up, towards the eye. */
function turnOf(eye, up) {
  const back = unit(eye);
  const right = unit(cross(up, back));
  return [right, cross(back, right), back];
}
function about(axis, angle, v) {
  const c = Math.cos(angle), s = Math.sin(angle), d = dot(axis, v) * (1 - c), w = cross(axis, v);
  return v.map((x, i) => x * c + w[i] * s + axis[i] * d);
}

/** The core's bytes (src/page/view_bytes.h) as arrays. */
export function bodyIn(bytes) {
  const all = bytes.slice().buffer;
  const [vertices, triangles, lastVertices, lastTriangles] = new Uint32Array(all, 0, 4);
  let at = 16;
  const take = (Kind, count) => { const part = new Kind(all, at, count); at += part.byteLength; return part; };
  const skin = { places: take(Float32Array, 3 * vertices), room: take(Float32Array, vertices), doubt: take(Float32Array, vertices),
    colours: take(Uint8Array, 4 * vertices), triangles: take(Uint32Array, 3 * triangles) };
  const last = { places: take(Float32Array, 3 * lastVertices), triangles: take(Uint32Array, 3 * lastTriangles) };
  return { skin, last };
}

function normalsOf({ places, triangles }) {
  const normals = new Float32Array(places.length);
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [3 * triangles[t], 3 * triangles[t + 1], 3 * triangles[t + 2]];
    const ux = places[b] - places[a], uy = places[b + 1] - places[a + 1], uz = places[b + 2] - places[a + 2];
    const vx = places[c] - places[a], vy = places[c + 1] - places[a + 1], vz = places[c + 2] - places[a + 2];
    const x = uy * vz - uz * vy, y = uz * vx - ux * vz, z = ux * vy - uy * vx;
    for (const i of [a, b, c]) { normals[i] += x; normals[i + 1] += y; normals[i + 2] += z; }
  }
  return normals;
}

export class View3d {
  /** `host` is emptied and filled; `left`: a left foot, whose inside is at -y. Throws where there is no WebGL. */
  constructor(host, { body, left = false, limits = {}, pins = [], points = [], label, onPoint = () => {}, onPin = () => {} }) {
    Object.assign(this, { host, body, left, limits, onPoint, onPin, glass: 0.5, pan: [0, 0], asked: false });
    this.canvas = document.createElement('canvas');
    this.canvas.tabIndex = 0;
    this.canvas.setAttribute('role', 'img');
    this.canvas.setAttribute('aria-label', label);
    host.replaceChildren(this.canvas);
    this.#prepare();
    this.#frame();
    this.marks = [...points.map((p) => this.#point(p)), ...pins.map((p) => this.#pin(p))];
    this.#listen();
    this.look(this.body.last.triangles.length > 0 ? 'outside' : 'above');
  }

  #prepare() {
    const gl = this.canvas.getContext('webgl', { antialias: true, alpha: false });
    if (!gl || !gl.getExtension('OES_element_index_uint')) throw new Error('no WebGL');
    this.gl = gl;
    const program = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    gl.useProgram(program);
    this.place = (name) => gl.getUniformLocation(program, name);
    this.program = program;
    const { skin, last } = this.body;
    const tight = new Uint8Array(skin.room.length);
    for (let v = 0; v < tight.length; v += 1) tight[v] = skin.room[v] < this.limits[skin.colours[4 * v + 3]] ? 255 : 0;
    skin.normals = normalsOf(skin);
    this.drawn = [this.#load(skin, skin.normals, skin.colours, tight), this.#load(last, normalsOf(last))];
  }

  #load(mesh, normals, colours, tight) {
    const { gl } = this;
    const buffer = (kind, data) => { const b = gl.createBuffer(); gl.bindBuffer(kind, b); gl.bufferData(kind, data, gl.STATIC_DRAW); return b; };
    return { count: mesh.triangles.length, place: buffer(gl.ARRAY_BUFFER, mesh.places), normal: buffer(gl.ARRAY_BUFFER, normals),
      colour: colours && buffer(gl.ARRAY_BUFFER, colours), tight: tight && buffer(gl.ARRAY_BUFFER, tight),
      triangles: buffer(gl.ELEMENT_ARRAY_BUFFER, mesh.triangles) };
  }

  /** The middle of the skin, and how far it reaches. */
  #frame() {
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    for (const { places } of [this.body.skin, this.body.last])
      for (let i = 0; i < places.length; i += 1) {
        low[i % 3] = Math.min(low[i % 3], places[i]);
        high[i % 3] = Math.max(high[i % 3], places[i]);
      }
    this.middle = low.map((x, k) => (x + high[k]) / 2);
    this.size = high.map((x, k) => x - low[k]);
  }

  #pin({ number, at, name }) {
    const element = document.createElement('button');
    element.type = 'button';
    element.className = 'pin';
    element.textContent = number;
    element.setAttribute('aria-label', `${number}: ${name}`);
    element.addEventListener('click', () => { this.flyTo(number); this.onPin(number); });
    this.host.append(element);
    return { at, number, element };
  }

  #point({ at, label }) {
    const element = document.createElement('div');
    element.className = 'point';
    element.append(Object.assign(document.createElement('span'), { textContent: label }));
    this.host.append(element);
    return { at, element };
  }

  // ---- where the eye is

  look(name) {
    const [eye, up] = LOOKS[name];
    const mirrored = this.left && (name === 'inside' || name === 'outside') ? eye.map((x) => -x) : eye;
    this.turn = turnOf(mirrored, up);
    this.pan = [0, 0];
    this.#fit();
    this.draw();
  }

  #fit() {
    const reach = (row) => row.reduce((sum, x, k) => sum + Math.abs(x) * this.size[k], 0);
    const { clientWidth: w, clientHeight: h } = this.host;
    this.pixels_per_mm = 0.9 * Math.min(w / reach(this.turn[0]), h / reach(this.turn[1]));
  }

  /** About the vertical as seen, and about the picture's own level line. */
  turnBy(dx, dy) {
    for (const [axis, angle] of [[this.turn[1], -dx], [this.turn[0], -dy]])
      this.turn = turnOf(about(axis, angle, this.turn[2]), about(axis, angle, this.turn[1]));
    this.draw();
  }

  panBy(dx, dy) {
    this.pan = [this.pan[0] + dx / this.pixels_per_mm, this.pan[1] - dy / this.pixels_per_mm];
    this.draw();
  }

  zoomBy(factor) {
    this.pixels_per_mm = Math.min(60, Math.max(0.3, this.pixels_per_mm * factor));
    this.draw();
  }

  /** Looks straight at a finding's place. */
  flyTo(number) {
    const mark = this.marks.find((m) => m.number === number);
    if (!mark) return;
    const { places, normals } = this.body.skin;
    let best = 0, least = Infinity;
    for (let i = 0; i < places.length; i += 3) {
      const d = Math.hypot(places[i] - mark.at[0], places[i + 1] - mark.at[1], places[i + 2] - mark.at[2]);
      if (d < least) { least = d; best = i; }
    }
    const eye = unit([normals[best], normals[best + 1], normals[best + 2]]);
    this.turn = turnOf(eye, Math.abs(eye[2]) > 0.9 ? [1, 0, 0] : [0, 0, 1]);
    this.#fit();
    this.pixels_per_mm *= 1.6;
    const seen = this.#seen(mark.at);
    this.pan = [this.pan[0] - seen[0], this.pan[1] - seen[1]];
    for (const m of this.marks) m.element.classList.toggle('chosen', m.number === number);
    this.draw();
  }

  /** In mm of the picture: right and up of its middle, towards the eye. */
  #seen(p) {
    const q = p.map((x, k) => x - this.middle[k]);
    return [dot(this.turn[0], q) + this.pan[0], dot(this.turn[1], q) + this.pan[1], dot(this.turn[2], q)];
  }

  // ---- what is seen

  draw() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => { this.asked = false; this.#draw(); });
  }

  #draw() {
    const { gl, canvas, host } = this;
    const dots = window.devicePixelRatio || 1;
    const [w, h] = [Math.round(host.clientWidth * dots), Math.round(host.clientHeight * dots)];
    if (w === 0) return;
    if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
    gl.viewport(0, 0, w, h);
    gl.clearColor(0.984, 0.98, 0.969, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.uniformMatrix3fv(this.place('turn'), false, [0, 1, 2].flatMap((c) => this.turn.map((row) => row[c])));
    gl.uniform3fv(this.place('middle'), this.middle);
    gl.uniform3f(this.place('pan'), this.pan[0], this.pan[1], 0);
    gl.uniform2f(this.place('scale'), (2 * this.pixels_per_mm) / host.clientWidth, (2 * this.pixels_per_mm) / host.clientHeight);
    gl.uniform1f(this.place('dots'), dots);
    gl.depthMask(true);
    gl.disable(gl.BLEND);
    this.#drawMesh(this.drawn[0], 0);
    if (this.glass > 0 && this.drawn[1].count > 0) {
      gl.enable(gl.BLEND);
      gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
      gl.depthMask(false);
      this.#drawMesh(this.drawn[1], this.glass);
    }
    this.#placeMarks();
  }

  #drawMesh(mesh, glass) {
    const { gl } = this;
    gl.uniform1f(this.place('glass'), glass);
    const feed = (name, buffer, size, kind, normalized, stride) => {
      const at = gl.getAttribLocation(this.program, name);
      if (at < 0) return;
      if (!buffer) { gl.disableVertexAttribArray(at); gl.vertexAttrib3f(at, 0, 0, 0); return; }
      gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
      gl.enableVertexAttribArray(at);
      gl.vertexAttribPointer(at, size, kind, normalized, stride, 0);
    };
    feed('place', mesh.place, 3, gl.FLOAT, false, 0);
    feed('normal', mesh.normal, 3, gl.FLOAT, false, 0);
    feed('colour', mesh.colour, 3, gl.UNSIGNED_BYTE, true, 4);
    feed('tight', mesh.tight, 1, gl.UNSIGNED_BYTE, true, 0);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, mesh.triangles);
    gl.drawElements(gl.TRIANGLES, mesh.count, gl.UNSIGNED_INT, 0);
  }

  #placeMarks() {
    const { clientWidth: w, clientHeight: h } = this.host;
    const placed = [];
    for (const mark of this.marks) {
      const [x, y] = this.#seen(mark.at);
      const at = [w / 2 + x * this.pixels_per_mm, h / 2 - y * this.pixels_per_mm];
      // Pins at one place stand side by side.
      while (mark.number !== undefined && placed.some((p) => Math.hypot(p[0] - at[0], p[1] - at[1]) < 28)) at[0] += 6;
      placed.push(at);
      if (mark.number === undefined) mark.element.classList.toggle('left', at[0] + mark.element.firstChild.offsetWidth + 8 > w);
      mark.element.style.transform = `translate(${at[0].toFixed(1)}px, ${at[1].toFixed(1)}px)`;
    }
    clearTimeout(this.later);
    this.later = setTimeout(() => this.#hideMarks(), 150);
  }

  /** A mark with skin before it (8 mm: a toe's thickness) lies underneath, as in the report. */
  #hideMarks() {
    for (const mark of this.marks) {
      const [x, y, depth] = this.#seen(mark.at);
      const hit = this.#hit(x, y);
      mark.element.classList.toggle('under', hit !== null && hit.depth > depth + 8);
      if (mark.number === undefined) mark.element.hidden = hit !== null && hit.depth > depth + 8;
    }
  }

  /** The skin nearest to the eye at a place of the picture (mm): vertex and depth; null where there is none. */
  #hit(x, y) {
    const { places, triangles } = this.body.skin;
    const count = places.length / 3;
    const key = this.turn.flat().join() + this.pan.join();
    if (this.seenKey !== key) {
      this.seenKey = key;
      this.sx ??= new Float32Array(count); this.sy ??= new Float32Array(count); this.sz ??= new Float32Array(count);
      const [r, u, b] = this.turn, m = this.middle;
      for (let v = 0; v < count; v += 1) {
        const px = places[3 * v] - m[0], py = places[3 * v + 1] - m[1], pz = places[3 * v + 2] - m[2];
        this.sx[v] = r[0] * px + r[1] * py + r[2] * pz + this.pan[0];
        this.sy[v] = u[0] * px + u[1] * py + u[2] * pz + this.pan[1];
        this.sz[v] = b[0] * px + b[1] * py + b[2] * pz;
      }
    }
    const { sx, sy, sz } = this;
    let best = null;
    for (let t = 0; t < triangles.length; t += 3) {
      const a = triangles[t], b = triangles[t + 1], c = triangles[t + 2];
      const ax = sx[a] - x, ay = sy[a] - y, bx = sx[b] - x, by = sy[b] - y, cx = sx[c] - x, cy = sy[c] - y;
      const wa = bx * cy - cx * by, wb = cx * ay - ax * cy, wc = ax * by - bx * ay;
      if (!((wa >= 0 && wb >= 0 && wc >= 0) || (wa <= 0 && wb <= 0 && wc <= 0))) continue;
      const sum = wa + wb + wc;
      if (sum === 0) continue;
      const depth = (wa * sz[a] + wb * sz[b] + wc * sz[c]) / sum;
      if (best && depth <= best.depth) continue;
      const weights = [wa / sum, wb / sum, wc / sum];
      best = { depth, corners: [a, b, c], weights, vertex: [a, b, c][weights.indexOf(Math.max(...weights))] };
    }
    return best;
  }

  /** What is told of the skin at a place of the canvas, in pixels. */
  roomAt(px, py) {
    const { clientWidth: w, clientHeight: h } = this.host;
    const hit = this.#hit((px - w / 2) / this.pixels_per_mm, (h / 2 - py) / this.pixels_per_mm);
    if (!hit) return null;
    const { room, doubt, colours } = this.body.skin;
    const mean = (values) => hit.corners.reduce((sum, v, i) => sum + hit.weights[i] * values[v], 0);
    return { room: mean(room), doubt: mean(doubt), zone: colours[4 * hit.vertex + 3] };
  }

  // ---- mouse, touch, keys

  #listen() {
    const { canvas } = this;
    const down = new Map();
    let moved = 0;
    const tell = (event) => {
      const box = canvas.getBoundingClientRect();
      this.onPoint(this.roomAt(event.clientX - box.left, event.clientY - box.top));
    };
    canvas.addEventListener('pointerdown', (event) => {
      canvas.setPointerCapture(event.pointerId);
      down.set(event.pointerId, [event.clientX, event.clientY]);
      moved = 0;
      canvas.classList.add('turning');
    });
    canvas.addEventListener('pointermove', (event) => {
      const before = down.get(event.pointerId);
      if (!before) {
        if (!this.telling) { this.telling = true; requestAnimationFrame(() => { this.telling = false; tell(event); }); }
        return;
      }
      const [dx, dy] = [event.clientX - before[0], event.clientY - before[1]];
      moved += Math.hypot(dx, dy);
      if (down.size === 2) {
        const other = [...down].find(([id]) => id !== event.pointerId)[1];
        const apart = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]) || 1;
        this.zoomBy(apart([event.clientX, event.clientY]) / apart(before));
        this.panBy(dx / 2, dy / 2);
      } else if (event.shiftKey || event.buttons === 2 || event.buttons === 4) this.panBy(dx, dy);
      else this.turnBy(dx * 0.008, dy * 0.008);
      down.set(event.pointerId, [event.clientX, event.clientY]);
    });
    const up = (event) => {
      if (down.delete(event.pointerId) && moved < 5) tell(event);
      if (down.size === 0) canvas.classList.remove('turning');
    };
    canvas.addEventListener('pointerup', up);
    canvas.addEventListener('pointercancel', up);
    canvas.addEventListener('contextmenu', (event) => event.preventDefault());
    // The page scrolls on unless the picture was chosen: a wheel must not be caught on its way down.
    canvas.addEventListener('wheel', (event) => {
      if (document.activeElement !== canvas && !event.ctrlKey) return;
      event.preventDefault();
      this.zoomBy(Math.exp(-event.deltaY * 0.0015));
    }, { passive: false });
    canvas.addEventListener('keydown', (event) => this.#key(event));
    new ResizeObserver(() => this.draw()).observe(this.host);
  }

  #key(event) {
    const { clientWidth: w, clientHeight: h } = this.host;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const name = LOOK_NAMES[Number(event.key) - 1];
    if (way && event.shiftKey) this.panBy(way[0] * 20, way[1] * 20);
    else if (way) this.turnBy(way[0] * 0.12, way[1] * 0.12);
    else if (event.key === '+' || event.key === '=') this.zoomBy(1.2);
    else if (event.key === '-') this.zoomBy(1 / 1.2);
    else if (event.key === 'Enter' || event.key === ' ') this.onPoint(this.roomAt(w / 2, h / 2));
    else if (name) this.look(name);
    else return;
    event.preventDefault();
  }
}
