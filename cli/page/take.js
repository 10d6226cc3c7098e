// Take away: the same bytes as from the command line, and the command that makes them.
const byId = (id) => document.getElementById(id);
let bench = null, say = null;

export const take = {
  begin(aBench, aSay) { [bench, say] = [aBench, aSay]; },
  async show() {
    const found = await bench.question("files");
    const list = document.createElement("div");
    list.className = "takings";
    for (const one of found.takings) list.append(taking(one));
    byId("take").replaceChildren(list);
  },
};

function made(tag, text = "", name = "") {
  return Object.assign(document.createElement(tag), { textContent: text, className: name });
}

function taking(one) {
  const whole = made("article"), button = made("button", "Make it", "main"), files = made("ul", "", "files");
  const command = made("code"), words = made("p", "", "soft");
  whole.dataset.kind = one.kind;
  button.type = "button";
  button.onclick = async () => {
    button.disabled = true;
    words.textContent = "Being made; the gauge and the envelope take a minute.";
    const found = await bench.question("take", { kind: one.kind }).catch(() => ({ refused: "The line was lost. Ask again." }));
    button.disabled = false;
    words.textContent = found.refused || (found.unsaved ? "Of what stands on the bench, which is not saved yet: save it, and the command gives the same." : "");
    if (found.refused) return;
    command.textContent = found.command;
    files.replaceChildren(...found.files.map((file) => {
      const link = made("a", file.name), row = made("li");
      link.href = `/take/${one.kind}/${encodeURIComponent(file.name)}`;
      link.download = file.name;
      row.append(link);
      return row;
    }));
  };
  whole.append(made("h2", one.words), button, words, files, command);
  return whole;
}
