// Scan: a mesh file brought, its unit seen beside a tire, points clicked on it, loose pieces brushed away, and laid into
// the corner. Nothing is reckoned here: what is clicked and chosen is sent, and words and pictures come back.
import { solid } from "/own/solid.js";
const byId = (id) => document.getElementById(id);
let bench = null, say = null, open = null, facts = null, view = null, number = -1, group = "face", shown = false, busy = 0, owed = false, writing = false, unit = "";

const GROUPS = {
  hub: "The hub's centre: one point", face: "Round the hub face or rotor: three or more", bolt_holes: "Bolt holes or studs, at their middles: three or more",
  ground: "On the ground, where it was scanned: two or three", up: "Which way is up: from below, to above", ahead: "Which way is ahead: from behind, to ahead",
  scale: "Two points that you measured between", brush: "Brush away a loose piece",
};
const SHORT = { hub: "H", face: "F", bolt_holes: "B", ground: "G", up: "U", ahead: "A", scale: "S" };
const WAYS = { hub: "hub centre", face: "hub face", bolt_holes: "bolt holes" };

export const scan = {
  begin(aBench, aSay, anOpen) { [bench, say, open] = [aBench, aSay, anOpen]; },
  async show() { shown = true; if (byId("line").className !== "lost") say(""); const found = await ask("scan"); if (found) told(found); },
  hide() { shown = false; },
  async heard(news) {
    if (!shown || (news.say !== "scan" && !(news.say === "stood" && facts && facts.on !== news.on))) return;
    if (busy) { owed = true; return; }
    const found = await ask("scan");
    if (found) told(found);
  },
};

// another page did something while this one waited for its answer
function settled() {
  busy -= 1;
  if (busy || !owed) return;
  owed = false;
  scan.heard({ say: "scan" });
}

async function ask(what, table = {}) {
  busy += 1;
  try {
    const found = await bench.question(what, table);
    if (found.refused) { say(found.refused, "refused"); return null; }
    // what another page did is no reason to take away what was said to this one
    if (what !== "scan" && byId("line").className !== "lost") say("");
    return found;
  } catch { say("The line to the bench is lost. Do that again when it is back.", "lost"); return null; } finally { settled(); }
}

function made(tag, options = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(options)) { if (name in element) element[name] = value; else element.setAttribute(name, value); }
  element.append(...inside);
  return element;
}

// what is picked is picked on the scan that is seen here; what is taken back or laid on is what is seen here
const seen = () => ({ scan: facts.number, version: facts.version });
async function step(what, table = {}) { const found = await ask(what, table); if (found) told(found); else scan.heard({ say: "scan" }); return found; }

// ---- bring one

async function bring(file) {
  if (!file) return;
  if (file.size > 256e6) { say("The scan is larger than 256 MB. Crop it to the wheel well, or decimate it to a few million triangles.", "refused"); return; }
  say(`${file.name} is being read.`);
  busy += 1;
  try {
    const answer = await fetch("/scan", { method: "POST", headers: { "x-name": encodeURIComponent(file.name) }, body: file });
    const found = await answer.json();
    if (found.refused) say(found.refused, "refused"); else { say(""); told(found); }
  } catch { say("The file did not come over whole, so nothing of it was kept. Bring it once more.", "refused"); } finally { settled(); }
}

function bringer() {
  const input = made("input", { type: "file", accept: ".stl,.ply,.obj,.off,.glb,.3mf,.xyz,.pts,.asc", className: "away" });
  input.onchange = () => bring(input.files[0]);
  const label = made("label", { className: "button" }, facts.file ? "Bring another scan" : "Bring a scan from this device", input);
  const drop = made("div", { className: "drop" }, label, made("span", { className: "soft", textContent: " or drop it here: STL, PLY, OBJ, OFF, GLB or 3MF, up to 256 MB. It lies in the folder as it came." }));
  drop.ondragover = (event) => { event.preventDefault(); drop.classList.add("over"); };
  drop.ondragleave = () => drop.classList.remove("over");
  drop.ondrop = (event) => { event.preventDefault(); drop.classList.remove("over"); bring(event.dataTransfer.files[0]); };
  const others = facts.files.filter((name) => name !== facts.file);
  const list = made("div", { className: "files" }, ...others.map((name) => made("button", { type: "button", textContent: facts.begun.includes(name) ? `${name}, with what was picked on it` : name, onclick: () => step("scan/open", { name }) })));
  return made("div", {}, drop, others.length ? made("p", { textContent: "A scan of this folder:" }) : "", list);
}

