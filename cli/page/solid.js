// A scan to be turned by hand, drawn by the browser's own WebGL, as a shop drawing is: without perspective, so that a
// length is as long wherever it stands. A click becomes a straight line through the scan; where that meets it is found
// by the server on the scan itself.
const SEEN = `#version 300 es
in vec3 at; in float piece; uniform mat4 view; uniform float lowest; out vec3 place;
void main() { place = (view * vec4(at, 1.0)).xyz; gl_Position = vec4(place, 1.0); gl_PointSize = 2.0; }`;
const SHADE = `#version 300 es
precision highp float; in vec3 place; out vec4 colour; uniform vec3 ink; uniform vec3 paper; uniform vec2 shape;
void main() {
  vec3 lean = normalize(cross(dFdx(place * vec3(shape, -1.0)), dFdy(place * vec3(shape, -1.0))));
  // two lights, and what is further away is darker: a wall behind a wall is told from it
  float light = (0.15 + 0.5 * abs(lean.z) + 0.35 * abs(dot(lean, vec3(0.48, 0.6, 0.64)))) * (0.82 - 0.9 * place.z);
  light = clamp(light, 0.0, 1.0);
  colour = vec4(mix(ink, paper, isnan(light) ? 0.6 : light), 1.0);
}`;

export function solid(canvas, over, picked) {
  const gl = canvas.getContext("webgl2", { antialias: true });
  if (!gl) return null;
  const program = built(gl);
  const at = (name) => gl.getUniformLocation(program, name);
  const look = { turn: [1, 0, 0, 0, 1, 0, 0, 0, 1], zoom: 1, shift: [0, 0] };
  let mesh = null, middle = [0, 0, 0], reach = 1, marks = [], rings = [], due = false, gone = new Set();

  function built(gl) {
    const whole = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, SEEN], [gl.FRAGMENT_SHADER, SHADE]]) {
      const one = gl.createShader(kind);
      gl.shaderSource(one, text); gl.compileShader(one); gl.attachShader(whole, one);
    }
    gl.bindAttribLocation(whole, 0, "at");
    gl.linkProgram(whole);
    return whole;
  }

  // ---- what is drawn

  function bring(buffer, facts) {
    const [v, t, l, p] = new Uint32Array(buffer, 0, 4);
    let from = 16;
    const take = (kind, count) => { const found = new kind(buffer, from, count); from += 4 * count; return found; };
    const spots = take(Float32Array, 3 * v), faces = take(Uint32Array, 3 * t), lines = take(Uint32Array, 2 * l);
    const points = take(Uint32Array, p), piece = take(Uint32Array, v);
    middle = facts.middle;
    reach = Math.hypot(...facts.size) / 2 || 1;
    const own = gl.createBuffer(), order = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, own); gl.bufferData(gl.ARRAY_BUFFER, spots, gl.STATIC_DRAW);
    if (mesh) { gl.deleteBuffer(mesh.own); gl.deleteBuffer(mesh.order); }
    mesh = { own, order, faces, lines, points, piece, counts: [0, 0, 0] };
    gone = null;
    leave([]);
    fit();
  }

  // pieces that do not count are not drawn
  function leave(some) {
    if (!mesh || (gone && gone.size === some.length && some.every((one) => gone.has(one)))) return;
    gone = new Set(some);
    const kept = (table, n) => {
      if (!gone.size) return table;
      const found = [];
      for (let k = 0; k < table.length; k += n) if (!gone.has(mesh.piece[table[k]])) for (let j = 0; j < n; j++) found.push(table[k + j]);
      return Uint32Array.from(found);
    };
    const [a, b, c] = [kept(mesh.faces, 3), kept(mesh.lines, 2), kept(mesh.points, 1)];
    const all = new Uint32Array(a.length + b.length + c.length);
    all.set(a); all.set(b, a.length); all.set(c, a.length + b.length);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, mesh.order); gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, all, gl.STATIC_DRAW);
    mesh.counts = [a.length, b.length, c.length];
    paint();
  }

  const half = () => { const s = 1.15 * reach / look.zoom, w = canvas.clientWidth || 1, h = canvas.clientHeight || 1; return w > h ? [s * w / h, s] : [s, s * h / w]; };
  const colour = (name) => { const found = getComputedStyle(canvas).getPropertyValue(name).trim(); return [1, 3, 5].map((k) => parseInt(found.slice(k, k + 2), 16) / 255); };

  function paint() { if (!due) { due = true; requestAnimationFrame(draw); } }

  function draw() {
    due = false;
    const sharp = Math.min(2, window.devicePixelRatio || 1), w = Math.round(canvas.clientWidth * sharp), h = Math.round(canvas.clientHeight * sharp);
    if (!w || !h) return;
    if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
    gl.viewport(0, 0, w, h);
    const paper = colour("--sheet"), ink = colour("--solid");
    gl.clearColor(...paper, 1); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT); gl.enable(gl.DEPTH_TEST);
    if (mesh) {
      const [x, y] = half(), r = look.turn, deep = 4 * reach;
      gl.useProgram(program);
      gl.uniformMatrix4fv(at("view"), false, [r[0] / x, r[3] / y, -r[6] / deep, 0, r[1] / x, r[4] / y, -r[7] / deep, 0, r[2] / x, r[5] / y, -r[8] / deep, 0, -look.shift[0] / x, -look.shift[1] / y, 0, 1]);
      gl.uniform3fv(at("ink"), ink); gl.uniform3fv(at("paper"), colour("--solid-light")); gl.uniform2f(at("shape"), x / deep, y / deep);
      gl.bindBuffer(gl.ARRAY_BUFFER, mesh.own); gl.enableVertexAttribArray(0); gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, mesh.order);
      const [a, b, c] = mesh.counts;
      if (a) gl.drawElements(gl.TRIANGLES, a, gl.UNSIGNED_INT, 0);
      if (b) gl.drawElements(gl.LINES, b, gl.UNSIGNED_INT, 4 * a);
      if (c) gl.drawElements(gl.POINTS, c, gl.UNSIGNED_INT, 4 * (a + b));
    }
    write();
    canvas.dataset.drawn = String(1 + Number(canvas.dataset.drawn || 0));
  }

  // ---- marks and rings over it

  function onto(point) {
    const d = point.map((value, k) => value - middle[k]), r = look.turn, [x, y] = half();
    const across = r[0] * d[0] + r[1] * d[1] + r[2] * d[2] - look.shift[0], up = r[3] * d[0] + r[4] * d[1] + r[5] * d[2] - look.shift[1];
    return [(across / x + 1) / 2 * canvas.clientWidth, (1 - up / y) / 2 * canvas.clientHeight];
  }

  function svg(tag, options, text = "") {
    const found = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(options)) found.setAttribute(name, value);
    found.textContent = text;
    return found;
  }

  function write() {
    const shown = [];
    for (const ring of rings) shown.push(svg("polyline", { points: ring.map((p) => onto(p).map((v) => v.toFixed(1)).join(",")).join(" "), class: "ring-line" }));
    for (const mark of marks) {
      const [x, y] = onto(mark.at);
      shown.push(svg("circle", { cx: x, cy: y, r: 9, class: `mark ${mark.group}` }), svg("text", { x, y: y + 4, "text-anchor": "middle", class: "mark-name" }, mark.name));
    }
    const [cx, cy] = [34, canvas.clientHeight - 34];
    "xyz".split("").forEach((name, k) => {
      const r = look.turn, tip = [cx + 26 * r[k], cy - 26 * r[3 + k]];
      shown.push(svg("line", { x1: cx, y1: cy, x2: tip[0], y2: tip[1], class: "axis" }), svg("text", { x: tip[0] + 3, y: tip[1] - 2, class: "axis-name" }, `+${name}`));
    });
    if (document.activeElement === canvas) {
      const [mx, my] = [canvas.clientWidth / 2, canvas.clientHeight / 2];
      shown.push(svg("path", { d: `M${mx - 14} ${my}h28M${mx} ${my - 14}v28`, class: "cross" }));
    }
    over.replaceChildren(...shown);
  }

  // ---- turned, moved, clicked

  function times(a, b) { const c = []; for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) c.push(a[3 * i] * b[j] + a[3 * i + 1] * b[3 + j] + a[3 * i + 2] * b[6 + j]); return c; }
  function turn(dx, dy) {
    const [ca, sa, cb, sb] = [Math.cos(dx), Math.sin(dx), Math.cos(dy), Math.sin(dy)];
    look.turn = times(times([1, 0, 0, 0, cb, -sb, 0, sb, cb], [ca, 0, sa, 0, 1, 0, -sa, 0, ca]), look.turn);
    paint();
  }
  function move(dx, dy) { const [x, y] = half(); look.shift[0] -= 2 * x * dx / canvas.clientWidth; look.shift[1] += 2 * y * dy / canvas.clientHeight; paint(); }
  function nearer(by, x = canvas.clientWidth / 2, y = canvas.clientHeight / 2) {
    const before = half();
    look.zoom = Math.min(60, Math.max(0.2, look.zoom * by));
    const after = half(), u = 2 * x / canvas.clientWidth - 1, v = 1 - 2 * y / canvas.clientHeight;
    look.shift[0] += u * (before[0] - after[0]); look.shift[1] += v * (before[1] - after[1]);
    paint();
  }
  function fit() { look.zoom = 1; look.shift = [0, 0]; paint(); }
  // everything in sight: the scan and the rings beside it
  function hold() {
    look.zoom = 1; look.shift = [0, 0];
    const [x, y] = half(), r = look.turn, low = [-reach, -reach], high = [reach, reach];
    for (const p of rings.flat()) for (const k of [0, 1]) {
      const at = [0, 1, 2].reduce((sum, j) => sum + r[3 * k + j] * (p[j] - middle[j]), 0);
      low[k] = Math.min(low[k], at); high[k] = Math.max(high[k], at);
    }
    look.shift = [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2];
    look.zoom = Math.min(1, 2 * x / (high[0] - low[0]) * 0.95, 2 * y / (high[1] - low[1]) * 0.95);
  }
  function from(name) {
    const s = name[0] === "-" ? -1 : 1, k = "xyz".indexOf(name[1]);
    const back = [0, 0, 0], up = [0, 0, 0];
    back[k] = s; up[k === 1 ? 2 : 1] = k === 1 ? -s : 1;
    const right = [up[1] * back[2] - up[2] * back[1], up[2] * back[0] - up[0] * back[2], up[0] * back[1] - up[1] * back[0]];
    look.turn = [...right, ...up, ...back];
    fit();
  }
  function line(x, y) {
    const [a, b] = half(), r = look.turn, u = (2 * x / canvas.clientWidth - 1) * a + look.shift[0], v = (1 - 2 * y / canvas.clientHeight) * b + look.shift[1];
    const far = 4 * reach, start = [0, 1, 2].map((k) => middle[k] + r[k] * u + r[3 + k] * v + r[6 + k] * far);
    return { start, way: [-r[6], -r[7], -r[8]] };
  }

  const fingers = new Map();
  let moved = 0;
  canvas.addEventListener("pointerdown", (event) => { canvas.setPointerCapture(event.pointerId); fingers.set(event.pointerId, [event.offsetX, event.offsetY]); if (fingers.size === 1) moved = 0; else moved = 99; });
  canvas.addEventListener("pointermove", (event) => {
    const was = fingers.get(event.pointerId);
    if (!was) return;
    const now = [event.offsetX, event.offsetY], dx = now[0] - was[0], dy = now[1] - was[1];
    moved += Math.hypot(dx, dy);
    if (fingers.size === 2) {
      const other = [...fingers].find(([id]) => id !== event.pointerId)[1];
      const [before, after] = [was, now].map((p) => Math.hypot(p[0] - other[0], p[1] - other[1]));
      if (before > 8) nearer(after / before, (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
      move(dx / 2, dy / 2);
    } else if (moved > 5) (event.shiftKey || event.buttons === 4 ? move(dx, dy) : turn(dx * 0.008, dy * 0.008));
    fingers.set(event.pointerId, now);
  });
  const up = (event) => {
    const there = fingers.delete(event.pointerId);
    if (there && event.type === "pointerup" && moved <= 5 && !fingers.size) picked(line(event.offsetX, event.offsetY));
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("wheel", (event) => { event.preventDefault(); nearer(Math.exp(-event.deltaY * 0.0015), event.offsetX, event.offsetY); }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (step) (event.shiftKey ? move(-12 * step[0], -12 * step[1]) : turn(0.08 * step[0], 0.08 * step[1]));
    else if (event.key === "+" || event.key === "=") nearer(1.2);
    else if (event.key === "-") nearer(1 / 1.2);
    else if (event.key === "Enter" || event.key === " ") picked(line(canvas.clientWidth / 2, canvas.clientHeight / 2));
    else return;
    event.preventDefault();
  });
  canvas.addEventListener("focus", paint);
  canvas.addEventListener("blur", paint);
  new ResizeObserver(paint).observe(canvas);
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", paint);
  return { bring, leave, from, nearer, fit, mark: (some) => { marks = some; paint(); }, ring: (some, fits) => { rings = some; if (fits) hold(); paint(); }, onto };
}
