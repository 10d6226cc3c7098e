// A corner in three dimensions: shapes that are given once, carried by the poses that are given for each position.
// Axes are the corner's: ahead, outboard, up, in millimetres. Nothing is measured here.

const VERTEX = `
attribute vec3 place; attribute vec3 normal; attribute float share; attribute float rubber;
uniform mat4 seen; uniform mat3 turn; uniform vec3 origin, far; uniform float mirror;
varying vec3 facing; varying float isRubber;
void main() {
  vec3 here = origin + turn * (place + share * far);
  vec3 out_ = turn * normal;
  facing = vec3(out_.x, mirror * out_.y, out_.z);
  isRubber = rubber;
  gl_Position = seen * vec4(here.x, mirror * here.y, here.z, 1.0);
}`;
const FRAGMENT = `
precision mediump float;
varying vec3 facing; varying float isRubber;
uniform vec4 colour, second; uniform vec3 light; uniform float plain;
void main() {
  vec4 own = mix(colour, second, isRubber);
  if (plain > 0.5) { gl_FragColor = own; return; }
  float lit = 0.62 + 0.38 * abs(dot(normalize(facing), light));
  gl_FragColor = vec4(own.rgb * lit, own.a);
}`;
const STILL = [0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0, 1];
export const EYES = { outside: [90, 12], behind: [178, 8], above: [150, 80], inside: [-70, 20], first: [118, 22] };

function program(gl) {
  const made = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  return gl.getProgramParameter(made, gl.LINK_STATUS) ? made : null;
}

// nine numbers a triangle become three corners, each with the triangle's own normal: sheets look like sheets
function sheet(tenths) {
  const places = new Float32Array(tenths.length), normals = new Float32Array(tenths.length);
  for (let k = 0; k < tenths.length; k++) places[k] = tenths[k] / 10;
  for (let k = 0; k < places.length; k += 9) {
    const [ux, uy, uz] = [places[k + 3] - places[k], places[k + 4] - places[k + 1], places[k + 5] - places[k + 2]];
    const [vx, vy, vz] = [places[k + 6] - places[k], places[k + 7] - places[k + 1], places[k + 8] - places[k + 2]];
    const n = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx], long = Math.hypot(...n) || 1;
    for (let c = 0; c < 9; c++) normals[k + c] = n[c % 3] / long;
  }
  return { places, normals };
}

// the outline of tire and wheel, turned round the axis: each of its pieces is a band of two rings, whose corners two
// triangles share
function turned(whole, rubberFrom, round) {
  const around = Array.from({ length: round + 1 }, (_, k) => [Math.cos((2 * Math.PI * k) / round), Math.sin((2 * Math.PI * k) / round)]);
  const band = 2 * (round + 1), each = Math.ceil((whole.length * band) / 65536), outline = whole.filter((_, n) => n % each === 0), bands = outline.length;
  const places = new Float32Array(3 * band * bands), normals = new Float32Array(3 * band * bands), rubber = new Float32Array(band * bands);
  const order = new Uint16Array(6 * round * bands);
  let at = 0, next = 0;
  for (let n = 0; n < bands; n++) {
    const [y, r] = outline[n], [y2, r2] = outline[(n + 1) % bands], long = Math.hypot(y2 - y, r2 - r) || 1;
    const across = (r2 - r) / long, away = (y - y2) / long, isRubber = Math.min(r, r2) >= rubberFrom ? 1 : 0, first = at / 3;
    for (const [c, s] of around) {
      for (let end = 0; end < 2; end++) {
        const [yy, rr] = end ? [y2, r2] : [y, r];
        rubber[at / 3] = isRubber;
        places[at] = rr * c; normals[at++] = away * c;
        places[at] = yy; normals[at++] = across;
        places[at] = rr * s; normals[at++] = away * s;
      }
    }
    for (let k = first; k < first + 2 * round; k += 2) {
      order[next++] = k; order[next++] = k + 1; order[next++] = k + 3;
      order[next++] = k; order[next++] = k + 3; order[next++] = k + 2;
    }
  }
  return { places, normals, rubber, order };
}

