"use strict";
(async () => {
  // the plotting library comes packed; a browser that cannot unpack it shows everything but the two pictures
  const packed = document.getElementById("plotting");
  if (packed && typeof DecompressionStream !== "undefined") {
    const bytes = Uint8Array.from(atob(packed.textContent.trim()), (letter) => letter.charCodeAt(0));
    const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    const script = document.createElement("script");
    script.textContent = await new Response(plain).text();
    document.head.append(script);
  }
  const scene = JSON.parse(document.getElementById("scene").textContent);
  const byId = (id) => document.getElementById(id);
  const view = byId("view"), map = byId("map"), bump = byId("bump"), steer = byId("steer"), which = byId("which");
  const MM_PER_INCH = 25.4;
  let unit = document.body.classList.contains("in") ? "in" : "mm";

  // ---- lengths as people write them

  function inchText(mm) {
    const steps = Math.round((Math.abs(mm) / MM_PER_INCH) * 16);
    const whole = Math.floor(steps / 16);
    let top = steps % 16, below = 16;
    while (top && top % 2 === 0) { top /= 2; below /= 2; }
    const sign = mm < 0 && steps ? "-" : "";
    if (!steps && Math.abs(mm) >= 0.05) return "under 1/16 in";
    return sign + (top ? (whole ? whole + " " : "") + top + "/" + below : whole) + " in";
  }
  const mmText = (mm) => (Math.round(mm * 10) / 10 + 0).toFixed(1) + " mm";
  const lengthText = (mm) => (unit === "mm" ? mmText(mm) + " (" + inchText(mm) + ")" : inchText(mm) + " (" + mmText(mm) + ")");
  const depthText = (mm) => (mm < 0 ? lengthText(-mm) + " inside" : lengthText(mm));
  const oneText = (mm) => (unit === "mm" ? mmText(mm) : inchText(mm));
  const factor = () => (unit === "mm" ? 1 : 1 / MM_PER_INCH);
  const bareText = (mm) => (unit === "mm" ? (Math.round(mm * 10) / 10 + 0).toFixed(1) : inchText(mm).replace(" in", "").replace("under ", "<"));
  const axisName = (what) => what + (unit === "mm" ? ", mm" : ", in");

  function writeLengths() {
    for (const element of document.querySelectorAll(".len")) {
      const mm = parseFloat(element.dataset.mm);
      if (!element.dataset.first) element.dataset.first = element.textContent;
      const inches = element.dataset.in;
      element.textContent = unit === "mm" ? element.dataset.first
        : element.classList.contains("one") ? inches : inches + " (" + mmText(mm) + ")";
    }
    for (const element of document.querySelectorAll(".only-mm")) element.hidden = unit !== "mm";
    for (const element of document.querySelectorAll(".only-in")) element.hidden = unit !== "in";
  }

  // ---- where everything stands at a stop of the sliders

  const stop = () => bump.valueAsNumber * scene.steer.length + steer.valueAsNumber;

  function carried(mesh, pose, far) {
    const [ox, oy, oz, a, b, c, d, e, f, g, h, i] = pose, n = mesh.x.length, [fx, fy, fz] = far || [0, 0, 0];
    const x = new Float32Array(n), y = new Float32Array(n), z = new Float32Array(n);
    for (let k = 0; k < n; k++) {
      // the far end of a shock rides on something else: what is near it goes along with it
      const share = far ? mesh.share[k] : 0;
      const p = mesh.x[k] + share * fx, q = mesh.y[k] + share * fy, r = mesh.z[k] + share * fz;
      x[k] = ox + a * p + b * q + c * r;
      y[k] = oy + d * p + e * q + f * r;
      z[k] = oz + g * p + h * q + i * r;
    }
    return { x, y, z };
  }
  const partNow = (part) => carried(part, scene.poses[part.frame][stop()], part.far && part.far[stop()]);

  // ---- colours: one scale that reads the same to every kind of colour vision, orange below zero and blue above

  const least = Math.min(0, ...scene.parts.map((part) => part.at_least));
  const most = Math.max(60, ...scene.parts.map((part) => 2.5 * part.required));
  const zero = -least / (most - least);
  const scale = zero > 0
    ? [[0, "#7a2600"], [zero, "#e8781e"], [Math.min(0.999, zero + 1e-4), "#fff1dc"], [zero + (1 - zero) * 0.35, "#9ecae8"], [1, "#084a86"]]
    : [[0, "#fff1dc"], [0.35, "#9ecae8"], [1, "#084a86"]];

  // black or white, whichever stands out more from the colour of a cell (WCAG 2.2, relative luminance): never under 4.5 to 1
  function inkOn(mm) {
    const at = Math.min(Math.max((mm - least) / (most - least), 0), 1);
    const above = scale.findIndex(([stop], n) => n > 0 && stop >= at), [[low, from], [high, to]] = [scale[above - 1], scale[above]];
    const parts = (hex) => [1, 3, 5].map((n) => parseInt(hex.slice(n, n + 2), 16));
    const share = (at - low) / (high - low), [a, b] = [parts(from), parts(to)];
    const light = a.map((v, n) => (v + share * (b[n] - v)) / 255).map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2] > 0.1791 ? "#000" : "#fff";
  }

  function theme() {
    const style = getComputedStyle(document.documentElement);
    const of = (name) => style.getPropertyValue(name).trim();
    return { ink: of("--ink"), soft: of("--soft"), line: of("--line"), card: of("--card"), accent: of("--accent") };
  }

  const cameras = {
    out: { eye: { x: 0.1, y: 1.6, z: 0.2 } }, behind: { eye: { x: -1.7, y: 0.05, z: 0.15 } },
    top: { eye: { x: 0.01, y: 0.2, z: 1.75 } }, in: { eye: { x: 0.8, y: -1.25, z: 0.55 } },
    first: { eye: { x: -0.75, y: 1.15, z: 0.6 } },
  };
  // the y axis of a right corner runs the other way on the screen, so the eye goes to the other side with it
  const camera = (name) => {
    const { eye } = cameras[name];
    const away = window.matchMedia("(max-width: 640px)").matches ? 1.45 : 1.18;
    return { eye: { x: away * eye.x, y: away * (scene.mirrored ? -eye.y : eye.y), z: away * eye.z }, up: { x: 0, y: 0, z: 1 } };
  };

  const withGap = (gaps) => gaps.map((g) => [mmText(g), inchText(g)]);

  function partTrace(part, index) {
    return {
      type: "mesh3d", name: part.name, ...partNow(part), i: part.i, j: part.j, k: part.k, intensity: part.least, customdata: withGap(part.least),
      colorscale: scale, cmin: least, cmax: most, opacity: part.verdict === "clears" ? 0.55 : 0.85, flatshading: true,
      showscale: index === 0, colorbar: { title: { text: axisName("least gap"), side: "right" }, thickness: 12, len: 0.8, x: 1.0, xpad: 4 },
      lighting: { ambient: 0.95, diffuse: 0.12, specular: 0 },
      hovertemplate: "<b>" + part.name.replace(/[<>&]/g, "") + "</b><br>least gap here %{customdata[0]} (%{customdata[1]})<extra></extra>",
    };
  }

  function wheelTrace() {
    const mesh = scene.wheel;
    return {
      type: "mesh3d", name: "tire and wheel", ...carried(mesh, scene.poses.hub[stop()]), i: mesh.i, j: mesh.j, k: mesh.k,
      vertexcolor: mesh.rubber.map((rubber) => (rubber ? "#50545c" : "#b9bec8")), hoverinfo: "name", flatshading: false,
      lighting: { ambient: 0.55, diffuse: 0.8, specular: 0.15, roughness: 0.8 }, lightposition: { x: -400, y: 1200, z: 1500 },
    };
  }

  function marks() {
    const shown = scene.parts.slice(0, 3);
    return {
      type: "scatter3d", mode: "markers+text", name: "tightest places", x: shown.map((p) => p.place[0]), y: shown.map((p) => p.place[1]),
      z: shown.map((p) => p.place[2]), text: shown.map((_, k) => "<b>" + (k + 1) + "</b>"), textposition: "middle center",
      textfont: { size: 13, color: theme().card }, marker: { size: 17, opacity: 1, color: theme().ink, line: { color: theme().card, width: 2 } },
      hovertemplate: shown.map((p) => p.name.replace(/[<>&]/g, "") + "<br>gap " + mmText(p.at_least) + " (" + inchText(p.at_least) + ")<extra></extra>"),
    };
  }

  // the page is drawn to fit what the wheel and parts fill near the wheel, not the far ends of unbounded walls
  function drawView() {
    const colours = theme();
    const quiet = { showgrid: true, gridcolor: colours.line, zeroline: false, showbackground: false, showspikes: false, color: colours.soft,
      title: { text: "" }, showticklabels: false };
    const far = 1.25 * scene.reach, up = Math.max(...scene.bump.map(Math.abs));
    const wide = 0.9 * scene.reach;
    // a millimetre is as long along every axis, whatever the parts reach: a wheel must look round
    const sides = [2 * far, 2 * wide, 2 * far + up * 1.3], middle = Math.cbrt(sides[0] * sides[1] * sides[2]);
    const [x, y, z] = sides.map((side) => side / middle);
    const named = (text) => ({ ...quiet, title: { text, font: { size: 12 } } });
    const phone = window.matchMedia("(max-width: 640px)").matches;
    Plotly.newPlot(view, [wheelTrace(), ...scene.parts.map(partTrace), marks()], {
      margin: { l: 0, r: 0, t: 0, b: 0 }, paper_bgcolor: "rgba(0,0,0,0)", showlegend: false, font: { color: colours.ink, size: phone ? 11 : 13 },
      scene: { aspectmode: "manual", aspectratio: { x, y, z }, camera: camera("first"), dragmode: phone ? "orbit" : "turntable", xaxis: { ...named("ahead"), range: [-far, far] },
        yaxis: { ...named("outboard"), range: scene.mirrored ? [wide, -wide] : [-wide, wide] }, zaxis: { ...named("up"), range: [-far - up * 0.3, far + up] } },
      uirevision: "kept",
    }, { responsive: true, displaylogo: false, displayModeBar: false, scrollZoom: false });
  }

  // ---- the map: gap over travel and steer, or over travel alone

  const chosen = () => scene.parts[Number(which.value)];

  function drawMap() {
    const part = chosen(), colours = theme(), k = factor();
    const travel = scene.bump.map((mm) => mm * k);
    const layout = {
      margin: { l: 62, r: 12, t: 12, b: 52 }, paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", font: { color: colours.ink, size: 13 },
      showlegend: false, hovermode: "closest",
    };
    const axis = (text) => ({ title: { text, standoff: 8 }, automargin: true, gridcolor: colours.line, zerolinecolor: colours.soft, fixedrange: true });
    if (scene.steer.length > 1) {
      // every cell is one stop, all of one size; what is shown beside it is where it stands
      const phone = window.matchMedia("(max-width: 640px)").matches;
      const across = scene.steer.map((_, n) => n), up = scene.bump.map((_, n) => n);
      const z = part.map.map((row) => row.map((mm) => mm * k));
      const text = part.map.map((row) => row.map(bareText));
      const shown = part.map.map((row, b) => row.map((mm, s) => scene.words[unit][b] + ", " + scene.turns[s] + "<br>gap " + depthText(mm)));
      const stops = (axis, values, words) => ({ ...axis, tickvals: values, ticktext: words, range: [-0.5, values.length - 0.5], showgrid: false, zeroline: false });
      Plotly.react(map, [
        { type: "heatmap", x: across, y: up, z, text, customdata: shown, colorscale: scale, zmin: least * k, zmax: most * k, zsmooth: false, xgap: 1, ygap: 1,
          showscale: !phone, colorbar: { title: { text: axisName("gap"), side: "right" }, thickness: 12 },
          hovertemplate: "%{customdata}<extra></extra>" },
        edges(part.map, part.required, "dash", "required"), edges(part.map, 0, "solid", "touching"),
        { type: "scatter", mode: "text", hoverinfo: "skip", x: up.flatMap(() => across), y: up.flatMap((b) => across.map(() => b)), text: text.flat(),
          textfont: { size: phone ? 9 : 12, color: part.map.flat().map(inkOn) }, name: "figures" }, here(part),
      ], { ...layout, margin: { ...layout.margin, r: phone ? 4 : 12 }, xaxis: stops({ ...axis("steer, deg: left is positive"), tickfont: { size: phone ? 9 : 12 } }, across, scene.steer.map((deg) => deg.toFixed(1))),
        yaxis: stops(axis(axisName("travel, bump positive")), up, scene.bump.map(bareText)) }, { responsive: true, displayModeBar: false, displaylogo: false });
    } else {
      const curve = part.map.map((row) => row[0]);
      Plotly.react(map, [
        { type: "scatter", mode: "lines+markers", x: travel, y: curve.map((mm) => mm * k), text: curve.map((mm) => mmText(mm) + " (" + inchText(mm) + ")"),
          line: { color: colours.accent, width: 3 }, marker: { size: 9 }, hovertemplate: "travel %{x:.1f}<br>gap %{text}<extra></extra>" },
        here(part),
      ], { ...layout, xaxis: axis(axisName("travel, bump positive")), yaxis: { ...axis(axisName("gap")), rangemode: "tozero" },
        shapes: [part.required * k, 0].map((level, n) => ({ type: "line", xref: "paper", x0: 0, x1: 1, y0: level, y1: level, line: { color: colours.ink, width: 1.5, dash: n ? "solid" : "dash" } })),
        annotations: [[part.required * k, "must keep " + oneText(part.required)], [0, "touching"]].map(([y, text]) => ({ xref: "paper", x: 0.01, y, text, showarrow: false, xanchor: "left", yanchor: "bottom", font: { size: 12, color: colours.ink } })),
      }, { responsive: true, displayModeBar: false, displaylogo: false });
    }
  }

  // the line between cells below a level and the others: on the cells' own edges, so colour, number and line are one thing
  function edges(rows, level, dash, name) {
    const x = [], y = [], under = (b, s) => rows[b][s] < level;
    rows.forEach((row, b) => row.forEach((_, s) => {
      if (s + 1 < row.length && under(b, s) !== under(b, s + 1)) { x.push(s + 0.5, s + 0.5, null); y.push(b - 0.5, b + 0.5, null); }
      if (b + 1 < rows.length && under(b, s) !== under(b + 1, s)) { x.push(s - 0.5, s + 0.5, null); y.push(b + 0.5, b + 0.5, null); }
    }));
    return { type: "scatter", mode: "lines", x, y, hoverinfo: "skip", line: { color: "#000", width: 3, dash }, name };
  }

  function here(part) {
    const travel = scene.steer.length > 1 ? bump.valueAsNumber : scene.bump[bump.valueAsNumber] * factor(), angle = steer.valueAsNumber;
    const steers = scene.steer.length > 1;
    return {
      type: "scatter", mode: "markers", hoverinfo: "skip", x: [steers ? angle : travel], y: [steers ? travel : part.map[bump.valueAsNumber][0] * factor()],
      marker: { size: steers ? 30 : 16, symbol: steers ? "square-open" : "cross-thin", color: "#000", line: { width: steers ? 3 : 4, color: steers ? "#000" : theme().ink } }, name: "the sliders",
    };
  }

  // ---- following the sliders

  function gapsNow() { return scene.parts.map((part) => part.map[bump.valueAsNumber][steer.valueAsNumber]); }

  function writeNow() {
    byId("bump-now").textContent = scene.words[unit][bump.valueAsNumber];
    byId("steer-now").textContent = scene.turns[steer.valueAsNumber];
    bump.setAttribute("aria-valuetext", byId("bump-now").textContent);
    steer.setAttribute("aria-valuetext", byId("steer-now").textContent);
    const gaps = gapsNow();
    for (const cell of document.querySelectorAll("[data-now]")) {
      const mm = gaps[Number(cell.dataset.now)];
      cell.textContent = depthText(mm);
      cell.dataset.mm = mm;
    }
    if (!gaps.length) return;
    const nearest = gaps.indexOf(Math.min(...gaps));
    byId("closest").textContent = "Closest here: " + scene.parts[nearest].name + ", " + (gaps[nearest] < 0 ? "" : "gap ") + depthText(gaps[nearest]);
    byId("closest").dataset.mm = gaps[nearest];
  }

  function follow() {
    writeNow();
    const moving = [[0, carried(scene.wheel, scene.poses.hub[stop()])]];
    scene.parts.forEach((part, index) => {
      if (part.frame !== "body" || part.far) moving.push([index + 1, partNow(part)]);
    });
    Plotly.restyle(view, { x: moving.map(([, m]) => m.x), y: moving.map(([, m]) => m.y), z: moving.map(([, m]) => m.z) }, moving.map(([n]) => n));
    keepPicture();
    const cross = here(chosen());
    Plotly.restyle(map, { x: [cross.x], y: [cross.y] }, [map.data.length - 1]);
  }

  function setTo(bumpIndex, steerIndex) {
    bump.value = bumpIndex; steer.value = steerIndex; follow();
  }

  const nearestIndex = (values, value) => values.reduce((best, v, k) => (Math.abs(v - value) < Math.abs(values[best] - value) ? k : best), 0);
  const showPart = (index) => { which.value = String(index); drawMap(); setTo(...scene.parts[index].stop); };

  function mapClicks() {
    map.on("plotly_click", (event) => {
      const point = event.points[0], steers = scene.steer.length > 1;
      setTo(steers ? Math.round(point.y) : nearestIndex(scene.bump, point.x / factor()), steers ? Math.round(point.x) : 0);
    });
  }

  // ---- paper has no 3D: a picture of the view as it stands is kept for it

  let keeping = null;
  function keepPicture() {
    clearTimeout(keeping);
    keeping = setTimeout(async () => {
      const image = byId("printed");
      image.src = await Plotly.toImage(view, { format: "png", width: Math.max(view.clientWidth, 640), height: view.clientHeight, scale: 1.5 });
      await image.decode();
      document.body.classList.add("pictured");
    }, 1500);
  }

  // ---- start

  bump.max = scene.bump.length - 1; steer.max = scene.steer.length - 1;
  if (scene.steer.length < 2) for (const element of document.querySelectorAll(".steers")) element.hidden = true;
  const heads = [...document.querySelectorAll("#parts thead th")].map((cell) => cell.textContent);
  for (const row of document.querySelectorAll("#parts tbody tr:not(.note)")) [...row.children].forEach((cell, k) => { if (k > 1) cell.dataset.label = heads[k]; });
  if (typeof Plotly === "undefined") {
    for (const plot of [view, map]) plot.textContent = "This browser is too old to draw this. Every number stands in the text and the tables.";
    document.documentElement.dataset.ready = "yes";
    return;
  }
  if (!scene.parts.length) { for (const element of document.querySelectorAll(".cycle")) element.hidden = true; return; }
  [bump.value, steer.value] = scene.parts[0].stop;
  drawView(); drawMap(); mapClicks(); writeNow(); keepPicture();
  view.on("plotly_relayout", keepPicture);
  if (unit === "in") nameScale();

  bump.addEventListener("input", follow); steer.addEventListener("input", follow);
  which.addEventListener("change", drawMap);
  for (const button of document.querySelectorAll(".go")) button.addEventListener("click", () => {
    showPart(Number(button.dataset.part));
    byId("turn").scrollIntoView({ behavior: window.matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  });
  byId("ride").addEventListener("click", () => setTo(nearestIndex(scene.bump, 0), nearestIndex(scene.steer, 0)));
  byId("worst").addEventListener("click", () => showPart(0));
  for (const button of document.querySelectorAll("[data-camera]")) button.addEventListener("click", () => Plotly.relayout(view, { "scene.camera": camera(button.dataset.camera) }));

  let timer = null;
  byId("sweep").addEventListener("click", () => {
    if (timer) { clearInterval(timer); timer = null; } else {
      let tick = 0;
      const ends = (n, count) => (n < 2 ? 0 : ((count % (2 * n - 2)) < n ? count % (2 * n - 2) : 2 * n - 2 - (count % (2 * n - 2))));
      timer = setInterval(() => { tick += 1; setTo(ends(scene.bump.length, tick), ends(scene.steer.length, Math.floor(tick / 3))); }, 180);
    }
    byId("sweep").setAttribute("aria-pressed", String(timer !== null));
    byId("sweep").textContent = timer ? "Stop" : "Cycle it";
  });

  for (const choice of document.querySelectorAll("input[name=unit]")) choice.addEventListener("change", () => {
    document.body.classList.replace(unit, choice.value); unit = choice.value;
    writeLengths(); writeNow(); drawMap();
    nameScale();
  });
  function nameScale() {
    Plotly.restyle(view, unit === "mm" ? { "colorbar.title.text": axisName("least gap"), "colorbar.tickvals": null, "colorbar.ticktext": null } : { "colorbar.title.text": axisName("least gap"), "colorbar.tickvals": [inchTicks()], "colorbar.ticktext": [inchTicks().map((mm) => inchText(mm).replace(" in", ""))] }, [1]);
  }
  function inchTicks() {
    const ticks = [];
    for (let inch = Math.ceil(least / MM_PER_INCH * 2) / 2; inch <= most / MM_PER_INCH; inch += 0.5) ticks.push(inch * MM_PER_INCH);
    return ticks;
  }

  const repaint = () => { drawView(); nameScale(); drawMap(); mapClicks(); keepPicture(); view.on("plotly_relayout", keepPicture); };
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", repaint);

  // paper is narrower than a screen: the plots are printed smaller by this much, so nothing of them is cut
  const PAPER_PX = 670;
  const fitPaper = () => { 
    for (const plot of [view, map]) {
      const wide = plot.clientWidth, tall = plot.clientHeight, by = Math.min(PAPER_PX / wide, 420 / tall);
      const sizes = { "--on-paper": by.toFixed(4), "--wide": wide + "px", "--tall": tall + "px", "--paper-tall": Math.ceil(by * tall) + "px" };
      for (const [name, value] of Object.entries(sizes)) plot.style.setProperty(name, value);
    }
  };
  fitPaper();
  window.addEventListener("resize", () => { if (!window.matchMedia("print").matches) fitPaper(); });
  window.addEventListener("beforeprint", () => { for (const more of document.querySelectorAll("details")) more.open = true; });
  document.documentElement.dataset.ready = "yes";
})();
