// The line to the bench: news in, wishes out. It comes back by itself when a phone wakes up or the server starts anew.
import { choose } from "/own/choose.js";
import { move } from "/own/move.js";
import { measure } from "/own/measure.js";
import { scan } from "/own/scan.js";
import { take } from "/own/take.js";

const byId = (id) => document.getElementById(id);
let socket = null, wait = 250, waiting = [];

export const bench = {
  stood: null,
  ask(job) {
    if (socket && socket.readyState === WebSocket.OPEN) socket.send(JSON.stringify(job));
    // where a dial was dragged to is old by the time that the line is back; what was decided is not
    else if (job.do !== "turn") waiting.push(job);
  },
  async question(what, table = {}) {
    const answer = await fetch("/ask/" + what, {
      method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(table),
    });
    return answer.json();
  },
};

export function say(words, kind = "said") {
  const line = byId("line");
  line.textContent = words;
  line.className = kind;
  line.hidden = !words;
}

function connect() {
  socket = new WebSocket("ws://" + location.host + "/bench");
  socket.onopen = () => {
    wait = 250;
    if (byId("line").className === "lost") say("");
    for (const job of waiting.splice(0)) bench.ask(job);
    document.documentElement.dataset.line = "open";
  };
  socket.onmessage = (event) => heard(JSON.parse(event.data));
  socket.onclose = () => {
    document.documentElement.dataset.line = "lost";
    say("The line to the bench is lost. What you do is kept and sent when it is back.", "lost");
    setTimeout(connect, wait);
    wait = Math.min(4000, 2 * wait);
  };
}

function heard(news) {
  if (news.say === "stood") {
    bench.stood = news;
    byId("title").textContent = news.title;
    byId("file").textContent = news.file + (news.unsaved ? ", not saved" : "");
    document.title = news.title;
    tabs(news);
    if (document.body.dataset.way === "start") show("choose");
  }
  // an empty bench is no reason to leave a sheet or a scan that is under way
  if (news.say === "empty") { bench.stood = null; if (!["measure", "scan"].includes(document.body.dataset.way)) { show("start"); starts(); } }
  if (news.say === "refused") say(news.words, "refused");
  if (news.say === "saved") say(news.words);
  choose.heard(news);
  move.heard(news);
  scan.heard(news);
}

function tabs(news) {
  const nav = byId("corners");
  nav.replaceChildren(...(news.corners.length < 2 ? [] : news.corners.map((name) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = name.replace("-", " ");
    button.className = "at-" + name;
    button.setAttribute("aria-pressed", String(name === news.corner));
    button.onclick = () => {
      document.documentElement.dataset.measured = "no";
      byId("choose").setAttribute("aria-busy", "true");
      bench.ask({ do: "corner", text: name });
    };
    return button;
  })));
}

export function show(way) {
  document.body.dataset.way = way;
  for (const one of ["start", "choose", "measure", "scan", "take"]) byId(one).hidden = one !== way;
  for (const button of document.querySelectorAll("[data-way]")) {
    if (button !== document.body) button.setAttribute("aria-pressed", String(button.dataset.way === way));
  }
  if (way === "measure") measure.show();
  if (way === "scan") scan.show(); else scan.hide();
  if (way === "take") take.show();
}

function button(words, onclick, main = false) {
  return Object.assign(document.createElement("button"), { type: "button", textContent: words, onclick, className: main ? "main" : "" });
}
function list(rows) {
  const found = Object.assign(document.createElement("ul"), { className: "files" });
  for (const row of rows) { const item = document.createElement("li"); item.append(row); found.append(item); }
  return found;
}
function line(words) { return Object.assign(document.createElement("p"), { textContent: words }); }

async function starts() {
  const found = await bench.question("files").catch(() => null);
  if (!found) return;
  const upload = Object.assign(document.createElement("label"), { className: "button", textContent: "Open a file from elsewhere" });
  const input = Object.assign(document.createElement("input"), { type: "file", accept: ".toml", className: "away" });
  input.onchange = () => bring(input.files[0]);
  upload.append(input);
  byId("starts").replaceChildren(
    list([button("Measure a corner", () => show("measure"), true), button("Bring a scan", () => show("scan")), upload]),
    line(found.files.length ? "Open a file of this folder:" : "No corner file lies in this folder yet."),
    list(found.files.map((name) => button(name, () => open(name)))),
    line("Or begin with a car that comes along; it is copied into this folder. The cars and their numbers are invented."),
    list(found.shipped.map((one) => button(one.words, () => open(one.name, "shipped")))));
}

export async function open(name, what = "open") {
  const answer = await bench.question(what, { name });
  if (answer.refused) say(answer.refused, "refused");
  else { say(""); show("choose"); }
}

async function bring(file) {
  if (!file) return;
  const answer = await (await fetch("/in", { method: "POST", headers: { "x-name": encodeURIComponent(file.name) }, body: file })).json();
  if (answer.refused) say(answer.refused, "refused");
  else { say(""); show("choose"); }
}

document.querySelectorAll("#ways button").forEach((button) => {
  button.onclick = () => show(button.dataset.way === "choose" && !bench.stood ? "start" : button.dataset.way);
});
// the key has done its work: it need not stand in the address, nor in what the browser remembers
if (location.search) history.replaceState(null, "", "/");
document.body.dataset.way = "start";
// on a phone what stands on the board stays in sight beside the dials, and goes away with them: it lies in their box
const narrow = matchMedia("(max-width: 700px)");
narrow.onchange = () => byId(narrow.matches ? "side" : "stand").prepend(byId("board"));
narrow.onchange();
choose.begin(bench, say, move);
move.begin(bench);
measure.begin(bench, say, () => { say(""); show("choose"); });
scan.begin(bench, say, () => show("choose"));
take.begin(bench, say);
connect();
document.documentElement.dataset.ready = "yes";