// ---- the whole

async function told(found) {
  if (facts && facts.version !== found.version) forget();
  facts = found;
  const place = byId("scan");
  if (!facts.file) {
    place.replaceChildren(made("h2", { textContent: "Bring a scan" }), bringer(),
      made("p", { className: "soft", textContent: "Before you scan: the car on stands, never on a jack; the wheel off; the rotor or drum left on, since its face is how the scan finds the hub; and a ruler where the scanner sees it." }));
    view = null; number = -1;
    return;
  }
  if (!byId("solid")) frame(place);
  if (number !== facts.number) {
    number = facts.number;
    if (view) { view.bring(await (await fetch("/scan/drawing")).arrayBuffer(), facts); view.from("+z"); }
    unit = "";
    byId("came").replaceChildren();
  }
  if (view) view.leave(facts.gone);
  write();
}

function frame(place) {
  const canvas = made("canvas", { id: "solid", tabIndex: 0, role: "img" });
  canvas.setAttribute("aria-label", "The scan. Arrows turn it, shift and arrows move it, plus and minus bring it nearer, Enter clicks in its middle.");
  const over = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  over.id = "over"; over.setAttribute("aria-hidden", "true");
  const sides = ["+x", "-x", "+y", "-y", "+z", "-z"].map((name) => made("button", { type: "button", textContent: name, title: `Seen from ${name}`, onclick: () => view && view.from(name) }));
  const tools = made("div", { className: "tools", role: "toolbar" },
    ...sides, made("button", { type: "button", textContent: "+", title: "Nearer", onclick: () => view && view.nearer(1.3) }), made("button", { type: "button", textContent: "\u2212", title: "Further", onclick: () => view && view.nearer(1 / 1.3) }));
  tools.setAttribute("aria-label", "Seen from");
  const steps = made("div", { className: "tools" }, made("button", { type: "button", id: "scan-undo", textContent: "Undo", onclick: () => step("scan/undo", seen()) }), made("button", { type: "button", id: "scan-redo", textContent: "Redo", onclick: () => step("scan/redo", seen()) }));
  place.replaceChildren(made("div", { className: "scanned" },
    made("div", { id: "stage" }, made("p", { id: "clicks" }), made("div", { className: "view" }, canvas, over), tools, steps, made("p", { id: "off", className: "soft" })),
    made("div", { id: "picks" }), made("div", { id: "came" })));
  view = solid(canvas, over, clicked);
  if (!view) byId("clicks").textContent = "This browser draws nothing in space (WebGL 2). Place the scan by numbers: clearance scan FILE --place";
  number = -1;
}

async function clicked(line) {
  if (group === "brush") await step("scan/brush", { scan: facts.number, ...line }); else await step("scan/pick", { group, scan: facts.number, ...line });
}

// ---- what is said of it

