// Move it: the corner in the position that is asked, drawn in the scene and cut open in the section, its nearest points
// in both. Positions, gaps and poses come from the bench; this draws them and says which are wanted.
import { sceneOn } from "/own/scene.js";

const byId = (id) => document.getElementById(id);
const root = document.documentElement;
const AXES = ["bump", "other", "steer"];
const UNIT = { bump: "mm", other: "mm", steer: "deg" };
let bench = null, scene = null, sums = {}, ends = null, on = "", stands = null, chosen = "", byHand = false, sent = false, next = null, playing = 0, worst = [];

export const move = {
  // the part that somebody pointed at; "" is whichever is tightest
  part: () => chosen,
  begin(aBench) {
    bench = aBench;
    const canvas = byId("seen");
    scene = sceneOn(canvas, marked);
    byId("flat").hidden = Boolean(scene);
    byId("view").hidden = !scene;
    root.dataset.scene = scene ? "drawn" : "none";
    if (scene) turning(canvas);
    for (const axis of AXES) byId("move-" + axis).oninput = () => { stop(); byHand = true; ask(); };
    byId("to-worst").onclick = () => { stop(); byHand = false; chosen = ""; seek(); };
    byId("to-part").onclick = () => { stop(); byHand = false; seek(); };
    byId("to-rest").onclick = () => { stop(); byHand = true; setTo({ bump: 0, other: 0, steer: 0 }); ask(); };
    byId("play").onclick = () => (playing ? stop() : play());
    for (const button of document.querySelectorAll("[data-eye]")) button.onclick = () => scene && scene.from(button.dataset.eye);
    document.addEventListener("click", (event) => {
      const held = event.target.closest("[data-part]");
      if (held && byId("choose").contains(held)) choose(held.dataset.part);
    });
  },
  heard(news) {
    if (news.say === "stood") stood(news);
    if (news.on && news.on !== on) return;
    if (news.say === "look") looked(news);
    if (news.say === "stands") { sent = false; stood_at(news); hand(); }
    if (news.say === "around") around(news);
    if (news.say === "refused") sent = false;
  },
};

// ---- what is drawn

async function stood(news) {
  sent = false;
  if (news.on !== on) { on = news.on; chosen = ""; byHand = false; stop(); stands = null; sums = {}; }
  await fetchShapes();
}

async function fetchShapes() {
  const found = await bench.question("shapes", sums);
  if (found.refused || found.on !== on) return;
  ends = found.ends;
  for (const axis of AXES) {
    const [low, high] = ends[axis], range = byId("move-" + axis);
    byId("row-" + axis).hidden = high - low < 1e-6;
    range.min = low; range.max = high;
    if (stands) range.value = stands.at[axis];
  }
  told();
  taken(found);
}
function taken(found) {
  for (const part of found.parts) sums[part.name] = part.sum;
  for (const name of Object.keys(sums)) if (!found.names.includes(name)) delete sums[name];
  if (scene) scene.shapes(found);
}

function looked(news) {
  worst = news.parts;
  if (scene) scene.colour(Object.fromEntries(news.parts.map((part) => [part.part, part.verdict])));
  if (news.shapes && ends) taken(news.shapes);
  if (!news.exact) {
    // the pose stays where a hand has put it, but what comes closest there is not known while a dial is dragged
    if (byHand) { stands = stands && { ...stands, contact: null }; told(); }
    else stood_at(news.stands);
    return;
  }
  const drawn = news.drawn[0];
  if (byHand) ask();
  else if (chosen && news.parts.some((part) => part.part === chosen)) seek();
  else stood_at({ ...news.stands, contact: news.stands.contact && { ...news.stands.contact, svg: drawn ? drawn.svg : "" } });
}

function stood_at(news) {
  stands = news;
  if (!playing || !byHand) setTo(news.at);
  if (scene) { scene.stand(news); scene.choose(news.contact ? news.contact.part : chosen); }
  told();
  root.dataset.stands = String(1 + Number(root.dataset.stands || 0));
  root.dataset.known = news.known;
}

