// Measure: one letter at a time beside the drawing with that letter lit. Every answer is kept in the folder before the next
// is asked, so nothing is lost with the line, the phone or the server.
const byId = (id) => document.getElementById(id);
let bench = null, say = null, open = null, sheet = null;

const FRACTIONS = ["1/16", "1/8", "3/16", "1/4", "5/16", "3/8", "7/16", "1/2", "9/16", "5/8", "11/16", "3/4", "13/16", "7/8", "15/16"];

export const measure = {
  begin(aBench, aSay, anOpen) { [bench, say, open] = [aBench, aSay, anOpen]; },
  async show() {
    const found = await ask("sheets");
    if (!found) return;
    if (found.sheet && (found.sheet.at || found.sheet.near.length || found.sheet.other || !found.sheet.other_asked)) { sheet = found.sheet; letter(); } else choices(found);
  },
};

// a line that is lost is asked again: the answer is the same one, and is taken once
async function ask(what, table = {}) {
  for (let wait = 300; ; wait = Math.min(4000, 2 * wait)) {
    try {
      const found = await bench.question(what, table);
      if (found.refused) { say(found.refused, "refused"); return null; }
      if (byId("line").className !== "said") say("");
      return found;
    } catch {
      say("The line to the bench is lost. Your answer is kept and sent when it is back.", "lost");
      await new Promise((go) => setTimeout(go, wait));
    }
  }
}

function made(tag, options = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(options)) {
    if (name in element) element[name] = value;
    else element.setAttribute(name, value);
  }
  element.append(...inside);
  return element;
}

// ---- which sheet

function choices(found) {
  const form = made("form", { className: "begin" });
  // a phone cuts what stands in a closed list short
  const depth = made("p", { className: "soft" });
  const field = (name, label, control) => { control.name = name; control.id = "new-" + name; return made("div", { className: "field" }, made("label", { htmlFor: control.id, textContent: label }), control); };
  const pick = (values) => made("select", {}, ...values.map(([value, words]) => made("option", { value, textContent: words })));
  const carriers = made("fieldset", { className: "carriers" }, made("legend", { textContent: "What carries the wheel?" }),
    ...Object.entries(found.carriers).map(([name, look], k) => made("label", {},
      made("input", { type: "radio", name: "carrier", value: name, required: true, checked: !k }), made("span", {}, made("b", { textContent: name.replaceAll("-", " ") }), ` ${look}`))));
  form.append(carriers,
    field("depth", "How much do you measure?", pick(Object.entries(found.depths).map(([name, words]) => [name, words]))), depth,
    field("unit", "What is your tape marked in?", pick(found.units.map((unit) => [unit, unit]))),
    field("corner", "Which corner?", pick(found.corners.map((name) => [name, name.replace("-", " ")]))),
    field("title", "A name for it", made("input", { type: "text", maxLength: 100, required: true, placeholder: "as the report shall call it" })),
    field("name", "The file to make", made("input", { type: "text", maxLength: 60, required: true, value: "my-corner", autocapitalize: "none", spellcheck: false })),
    made("button", { className: "main", textContent: "Begin" }));
  form.depth.value = "travel";
  const told = () => { depth.textContent = `${form.depth.selectedOptions[0].textContent}.`; };
  form.depth.onchange = told;
  told();
  // what carries a rear wheel carries no front one
  const axle = () => {
    const [end] = form.carrier.value.split("-");
    if (!form.corner.value.startsWith(end)) form.corner.value = found.corners.find((name) => name.startsWith(end)) || form.corner.value;
  };
  carriers.onchange = axle;
  axle();
  form.onsubmit = async (event) => {
    event.preventDefault();
    const table = Object.fromEntries(new FormData(form));
    sheet = await ask("sheet", table);
    if (sheet) letter();
  };
  const begun = found.drafts.map((name) => made("button", { type: "button", textContent: `Go on with ${name}`, onclick: async () => {
    sheet = await ask("sheet", { name, unit: form.unit.value });
    if (sheet) letter();
  } }));
  byId("measure").replaceChildren(...(begun.length ? [made("h2", { textContent: "Begun before" }), made("div", { className: "files" }, ...begun)] : []),
    made("h2", { textContent: "A new corner" }), form);
}

// ---- one letter