function multiplied(a, b) {
  const out = new Float32Array(16);
  for (let c = 0; c < 4; c++) for (let r = 0; r < 4; r++) for (let k = 0; k < 4; k++) out[4 * c + r] += a[4 * k + r] * b[4 * c + k];
  return out;
}

// Does the browser draw without a graphics card? It is asked on a canvas that nobody sees.
function byProcessor() {
  const gl = document.createElement("canvas").getContext("webgl");
  if (!gl) return true;
  const names = gl.getExtension("WEBGL_debug_renderer_info"), lose = gl.getExtension("WEBGL_lose_context");
  const by = String(gl.getParameter(names ? names.UNMASKED_RENDERER_WEBGL : gl.RENDERER));
  if (lose) lose.loseContext();
  return /swiftshader|llvmpipe|softpipe|software|basic render/i.test(by);
}

// A scene on a canvas; null where the browser draws none.
export function sceneOn(canvas, changed) {
  // edges are smoothed where a graphics card does it; by the processor alone that costs a drag most of its time
  const plain = byProcessor(), round = plain ? 60 : 96;
  const gl = canvas.getContext("webgl", { antialias: !plain, alpha: true, preserveDrawingBuffer: false });
  if (!gl) return null;
  let made = null, at = {}, parts = new Map(), wheel = null, kept = null, stands = null, chosen = "", eye = [...EYES.first], near = 1, waiting = false;
  let middle = [0, 0, 0], reach = 400, mirror = 1, last = null, verdicts = {};

  function begun() {
    made = program(gl);
    if (!made) return;
    at = {};
    for (const name of ["place", "normal", "share", "rubber"]) at[name] = gl.getAttribLocation(made, name);
    for (const name of ["seen", "turn", "origin", "far", "mirror", "colour", "second", "light", "plain"]) at[name] = gl.getUniformLocation(made, name);
    if (kept) { const all = kept; kept = null; parts = new Map(); wheel = null; shapes(all); }
  }

  function buffer(values) {
    const one = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, one);
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    return one;
  }
  function body({ places, normals, rubber, share, order }) {
    const inOrder = order && gl.createBuffer();
    if (order) { gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, inOrder); gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, order, gl.STATIC_DRAW); }
    return { count: order ? order.length : places.length / 3, place: buffer(places), normal: buffer(normals), rubber: rubber && buffer(rubber), share: share && buffer(share), inOrder };
  }
  function gone(one) {
    for (const name of ["place", "normal", "rubber", "share", "inOrder"]) if (one && one[name]) gl.deleteBuffer(one[name]);
  }

  // what is drawn: the wheel always, of the parts those that are new; names say which are there at all
  function shapes(news) {
    const before = kept ? new Map(kept.parts.map((part) => [part.name, part])) : new Map();
    for (const part of news.parts) before.set(part.name, part);
    kept = { ...news, parts: news.names.map((name) => before.get(name)).filter(Boolean) };
    if (!made) return;
    // of a right corner outboard runs the other way on the screen, and the eye goes to the other side with it
    if (mirror !== (news.mirrored ? -1 : 1)) { mirror = -mirror; eye[0] = -eye[0]; }
    reach = news.reach;
    const drawnOf = JSON.stringify([news.outline, news.rubber]);
    if (!wheel || wheel.of !== drawnOf) {
      gone(wheel);
      wheel = { ...body(turned(news.outline, news.rubber, round)), of: drawnOf };
    }
    for (const part of news.parts) {
      gone(parts.get(part.name));
      parts.set(part.name, { ...body({ ...sheet(part.triangles), share: part.share && new Float32Array(part.share) }), frame: part.frame });
    }
    for (const name of [...parts.keys()]) if (!news.names.includes(name)) { gone(parts.get(name)); parts.delete(name); }
    draw();
  }

  // ---- where the eye is

  function camera() {
    const [round, up] = eye.map((angle) => (angle * Math.PI) / 180);
    const wide = canvas.width, tall = canvas.height, far = (3.1 * reach * near) / Math.min(1, (wide / tall) * 0.95);
    const back = [Math.cos(up) * Math.cos(round), Math.cos(up) * Math.sin(round), Math.sin(up)];
    const right = [-Math.sin(round), Math.cos(round), 0];
    const top = [back[1] * right[2] - back[2] * right[1], back[2] * right[0] - back[0] * right[2], back[0] * right[1] - back[1] * right[0]];
    const from = middle.map((m, k) => m * (k === 1 ? mirror : 1) + far * back[k]);
    const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    const view = new Float32Array([right[0], top[0], back[0], 0, right[1], top[1], back[1], 0, right[2], top[2], back[2], 0, -dot(right, from), -dot(top, from), -dot(back, from), 1]);
    const [low, high, f] = [far * 0.05, far * 4, 1 / Math.tan(0.36)];
    const flat = new Float32Array([(f * tall) / wide, 0, 0, 0, 0, f, 0, 0, 0, 0, (high + low) / (low - high), -1, 0, 0, (2 * high * low) / (low - high), 0]);
    return { seen: multiplied(flat, view), light: [0.35 * right[0] + 0.5 * top[0] + 0.79 * back[0], 0.35 * right[1] + 0.5 * top[1] + 0.79 * back[1], 0.35 * right[2] + 0.5 * top[2] + 0.79 * back[2]] };
  }

  // a place of the corner on the canvas, in its own css pixels
  function onScreen([x, y, z]) {
    if (!last) return null;
    const m = last.seen, put = (r) => m[r] * x + m[4 + r] * mirror * y + m[8 + r] * z + m[12 + r], w = put(3);
    return [((put(0) / w + 1) / 2) * canvas.clientWidth, ((1 - put(1) / w) / 2) * canvas.clientHeight];
  }

  // ---- drawing

  let colours = new Map();
  const hex = (name) => {
    if (!colours.has(name)) {
      const text = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
      colours.set(name, [1, 3, 5].map((k) => parseInt(text.slice(k, k + 2), 16) / 255));
    }
    return colours.get(name);
  };
  function attribute(name, one, size) {
    if (at[name] < 0) return;
    if (!one) { gl.disableVertexAttribArray(at[name]); gl.vertexAttrib1f(at[name], 0); return; }
    gl.bindBuffer(gl.ARRAY_BUFFER, one);
    gl.enableVertexAttribArray(at[name]);
    gl.vertexAttribPointer(at[name], size, gl.FLOAT, false, 0, 0);
  }
  function one(shape, pose, far, colour, second = colour) {
    attribute("place", shape.place, 3); attribute("normal", shape.normal, 3); attribute("rubber", shape.rubber, 1); attribute("share", shape.share, 1);
    const [ox, oy, oz, a, b, c, d, e, f, g, h, i] = pose;
    gl.uniform3f(at.origin, ox, oy, oz);
    gl.uniformMatrix3fv(at.turn, false, [a, d, g, b, e, h, c, f, i]);
    gl.uniform3f(at.far, ...far);
    gl.uniform4f(at.colour, ...colour);
    gl.uniform4f(at.second, ...second);
    if (!shape.inOrder) { gl.drawArrays(gl.TRIANGLES, 0, shape.count); return; }
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, shape.inOrder);
    gl.drawElements(gl.TRIANGLES, shape.count, gl.UNSIGNED_SHORT, 0);
  }
  const poseOf = (frame) => (stands && stands.poses[frame]) || STILL;
  const farOf = (name) => (stands && stands.far[name]) || [0, 0, 0];
  function ready() {
    gl.useProgram(made);
    gl.uniformMatrix4fv(at.seen, false, last.seen);
    gl.uniform3f(at.light, ...last.light);
    gl.uniform1f(at.mirror, mirror);
    gl.enable(gl.DEPTH_TEST);
  }
  function paint() {
    waiting = false;
    if (!made || !wheel || !canvas.clientWidth) return;
    const dense = Math.min(2, window.devicePixelRatio || 1);
    const [wide, tall] = [Math.round(canvas.clientWidth * dense), Math.round(canvas.clientHeight * dense)];
    if (canvas.width !== wide || canvas.height !== tall) { canvas.width = wide; canvas.height = tall; }
    last = camera();
    gl.viewport(0, 0, wide, tall);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    ready();
    gl.uniform1f(at.plain, 0);
    gl.disable(gl.BLEND);
    one(wheel, poseOf("hub"), [0, 0, 0], [...hex("--rim"), 1], [...hex("--rubber"), 1]);
    gl.enable(gl.BLEND);
    gl.blendFuncSeparate(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA, gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    const held = parts.get(chosen);
    if (held) one(held, poseOf(held.frame), farOf(chosen), [...hex("--chosen"), 0.8]);
    gl.depthMask(false);
    for (const [name, shape] of parts) if (name !== chosen) one(shape, poseOf(shape.frame), farOf(name), [...hex("--part-" + (verdicts[name] || "clears")), 0.42]);
    gl.depthMask(true);
    changed();
  }
  function draw() {
    if (!waiting) { waiting = true; requestAnimationFrame(paint); }
  }

  // which part is under a place of the canvas, by drawing each in a colour of its own where nobody sees it
  function under(x, y) {
    if (!made || !last) return "";
    const [wide, tall] = [canvas.width, canvas.height];
    const [frame, picture, depth] = [gl.createFramebuffer(), gl.createTexture(), gl.createRenderbuffer()];
    gl.bindTexture(gl.TEXTURE_2D, picture);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, wide, tall, 0, gl.RGBA, gl.UNSIGNED_BYTE, null);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
    gl.bindRenderbuffer(gl.RENDERBUFFER, depth);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT16, wide, tall);
    gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, picture, 0);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, depth);
    gl.viewport(0, 0, wide, tall);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    ready();
    gl.disable(gl.BLEND);
    gl.uniform1f(at.plain, 1);
    const names = [...parts.keys()];
    names.forEach((name, k) => one(parts.get(name), poseOf(parts.get(name).frame), farOf(name), [((k + 1) & 255) / 255, ((k + 1) >> 8) / 255, 0, 1]));
    one(wheel, poseOf("hub"), [0, 0, 0], [0, 0, 1, 1]);
    const found = new Uint8Array(4), dense = wide / canvas.clientWidth;
    gl.readPixels(Math.round(x * dense), tall - 1 - Math.round(y * dense), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, found);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.deleteFramebuffer(frame); gl.deleteTexture(picture); gl.deleteRenderbuffer(depth);
    draw();
    return names[found[0] + 256 * found[1] - 1] || "";
  }

  canvas.addEventListener("webglcontextlost", (event) => { event.preventDefault(); made = null; });
  canvas.addEventListener("webglcontextrestored", () => { begun(); draw(); });
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { colours = new Map(); draw(); });
  new ResizeObserver(draw).observe(canvas);
  begun();
  return made && {
    shapes, draw, under, onScreen,
    stand(news) { stands = news; draw(); },
    choose(name) { chosen = name; draw(); },
    colour(by) { verdicts = by; draw(); },
    turn(round, up) { eye = [eye[0] + round, Math.max(-85, Math.min(85, eye[1] + up))]; draw(); },
    nearer(by) { near = Math.max(0.25, Math.min(2.5, near * by)); draw(); },
    from(name) { const [round, up] = EYES[name]; eye = [mirror < 0 ? -round : round, up]; near = 1; draw(); },
  };
}
