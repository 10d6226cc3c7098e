// Take away: the same bytes as from the command line, and the command that makes them.
const byId = (id) => document.getElementById(id);
let bench = null, say = null;
const SLOW = ["report", "gauge", "envelope"];

export const take = {
  begin(aBench, aSay) { [bench, say] = [aBench, aSay]; },
  async show() {
    const found = await bench.question("files");
    const list = document.createElement("div");
    list.className = "takings";
    for (const one of found.takings) list.append(one.lacks ? lacking(one) : taking(one));
    byId("take").replaceChildren(...(found.takings.length ? [list] : [nothing(), start()]));
  },
};

function made(tag, text = "", name = "") {
  return Object.assign(document.createElement(tag), { textContent: text, className: name });
}

// of an empty bench nothing can be made
function nothing() {
  return made("p", "No corner lies on the bench yet. Measure one, or open a file; then its order card, report, drawings, gauge and envelope are made here.");
}

function start() {
  const button = made("button", "To what you have", "main");
  button.type = "button";
  button.onclick = () => document.querySelector("#ways [data-way=choose]").click();
  return button;
}

function lacking(one) {
  const whole = made("article");
  whole.dataset.kind = one.kind;
  whole.append(made("h2", one.words), made("p", one.lacks));
  return whole;
}

function told(found) {
  const same = found.command ? "the command below, in the folder of the file, gives the same bytes" : "the file in the folder is the same";
  return found.unsaved ? `Of what stands on the bench, which is not saved yet: save it, and ${same}.` : `${same[0].toUpperCase()}${same.slice(1)}.`;
}

function taking(one) {
  const whole = made("article"), button = made("button", "Make it", "main"), files = made("ul", "", "files");
  const command = made("code"), words = made("p", "", "soft");
  whole.dataset.kind = one.kind;
  button.type = "button";
  button.onclick = async () => {
    button.disabled = true;
    words.textContent = SLOW.includes(one.kind) ? "Being made. This one takes a minute or more." : "Being made.";
    const found = await bench.question("take", { kind: one.kind }).catch(() => ({ refused: "The line was lost. Ask again." }));
    button.disabled = false;
    words.textContent = found.refused || told(found);
    if (found.refused) return;
    command.textContent = found.command;
    files.replaceChildren(...found.files.map((file) => {
      const link = made("a", file.name), row = made("li");
      link.href = `/take/${one.kind}/${encodeURIComponent(file.name)}?of=${file.sum}`;
      link.download = file.name;
      row.append(link);
      return row;
    }));
  };
  whole.append(made("h2", one.words), button, words, files, command);
  return whole;
}
