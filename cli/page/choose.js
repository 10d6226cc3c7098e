// Choose: dials on one side, the tightest places drawn on the other. Nothing is reckoned here; where a dial stands is sent,
// and words come back.
const byId = (id) => document.getElementById(id);
let bench = null, say = null, move = null, dragged = null, sent = false, next = null, shape = "", seen = "";

const key = (path) => path.join("\u0001");
const ofKey = (name) => [...document.querySelectorAll(".dial")].find((one) => one.dataset.key === name);
const ACROSS = ["wheel.backspace", "wheel.offset"];
const SIGNS = { hits: "✕", tight: "▲", clears: "✓", undecided: "?" };

export const choose = {
  begin(aBench, aSay, aMove) {
    [bench, say, move] = [aBench, aSay, aMove];
    for (const button of document.querySelectorAll("#steps button")) {
      button.onclick = () => { say(""); bench.ask({ do: button.dataset.do }); };
    }
    byId("beside").ontoggle = compare;
    document.addEventListener("keydown", (event) => {
      if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || event.target.type === "text") return;
      event.preventDefault();
      bench.ask({ do: event.shiftKey ? "redo" : "undo" });
    });
  },
  heard(news) {
    if (news.say === "stood") {
      byId("choose").removeAttribute("aria-busy");
      sent = false;
      dials(news);
      if (!news.measured) { document.documentElement.dataset.measured = "no"; before(news); }
    }
    if (news.say === "look") look(news);
    if (news.say === "measuring") document.documentElement.dataset.measured = "no";
    if (news.say === "refused") { sent = false; document.documentElement.dataset.refused = String(Date.now()); }
  },
};

function made(tag, options = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(options)) {
    if (name in element) element[name] = value;
    else element.setAttribute(name, value);
  }
  element.append(...inside);
  return element;
}

// ---- dials

function dials(news) {
  const place = byId("dials");
  const now = [news.file, news.corner, ...news.dials.map((dial) => key(dial.path))].join("\n");
  if (now !== shape) {
    shape = now;
    const groups = new Map();
    for (const dial of news.dials) groups.set(dial.group, [...(groups.get(dial.group) || []), dial]);
    place.replaceChildren(...[...groups].map(([name, some]) => group(name, some, news)));
  }
  window_ = { ...window_, marks: news.marks, held: true };
  for (const dial of news.dials) stand(dial);
  const marking = byId("marking");
  if (marking && document.activeElement !== marking) marking.value = news.marking;
  for (const [name, count] of [["undo", news.undo], ["redo", news.redo], ["back", news.changed], ["save", news.unsaved]]) {
    document.querySelector(`#steps [data-do=${name}]`).disabled = !count;
  }
}

function group(name, some, news) {
  const rows = some.map(row);
  if (name === "wheel" && news.marking) rows.unshift(tire(news));
  const open = name === "wheel" || name === "tire" || name === "travel";
  return made("details", { open, className: "group" }, made("summary", { textContent: name }), ...rows);
}

function tire(news) {
  const box = made("input", { id: "marking", type: "text", value: news.marking, maxLength: 60, autocomplete: "off", spellcheck: false });
  box.onchange = () => { say(""); bench.ask({ do: "tire", on: bench.stood.on, text: box.value.trim() }); };
  return made("div", { className: "dial" }, made("label", { htmlFor: "marking", textContent: "tire size" }), box);
}

function row(dial) {
  const id = "dial-" + dial.path.join("-").replace(/[^\w-]/g, "_");
  const range = made("input", { type: "range", id, min: dial.least, max: dial.most, step: "any" });
  range.step = dial.step;
  const box = made("input", { type: "text", maxLength: 60, autocomplete: "off", spellcheck: false });
  box.setAttribute("aria-label", `${dial.group} ${dial.name}, as written`);
  const marks = made("div", { className: "marks" });
  marks.setAttribute("aria-hidden", "true");
  const told = made("p", { className: "told soft" });
  const was = made("button", { type: "button", className: "was" });
  range.oninput = () => { dragged = key(dial.path); turn(dial.path, range.valueAsNumber); };
  range.onchange = () => { dragged = null; next = null; say(""); bench.ask({ do: "set", on: bench.stood.on, path: dial.path, value: range.valueAsNumber }); };
  // brought back to where it was, a dial does not say that it changed
  range.onpointerup = range.onpointercancel = () => setTimeout(() => {
    if (dragged !== key(dial.path)) return;
    dragged = null; next = null;
    bench.ask({ do: "look" });
  }, 50);
  box.onchange = () => { say(""); bench.ask({ do: "write", on: bench.stood.on, path: dial.path, text: box.value.trim() }); };
  was.onclick = () => { say(""); bench.ask({ do: "write", on: bench.stood.on, path: dial.path, text: was.dataset.text }); };
  const whole = made("div", { className: "dial" },
    made("label", { htmlFor: id, textContent: dial.name }), box, made("div", { className: "track" }, range, marks), was, told);
  whole.dataset.key = key(dial.path);
  return whole;
}