function letter() {
  const place = byId("measure");
  const row = sheet.letters.find((one) => one.letter === sheet.at);
  const margin = made("ol", { className: "margin" }, ...sheet.letters.map((one) => made("li", {}, made("button", {
    type: "button", className: one.letter === sheet.at ? "here" : one.answer ? "done" : "", onclick: () => turnTo(one.letter),
  }, made("b", { textContent: one.letter }), made("span", {}, made("span", { className: "what", textContent: one.name.split(/[:(]/)[0].trim() }), " ", made("span", { className: "value", textContent: one.answer || (one.needed ? "needed" : "open") }))))));
  margin.setAttribute("aria-label", "What was answered");
  const left = made("div", { className: "lit" });
  left.innerHTML = sheet.picture;
  const right = row ? question(row) : ending();
  const through = sheet.letters.filter((one) => one.answer).length, needed = sheet.letters.filter((one) => one.needed && !one.answer).length;
  const on = made("p", { className: "soft", id: "sheet-on", textContent: `${sheet.file}: ${through} of ${sheet.letters.length} letters answered${needed ? `, ${needed} still needed` : ""}.` });
  place.replaceChildren(on, made("div", { className: "sheet" }, left, right, margin));
  document.documentElement.dataset.letter = sheet.at || "end";
  if (!sheet.other) delete document.documentElement.dataset.other;
  // on a phone the margin is under the letter: whoever chose one there is brought to it
  if (matchMedia("(max-width: 700px)").matches) place.scrollIntoView({ block: "start" });
  const input = place.querySelector("[data-answer]");
  if (input) { input.focus({ preventScroll: true }); if (input.select) input.select(); }
}

async function turnTo(name) {
  const found = await ask("letter", { letter: name });
  if (found) { sheet = found; letter(); }
}

async function answer(name, text) {
  const found = await ask("letter", { letter: name, text, sent: `${Date.now()}-${Math.random()}` });
  if (!found) return;
  sheet = { ...found, of: name };
  letter();
  // what was not taken stands there to be put right
  const input = byId("answer");
  if (sheet.at === name && input && input.type === "text" && !input.value) { input.value = text; input.select(); }
}

// what is said of one letter may stand at the next: it says of which
function saidOf(at) {
  return sheet.said.map((words) => made("li", { textContent: sheet.of && sheet.of !== at ? `${sheet.of}: ${words}` : words }));
}

function question(row) {
  const form = made("form", { className: "question" });
  const told = made("div", {}, made("ul", { className: sheet.does === "again" ? "said refused" : "said" }, ...saidOf(row.letter)));
  told.setAttribute("role", "status");
  const label = made("label", { htmlFor: "answer" }, made("span", { className: "ring", textContent: row.letter }), ` ${row.name}${row.unit ? ` (${row.unit})` : ""}`);
  const plain = row.measure === "length" || row.measure === "angle" || row.measure === "number";
  let input;
  if (row.choices.length) {
    input = made("select", { id: "answer" }, made("option", { value: "", textContent: "left out" }), ...row.choices.map((one) => made("option", { value: one, textContent: one })));
    input.value = row.answer;
  } else {
    input = made("input", { id: "answer", type: "text", value: row.answer, maxLength: 120, autocomplete: "off", spellcheck: false, enterKeyHint: "next" });
    input.inputMode = plain ? "decimal" : "text";
  }
  input.dataset.answer = "yes";
  const keys = made("div", { className: "keys" }, ...(row.measure === "length" && row.unit === "in" ? FRACTIONS : []).map((part) => made("button", {
    type: "button", textContent: part, onclick: () => { input.value = input.value.replace(/\s*in$|\s+\d+\/\d+.*$/, "").trim() + ` ${part}`; input.value = input.value.trim(); input.focus(); },
  })));
  keys.setAttribute("aria-label", "Fractions of an inch");
  keys.setAttribute("role", "group");
  const back = sheet.letters[sheet.letters.findIndex((one) => one.letter === row.letter) - 1];
  const first = row.letter === sheet.letters[0].letter;
  const cautions = made("ul", { className: "cautions", hidden: !first }, ...sheet.cautions.map((words) => made("li", { textContent: words })));
  form.append(cautions, made("p", { className: "soft", textContent: row.group }), label, told, input, keys,
    made("div", { className: "walk" },
      made("button", { type: "button", textContent: "Back", disabled: !back, onclick: () => turnTo(back.letter) }),
      made("button", { className: "main", textContent: sheet.does === "again" && sheet.said.length && row.answer ? "Keep or change" : "Next" })),
    made("p", { className: "how", textContent: row.how }), photos(row.letter),
    made("p", { className: "soft", textContent: row.left_out ? `If you leave it out: ${row.left_out}.` : "" }));
  form.onsubmit = (event) => { event.preventDefault(); answer(row.letter, input.value.trim()); };
  return form;
}

// what the tape was held to, kept beside the answers
function photos(name) {
  const input = made("input", { type: "file", accept: "image/jpeg,image/png", className: "away" });
  input.setAttribute("capture", "environment");
  input.onchange = async () => {
    if (!input.files[0]) return;
    say("The photo is on its way.");
    try {
      const found = await (await fetch("/photo", { method: "POST", headers: { "x-name": encodeURIComponent(name) }, body: input.files[0] })).json();
      if (found.refused) { say(found.refused, "refused"); return; }
      say("");
      sheet.photos = found.at === sheet.at ? found.photos : sheet.photos;
      const shown = byId("photos");
      if (shown) shown.replaceWith(photos(name));
    } catch { say("The photo did not come over whole, so nothing of it was kept. Take it once more.", "refused"); }
  };
  const whole = made("div", { id: "photos" }, made("label", { className: "button" }, `Photo of ${name}`, input));
  for (const file of sheet.photos || []) whole.append(made("img", { src: `/photo/${encodeURIComponent(file)}`, alt: `${name} as it was measured, ${file}`, loading: "lazy" }));
  return whole;
}

// the other side: "same" only where it was measured and is; nothing where it was not
function otherSide(row) {
  const form = made("form", { className: "question" });
  const input = made("input", { id: "other", type: "text", value: row.answer, maxLength: 120, autocomplete: "off", spellcheck: false, enterKeyHint: "next", inputMode: row.unit ? "decimal" : "text" });
  input.dataset.answer = "yes";
  const send = async (text) => { const found = await ask("other", { letter: row.letter, text }); if (found) { sheet = found; letter(); } };
  form.append(made("p", { className: "soft", textContent: "the other side" }),
    made("label", { htmlFor: "other" }, made("span", { className: "ring", textContent: row.letter }), ` ${row.name}${row.unit ? ` (${row.unit})` : ""}`),
    made("p", { textContent: `${row.here} on this side.` }), input,
    made("div", { className: "walk" }, made("button", { type: "button", textContent: "Not measured", onclick: () => send("") }), made("button", { className: "main", textContent: "Next" })),
    made("button", { type: "button", textContent: "Measured there, and the same", onclick: () => send("same") }), made("p", { className: "how", textContent: row.how }));
  form.onsubmit = (event) => { event.preventDefault(); send(input.value.trim()); };
  document.documentElement.dataset.other = row.letter;
  return form;
}

function ending() {
  const told = made("ul", { className: "said" }, ...saidOf(""));
  const whole = made("div", { className: "question" }, told);
  if (sheet.near.length) {
    const boxes = sheet.near.map((one) => made("label", { className: "tick" }, made("input", { type: "checkbox", value: one.letter }), ` ${one.letter}  ${one.name}`));
    whole.append(made("h2", { textContent: "What else stands close to tire or rim?" }), ...boxes,
      made("button", { type: "button", className: "main", textContent: "Go on", onclick: async () => {
        const letters = boxes.map((box) => box.firstChild).filter((box) => box.checked).map((box) => box.value).join(" ");
        const found = await ask("near", { letters });
        if (found) { sheet = found; letter(); }
      } }));
    return whole;
  }
  if (sheet.other) { whole.append(otherSide(sheet.other)); return whole; }
  const other = async (text) => { const found = await ask("other", { letter: "", text }); if (found) { sheet = found; letter(); } };
  if (!sheet.other_asked) {
    whole.append(made("h2", { textContent: "Was the other side of the axle measured too?" }),
      made("p", { textContent: "Left and right differ, often by 6 to 25 mm (1/4 to 1 in). Without it nothing is said of that side." }),
      made("div", { className: "walk" }, made("button", { type: "button", textContent: "No", onclick: () => other("no") }), made("button", { type: "button", className: "main", textContent: "Yes, ask me", onclick: () => other("yes") })));
    return whole;
  }
  whole.append(made("h2", { textContent: "Every letter is through." }),
    made("p", { textContent: `Makes ${sheet.file}, and lays it on the bench; what was measured of the other side gets a file of its own beside it.` }),
    made("button", { type: "button", className: "main", textContent: "Make the corner file", onclick: async () => {
      const found = await ask("made");
      if (found) { sheet = null; open(); }
    } }));
  return whole;
}