const KNOWN = { worst: "at its tightest", soon: "at its tightest, last digit to come", here: "here", meanwhile: "while you turn it" };
function told() {
  const contact = stands && stands.contact;
  byId("stands").textContent = !stands ? "" : (contact ? `${contact.part}: ${contact.gap} ${KNOWN[stands.known]}, ` : "") + stands.words;
  for (const axis of AXES) byId("move-" + axis).setAttribute("aria-valuetext", written(axis));
  const name = contact ? contact.part : chosen;
  byId("to-part").textContent = name ? `Worst of ${name}` : "Worst of a part";
  byId("to-part").disabled = !name;
  if (stands && stands.known !== "here") byId("around").replaceChildren();
  section(contact);
  lit(name);
  // the mark over the scene follows with its next picture
  if (scene) scene.draw();
}

// the first section is of what is asked: the part that was pointed at, or the place where the wheel was moved to
function section(contact) {
  const figure = document.querySelector("#drawn .first");
  if (!figure) return;
  figure.classList.toggle("asked", Boolean(contact) && stands.known === "here");
  if (!contact || !contact.svg) return;
  figure.dataset.part = contact.part;
  figure.querySelector(".cut").innerHTML = contact.svg;
  const caption = figure.querySelector("figcaption"), name = document.createElement("button");
  Object.assign(name, { type: "button", className: "name", textContent: contact.part });
  const gap = ` ${contact.gap} ${KNOWN[stands.known]}, ${stands.words}`;
  const chip = caption.querySelector(".chip");
  const row = worst.find((part) => part.part === contact.part);
  caption.replaceChildren(...(stands.known === "worst" && chip && row && row.part === contact.part && contact.verdict ? [chipOf(contact.verdict)] : []), name, gap);
}
const SIGNS = { hits: "✕", tight: "▲", clears: "✓", undecided: "?" };
function chipOf(verdict) {
  const chip = document.createElement("span"), sign = document.createElement("span");
  chip.className = "chip " + verdict;
  sign.className = "sign";
  sign.textContent = SIGNS[verdict];
  chip.append(sign, " " + verdict);
  return chip;
}

// one part is lit wherever it stands
function lit(name) {
  for (const one of document.querySelectorAll("#choose [data-part]")) one.classList.toggle("chosen", one.dataset.part === name);
}

function choose(name) {
  if (!name) return;
  stop();
  chosen = name;
  if (byHand) ask();
  else seek();
}

// ---- what is asked: one place is on its way at a time, the newest follows

function seek() { next = { do: "worst", on, part: chosen }; if (!sent) hand(); }
function ask(where) {
  const at = where || Object.fromEntries(AXES.map((axis) => [axis, byId("move-" + axis).valueAsNumber]));
  next = { do: "place", on, part: chosen || (stands && stands.contact && stands.contact.part) || (worst[0] ? worst[0].part : ""), ...at };
  if (!sent) hand();
}
function hand() {
  if (!next) { if (playing && byHand) playing = requestAnimationFrame(step); return; }
  sent = true;
  bench.ask(next);
  next = null;
}

function setTo(at) {
  for (const axis of AXES) if (document.activeElement !== byId("move-" + axis) || !byHand) byId("move-" + axis).value = at[axis];
}
function written(axis) {
  const value = byId("move-" + axis).valueAsNumber;
  const way = axis === "steer" ? (value > 0 ? " left" : value < 0 ? " right" : "") : (value > 0 ? " bump" : value < 0 ? " droop" : "");
  const words = `${Math.abs(value).toFixed(axis === "steer" ? 1 : 0)} ${UNIT[axis]}${way}`;
  byId("at-" + axis).textContent = words;
  return words;
}

function around(news) {
  if (!byHand || !stands || stands.words !== news.words) return;
  byId("around").replaceChildren(...news.parts.map((one) => {
    const line = document.createElement("li"), name = document.createElement("button");
    Object.assign(name, { type: "button", className: "name", textContent: one.part });
    line.dataset.part = one.part;
    line.append(name, ` ${one.gap}`);
    return line;
  }));
  lit(stands.contact ? stands.contact.part : chosen);
  root.dataset.around = news.words;
}

// ---- playing the cycle: a road that bumps, leans and turns; every place of it is asked like one by hand