function stand(dial) {
  const whole = ofKey(key(dial.path));
  const [range, box] = [whole.querySelector("[type=range]"), whole.querySelector("[type=text]")];
  if (dragged !== key(dial.path)) {
    range.min = dial.least; range.max = dial.most; range.value = dial.value;
    range.setAttribute("aria-valuetext", dial.text);
  }
  // what cannot be turned says why beneath
  range.disabled = box.disabled = dial.most <= dial.least;
  if (document.activeElement !== box) box.value = dial.text;
  const was = whole.querySelector(".was");
  was.hidden = dial.text === dial.was;
  was.dataset.text = dial.was;
  was.textContent = `was ${dial.was}`;
  marked(dial, whole);
}

// ---- the window: the stretches of backspace or offset that clear, certified; or, until they are known, the one that is
// sure by what was certified before. A spacer takes the wheel the other way along the same stretch

let window_ = { marks: [], bar: [], held: true };
function marked(dial, whole) {
  const { marks, bar, held } = window_, across = bench.stood.dials.find((one) => ACROSS.includes(one.path.join(".")));
  const home = dial.path.join("."), spaced = home === "wheel.spacer" && across, own = ACROSS.includes(home);
  const on = (value) => (spaced ? across.was_at - value : value);
  const at = (value) => (100 * (Math.min(Math.max(value, dial.least), dial.most) - dial.least)) / (dial.most - dial.least);
  const tick = (value, name) => { const one = made("i", { className: name }); one.style.left = `${at(value)}%`; return one; };
  const stretch = (two, name) => {
    const [low, high] = [Math.min(...two), Math.max(...two)], one = made("i", { className: name });
    if (high < dial.least || low > dial.most) return [];
    one.style.left = `${at(low)}%`;
    one.style.width = `${at(high) - at(low)}%`;
    return [one];
  };
  const certified = own || spaced ? (held ? marks : []) : [], sure = (own || spaced) && !certified.length ? bar : [];
  const pairs = certified.filter((_, k) => k % 2 === 0).map((end, k) => [on(end.value), on(certified[2 * k + 1].value)]);
  whole.querySelector(".marks").replaceChildren(
    ...(sure.length ? stretch(sure.map((end) => on(end.value)), "sure") : []),
    ...pairs.flatMap((two) => stretch(two, "clear")),
    ...pairs.flat().filter((value) => value >= dial.least && value <= dial.most).map((value) => tick(value, "end")),
    tick(dial.was_at, "first"));
  const words = !own ? "" : certified.length ? "Clears between " + certified.map((end) => end.words).join(" and ")
    : sure.length ? `Sure to clear from ${sure[0].words} to ${sure[1].words}; what else does is not known yet.`
    : "Which of them clear is not known yet.";
  whole.querySelector(".told").classList.toggle("across", own);
  whole.querySelector(".told").textContent = [words, dial.told].filter(Boolean).join(" ");
}
// while something is dragged the certified window holds only where nothing but the wheel's place across is another
function follow(news) {
  const only = !news.path || !news.path.length || [...ACROSS, "wheel.spacer"].includes(news.path.join("."));
  window_ = { marks: bench.stood.marks, bar: news.bar, held: news.certified || only };
  for (const dial of bench.stood.dials) {
    if (![...ACROSS, "wheel.spacer"].includes(dial.path.join("."))) continue;
    const whole = ofKey(key(dial.path));
    if (whole) marked(dial, whole);
  }
}

// one place of a dial is on its way at a time; the newest follows when the words of the last are painted
function turn(path, value) {
  next = { do: "turn", on: bench.stood.on, path, value, part: move.part() };
  document.documentElement.dataset.measured = "no";
  if (!sent) hand();
}
function hand() {
  if (!next) return;
  sent = true;
  bench.ask(next);
  next = null;
}

// ---- what is seen

// until what stands now is measured, what stands on the board is of before; of another corner nothing may stand there
function before(news) {
  const sentence = byId("sentence"), other = seen !== news.on;
  if (!other && sentence.classList.contains("meanwhile")) return;
  if (other) { byId("drawn").replaceChildren(); byId("parts").replaceChildren(); byId("notes").replaceChildren(); delete byId("notes").dataset.of; }
  if (!other && sentence.dataset.before) return;
  sentence.dataset.before = "yes";
  sentence.className = "meanwhile";
  const words = other ? `${news.title}: being measured.` : `Being measured. Before this change: ${sentence.lastChild ? sentence.lastChild.textContent : ""}`;
  sentence.replaceChildren(made("b", { className: "sign", textContent: "…" }), words);
}