function write() {
  const needs = facts.lacks || "It can be placed.";
  byId("clicks").textContent = group === "brush" ? "A click takes the loose piece under it away. Undo brings it back." : `A click: ${GROUPS[group][0].toLowerCase()}${GROUPS[group].slice(1)}.`;
  byId("off").textContent = facts.off;
  byId("scan-undo").disabled = !facts.undo; byId("scan-redo").disabled = !facts.redo;
  if (view) {
    view.mark(Object.entries(facts.points).flatMap(([name, points]) => points.map((at, k) => ({ at, group: name, name: `${SHORT[name]}${k + 1}` }))));
    if (!byId("came").dataset.rings) view.ring(facts.tire, facts.picked.unit !== unit);
    unit = facts.picked.unit;
  }
  const open = [...document.querySelectorAll("#picks details")].filter((one) => one.open).map((one) => one.dataset.name);
  const held = document.activeElement, at = held && held.id;
  // what somebody is in the middle of writing stays, whatever another page does
  const half = held && held.type === "text" && held.value !== held.defaultValue ? held.value : null;
  writing = true;
  byId("picks").replaceChildren(
    section("file", facts.file, open, bringer(), made("p", { className: "soft", textContent: `${facts.triangles.toLocaleString("en")} triangles, ${facts.pieces} pieces.` }), ...facts.notes.map((note) => made("p", { className: "soft", textContent: note }))),
    section("unit", "Unit", open.length ? open : ["unit"], units(), scale()),
    section("hub", "Hub and directions", open.length ? open : ["hub"], ways(), ...directions(), more()),
    section("brush", "What must not count", open, ...brush()),
    made("p", { id: "needs", className: facts.lacks ? "needs" : "needs done", textContent: needs }),
    made("div", { className: "walk" }, made("button", { type: "button", id: "place", textContent: "Place it", disabled: Boolean(facts.lacks), onclick: stand }),
      made("button", { type: "button", id: "lay", className: "main", textContent: "Lay it on the corner", disabled: Boolean(facts.lacks) || !facts.corner, onclick: lay })),
    facts.corner ? name() : made("p", { className: "soft", textContent: "A scan is laid into a corner. Open or measure the corner; the scan waits here." }));
  writing = false;
  if (at && byId(at) && document.activeElement !== byId(at)) byId(at).focus({ preventScroll: true });
  if (half !== null && byId(at)) byId(at).value = half;
  document.documentElement.dataset.scan = `${facts.number} ${facts.undo}`;
}

function section(name, title, open, ...inside) {
  const found = made("details", { className: "group", open: open.includes(name) }, made("summary", { textContent: title }), ...inside);
  found.dataset.name = name;
  return found;
}

const send = (key, text) => step("scan/say", { key, text, scan: facts.number });
// what stood there was of other picks
function forget() { const place = byId("came"); if (place) { place.replaceChildren(); delete place.dataset.rings; } }

function units() {
  const legend = made("legend", { textContent: "What is one of its numbers? The ring is a tire at true size." });
  return made("fieldset", { className: "units" }, legend, ...facts.units.map((one) => {
    const radio = made("input", { type: "radio", name: "unit", id: `unit-${one.unit}`, value: one.unit, checked: facts.picked.unit === one.unit, onchange: () => send("unit", one.unit) });
    const drawn = made("span", { className: "drawn" });
    drawn.innerHTML = one.svg;
    return made("label", { className: one.may_be ? "may-be" : "" }, radio, made("span", {}, made("b", { textContent: one.unit }), ` ${one.words}${one.may_be ? ", as a wheel well may be" : ""}`), drawn);
  }));
}

function chooser(name, words) {
  return made("button", { type: "button", id: `group-${name}`, className: "pick", textContent: words, onclick: () => { group = name; write(); byId("solid").scrollIntoView({ block: "nearest" }); } });
}
function choose(name) {
  const button = chooser(name, GROUPS[name]);
  button.setAttribute("aria-pressed", String(group === name));
  const rows = (facts.points[name] || []).map((at, k) => {
    const off = byId("came").dataset.rings && name === facts.picked.way ? JSON.parse(byId("came").dataset.off || "[]")[k] : "";
    return made("li", {}, made("b", { textContent: `${SHORT[name]}${k + 1} ` }), `${at.join(", ")}${off ? `: ${off}` : ""} `,
      made("button", { type: "button", className: "small", textContent: "Take off", ariaLabel: `Take off ${SHORT[name]}${k + 1}`, onclick: () => step("scan/unpick", { group: name, number: k, ...seen() }) }));
  });
  return made("div", {}, button, made("ul", { className: "spots" }, ...rows));
}

function field(key, label, hint = "") {
  const box = made("input", { type: "text", id: `say-${key}`, value: facts.picked[key], defaultValue: facts.picked[key], maxLength: 40, autocomplete: "off", spellcheck: false, placeholder: hint });
  box.onchange = box.onblur = () => { if (!writing && box.value.trim() !== facts.picked[key]) send(key, box.value.trim()); };
  return made("div", { className: "dial" }, made("label", { htmlFor: box.id, textContent: label }), box);
}
function picker(key, label, choices) {
  const box = made("select", { id: `say-${key}` }, ...choices.map(([value, words]) => made("option", { value, textContent: words })));
  box.value = facts.picked[key];
  box.onchange = () => send(key, box.value);
  return made("div", { className: "dial" }, made("label", { htmlFor: box.id, textContent: label }), box);
}
const AXES = [["", "not said"], ...["+x", "-x", "+y", "-y", "+z", "-z"].map((one) => [one, one])];