let tick = 0;
function play() {
  byHand = true;
  tick = 0;
  byId("play").textContent = "Stop";
  byId("play").setAttribute("aria-pressed", "true");
  playing = requestAnimationFrame(step);
}
function stop() {
  if (!playing) return;
  cancelAnimationFrame(playing);
  playing = 0;
  next = null;
  byId("play").textContent = "Play the cycle";
  byId("play").setAttribute("aria-pressed", "false");
}
function step() {
  if (!playing || !ends) return;
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  tick += 1;
  const turn = (tick * 2 * Math.PI) / (calm ? 12 : 180);
  const swing = { bump: Math.sin(turn), other: -Math.sin(turn), steer: Math.sin(turn * 0.29) };
  const at = Object.fromEntries(AXES.map((axis) => { const [low, high] = ends[axis]; return [axis, swing[axis] > 0 ? swing[axis] * Math.max(0, high) : -swing[axis] * Math.min(0, low)]; }));
  for (const axis of AXES) byId("move-" + axis).value = at[axis];
  if (calm) playing = setTimeout(() => ask(at), 900); else ask(at);
}

// ---- the mark over the scene: the gap as a dimension between its two points

function marked() {
  const over = byId("over");
  if (!scene || !stands || !stands.contact) { over.replaceChildren(); return; }
  const { on_part, on_tire, gap } = stands.contact;
  const two = [scene.onScreen(on_tire), scene.onScreen(on_part)];
  if (!two[0] || !two[1]) return;
  const made = (tag, table, text = "") => {
    const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(table)) element.setAttribute(name, value);
    element.textContent = text;
    return element;
  };
  const [[x1, y1], [x2, y2]] = two, wide = over.clientWidth, ring = Math.max(9, Math.hypot(x2 - x1, y2 - y1) / 2 + 6);
  const low = (y1 + y2) / 2 + ring + 18;
  const y = low < over.clientHeight - 6 ? low : (y1 + y2) / 2 - ring - 8;
  over.replaceChildren(
    made("line", { x1, y1, x2, y2, class: "way" }),
    made("circle", { cx: (x1 + x2) / 2, cy: (y1 + y2) / 2, r: ring, class: "ring" }),
    made("circle", { cx: x1, cy: y1, r: 3.5, class: "of-tire" }), made("circle", { cx: x2, cy: y2, r: 3.5, class: "of-part" }),
    made("text", { x: 0, y, "text-anchor": "middle" }, gap));
  // the number stands whole, however near the edge its place is
  const words = over.lastChild, half = Math.min(wide / 2, words.getComputedTextLength() / 2 + 8);
  words.setAttribute("x", Math.max(half, Math.min(wide - half, (x1 + x2) / 2)));
}

// ---- the eye: one finger or the mouse turns it, the wheel, two fingers and + - go nearer, a touch in place chooses

function turning(canvas) {
  const held = new Map();
  let moved = 0, apart = 0;
  canvas.onpointerdown = (event) => { held.set(event.pointerId, [event.offsetX, event.offsetY]); canvas.setPointerCapture(event.pointerId); if (held.size === 1) moved = 0; apart = 0; };
  canvas.onpointermove = (event) => {
    const before = held.get(event.pointerId);
    if (!before) return;
    const [dx, dy] = [event.offsetX - before[0], event.offsetY - before[1]];
    held.set(event.pointerId, [event.offsetX, event.offsetY]);
    moved += Math.hypot(dx, dy);
    if (held.size === 1) { scene.turn(-0.45 * dx, 0.45 * dy); return; }
    const [a, b] = [...held.values()], now = Math.hypot(a[0] - b[0], a[1] - b[1]);
    if (apart) scene.nearer(apart / Math.max(now, 1));
    apart = now;
  };
  canvas.onpointerup = (event) => {
    const was = held.has(event.pointerId);
    held.delete(event.pointerId);
    if (was && moved < 6) choose(scene.under(event.offsetX, event.offsetY));
  };
  canvas.onpointercancel = (event) => held.delete(event.pointerId);
  canvas.addEventListener("wheel", (event) => { if (document.activeElement !== canvas) return; event.preventDefault(); scene.nearer(event.deltaY > 0 ? 1.1 : 1 / 1.1); }, { passive: false });
  canvas.onkeydown = (event) => {
    const turns = { ArrowLeft: [-6, 0], ArrowRight: [6, 0], ArrowUp: [0, 6], ArrowDown: [0, -6] }[event.key];
    if (turns) scene.turn(...turns);
    else if (event.key === "+" || event.key === "=") scene.nearer(1 / 1.15);
    else if (event.key === "-") scene.nearer(1.15);
    else return;
    event.preventDefault();
  };
}