function look(news) {
  if (!news.certified) {
    sent = false;
    const whole = ofKey(key(news.path));
    if (whole && dragged === key(news.path)) {
      whole.querySelector("[type=text]").value = news.text;
      whole.querySelector("[type=range]").setAttribute("aria-valuetext", news.text);
    }
  }
  const sentence = byId("sentence");
  delete sentence.dataset.before;
  if (news.on || bench.stood) seen = news.on || bench.stood.on;
  sentence.className = news.exact ? news.verdict : news.certified ? `meanwhile ${news.verdict}` : "meanwhile";
  sentence.replaceChildren(made("b", { className: "sign", textContent: news.exact ? SIGNS[news.verdict] : "≥" }), news.sentence);
  const places = byId("drawn");
  places.replaceChildren(...news.drawn.map((place, k) => {
    const part = news.parts.find((one) => one.part === place.part);
    const frame = made("div", { className: "cut" });
    frame.innerHTML = place.svg;
    const caption = made("figcaption", {}, chip(part.verdict, news.certified), name(place.part), ` ${part.gap}`);
    const figure = made("figure", { className: k ? "place" : "place first" }, frame, caption);
    figure.dataset.part = place.part;
    return figure;
  }));
  table(news);
  if (bench.stood) follow(news);
  const notes = news.notes.join("\n");
  if (byId("notes").dataset.of !== notes) {
    byId("notes").dataset.of = notes;
    byId("notes").replaceChildren(...news.notes.map((note) => made("li", { textContent: note })));
  }
  document.documentElement.dataset.certified = news.certified ? "yes" : "no";
  document.documentElement.dataset.measured = news.exact ? "yes" : "no";
  if (news.exact) compare();
  document.documentElement.dataset.looks = String(1 + Number(document.documentElement.dataset.looks || 0));
  if (!news.certified) requestAnimationFrame(hand);
}

// what is on the car now against this, while somebody looks at it
async function compare() {
  const place = byId("compared");
  if (!byId("beside").open) { place.replaceChildren(); return; }
  place.setAttribute("aria-busy", "true");
  if (!place.firstChild) place.textContent = "Measuring both.";
  const answer = await bench.question("beside", { columns: columns(place) });
  if (bench.stood && answer.on && answer.on !== bench.stood.on) return;
  place.removeAttribute("aria-busy");
  if (answer.refused) { place.replaceChildren(made("p", { className: "said", textContent: answer.refused })); return; }
  place.replaceChildren(...answer.found.flatMap((one) => {
    const words = made("pre", { textContent: one.words, tabIndex: 0 });
    words.setAttribute("role", "region");
    words.setAttribute("aria-label", one.name);
    return [made("h3", { textContent: one.name }), words];
  }));
}

// how many letters of a page stand beside one another here: a phone has fewer than a terminal
function columns(place) {
  const probe = made("span", { textContent: "0".repeat(40) }), sheet = made("pre", {}, probe);
  place.append(sheet);
  const style = getComputedStyle(sheet), room = sheet.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
  const found = Math.floor((40 * room) / probe.getBoundingClientRect().width);
  sheet.remove();
  return found;
}

// a row stands as long as its part does: while a dial is dragged only words that changed are written
function table(news) {
  const body = byId("parts"), rows = new Map([...body.rows].map((row) => [row.dataset.part, row]));
  const wanted = news.parts.map((part) => {
    const row = rows.get(part.part) || newRow(part.part), words = [part.gap, part.must_keep, part.when, part.where];
    const shown = `${part.verdict} ${news.certified}`;
    if (row.dataset.shown !== shown) { row.dataset.shown = shown; row.cells[0].replaceChildren(chip(part.verdict, news.certified), name(part.part)); }
    words.forEach((text, k) => { if (row.cells[k + 1].textContent !== text) row.cells[k + 1].textContent = text; });
    return row;
  });
  if (wanted.length !== body.rows.length || wanted.some((row, k) => body.rows[k] !== row)) body.replaceChildren(...wanted);
}
function newRow(part) {
  const row = made("tr", {}, made("th", { scope: "row" }), cell("gap", "", "num"), cell("must keep", "", "num"), cell("tightest at", ""), cell("where", ""));
  row.dataset.part = part;
  return row;
}

// a part's name can be pushed: it is then lit in scene, section and table
function name(part) {
  return made("button", { type: "button", className: "name", textContent: part });
}

function cell(name, words, kind = "") {
  const found = made("td", { textContent: words, className: kind });
  found.dataset.label = name;
  return found;
}

function chip(verdict, certified) {
  const words = verdict === "undecided" && !certified ? "not sure yet" : verdict;
  return made("span", { className: `chip ${verdict}` }, made("span", { className: "sign", textContent: SIGNS[verdict] }), ` ${words}`);
}