function scale() { return made("div", {}, made("p", { textContent: "Better: a length that you measured in it." }), choose("scale"), field("distance", "between them", "8 1/4 in")); }
function ways() {
  const box = picker("way", "Placed by", Object.entries(WAYS));
  box.querySelector("select").onchange = (event) => { group = event.target.value; send("way", event.target.value); };
  return made("div", {}, box, choose(facts.picked.way));
}
function directions() {
  const clicks = (name) => made("div", { className: "clicked" }, choose(name));
  return [picker("up", "up is", AXES), clicks("up"), picker("ahead", "ahead is", AXES), clicks("ahead"), picker("outboard", "outboard is", AXES),
    picker("side", "scanned side of the car", [["left", "left"], ["right", "right"]])];
}
function more() {
  const rows = [field("within", "picked within", "2 mm")];
  if (facts.picked.way !== "hub") rows.unshift(field("face_outboard", "from that face out to the mounting face", "0 mm"));
  if (facts.picked.way === "bolt_holes") rows.unshift(field("bolt_circle", "bolt circle, if not the wheel's", "5 x 4.5 in"));
  if (facts.picked.way !== "hub") rows.push(choose("ground"));
  return made("div", {}, ...rows);
}
function brush() {
  const button = chooser("brush", GROUPS.brush);
  button.setAttribute("aria-pressed", String(group === "brush"));
  return [button, made("p", { className: "soft", textContent: `${facts.brushed} brushed away one by one; ${facts.gone.length} pieces do not count in all.` }), field("stray", "leave out pieces smaller than", "15 mm"),
    made("p", { textContent: "What turns with the wheel and hangs on: a cylinder about the axle." }),
    field("radius", "its radius", "150 mm"), field("from_", "from, outboard of the hub face", "-60 mm"), field("to", "to", "60 mm")];
}
function name() {
  const kept = byId("scan-name") ? byId("scan-name").value : "scanned well";
  return made("div", { className: "dial" }, made("label", { htmlFor: "scan-name", textContent: `its name in ${facts.corner}` }), made("input", { type: "text", id: "scan-name", value: kept, defaultValue: kept, maxLength: 60 }));
}

// ---- placed, and what it comes to

async function stand() {
  const found = await ask("scan/stands", seen());
  if (!found) return;
  const place = byId("came");
  place.dataset.rings = "yes"; place.dataset.off = JSON.stringify(found.residuals);
  if (view) view.ring(found.rings);
  const doubts = found.words.filter((line) => line.startsWith("!"));
  place.replaceChildren(made("h2", { textContent: "Where it stands" }),
    ...(found.residuals.length ? [made("p", { id: "residuals", className: "num", textContent: found.residuals.map((words, k) => `${SHORT[facts.picked.way]}${k + 1} ${words}`).join("; ") })] : []),
    made("ul", { className: "stands" }, ...found.words.map((line) => made("li", { className: doubts.includes(line) ? "doubt" : "", textContent: line }))));
  if (facts.corner) {
    place.append(made("p", { id: "bands", className: "soft", textContent: `${facts.corner} is measured with it; a large scan takes some seconds.` }));
    const answer = await ask("scan/answer", { name: byId("scan-name").value, ...seen() });
    const bands = byId("bands");
    if (bands) bands.replaceWith(...(answer ? answer.bands.map(band) : []));
  }
  write();
}

function band(one) {
  const drawn = made("div", { className: "band" });
  drawn.innerHTML = one.svg;
  return made("figure", { className: "place sure" }, drawn, made("figcaption", {}, made("span", { className: `chip ${one.verdict}`, textContent: one.verdict }), one.words));
}

async function lay() {
  const found = await ask("scan/lay", { name: byId("scan-name").value, ...seen() });
  if (!found) return;
  const also = found.also.length ? `So it is of ${found.also.join(" and ").replaceAll("-", " ")}, said to be like it. ` : "";
  say(`${found.laid} is a part of ${facts.corner} now. ${also}Save keeps it in the file.`);
  open();
}
