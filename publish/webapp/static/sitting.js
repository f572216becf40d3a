"use strict";

// The readings of a sitting, drawn as they come: a panel for each kind of number
// over one time, and the latest spectrum.
(async () => {
  const panel = document.getElementById("live-panel");
  const charts = document.getElementById("charts");
  const meters = document.getElementById("meters");
  const noted = document.getElementById("marks");
  const state = document.getElementById("live-state");
  const base = `/sittings/${panel.dataset.sitting}`;
  const names = { power: "Power", power_lamp: "Power at the lamp", luminous_flux: "Luminous flux", illuminance: "Illuminance", voltage: "Voltage", current: "Current", temperature: "Temperature", light: "Light in the spectrum", cct: "CCT", duv: "Duv" };
  const title = (line) => `${names[line.key] ?? line.key}${line.unit ? `, ${line.unit}` : ""}`;
  const ink = (property) => getComputedStyle(document.documentElement).getPropertyValue(property).trim();
  const colour = (property) => { // light-dark() resolves only on an element
    const probe = document.createElement("span");
    probe.style.color = `var(${property})`;
    document.body.append(probe);
    const value = getComputedStyle(probe).color;
    probe.remove();
    return value;
  };
  const steps = [.1, .2, .5, 1, 2, 5, 10, 15, 20, 30, 60, 120, 300, 600];
  const digits = new Intl.NumberFormat("en", { maximumSignificantDigits: 6, useGrouping: false });

  // What was computed from spectra is read with the decimals that the program gives
  // it, and light in the spectrum's own unit with four digits.
  const brief = new Intl.NumberFormat("en", { maximumSignificantDigits: 4, useGrouping: false });
  const latest = (line) => {
    const value = line.values.at(-1);
    if (line.decimals === undefined) return (line.key === "light" ? brief : digits).format(value).replace("-", "−");
    const text = value.toFixed(line.decimals);
    return /[1-9]/.test(text) ? text.replace("-", "−") : text.replace("-", ""); // no minus before a zero
  };

  const lines = new Map();
  const marks = [];
  let shot;
  let left = [];
  const join = (line) => {
    const key = `${line.channel} ${line.key}`;
    const had = lines.get(key);
    if (!had) lines.set(key, line);
    else for (let i = 0; i < line.seconds.length; i++) {
      if (line.seconds[i] > had.seconds.at(-1)) { had.seconds.push(line.seconds[i]); had.values.push(line.values[i]); }
    }
  };
  // load reads all of the record, in place of what was read of it before.
  const load = async () => {
    const answer = await fetch(`${base}/record`, { headers: { Accept: "application/json" } }).catch(() => null);
    const record = answer?.ok && await answer.json().catch(() => null);
    if (!record) { // the page is left, or the program has ended
      state.textContent = "The record could not be read; load the page again. What was recorded is kept.";
      return null;
    }
    lines.clear();
    record.lines.forEach(join);
    marks.splice(0, Infinity, ...record.marks);
    shot = record.shot;
    left = record.left;
    return record;
  };
  const record = await load();
  if (!record) return;

  const drawn = new Map(); // by what they show
  const width = () => Math.max(280, charts.clientWidth);
  const axes = (x, y, times) => [x, y].map((label, i) => ({
    label, values: (_, ticks) => ticks.map((t) => digits.format(t)),
    ...(i === 0 && times && { values: (_, ticks) => ticks.map((t) => digits.format(t / times)), incrs: steps.map((s) => s * times) }), stroke: colour("--muted"), font: `12px ${ink("--text")}`, labelFont: `12px ${ink("--text")}`,
    grid: { stroke: colour("--grid"), width: 1 }, ticks: { stroke: colour("--grid"), width: 1 }, size: i ? 64 : 40, labelSize: 18,
  }));
  // strike draws a line where something was marked.
  const strike = (plot) => {
    const { ctx, bbox } = plot;
    ctx.save();
    ctx.strokeStyle = colour("--muted");
    ctx.setLineDash([4, 4]);
    for (const mark of marks) {
      const x = plot.valToPos(mark.seconds, "x", true);
      ctx.beginPath();
      ctx.moveTo(x, bbox.top);
      ctx.lineTo(x, bbox.top + bbox.height);
      ctx.stroke();
    }
    ctx.restore();
  };
  let span = [0, 1]; // of the one time that all panels share, s
  // chart draws a panel, or puts new data into the one that is there.
  const chart = (key, heading, said, height, x, y, data, stroke, times) => {
    let one = drawn.get(key);
    if (one && one.x === x && one.y === y) {
      one.plot.setData(data);
    } else {
      one?.box.remove();
      const box = document.createElement("div");
      box.className = "chart";
      const head = document.createElement("h3");
      const place = document.createElement("div");
      place.setAttribute("role", "img");
      box.append(head, place);
      charts.append(box);
      const plot = new uPlot({
        width: width(), height, legend: { show: false }, 
        cursor: { drag: { x: !times, y: false }, ...(times && { sync: { key: "time" } }) },
        scales: { x: { time: false, ...(times && { range: () => span }) } }, axes: axes(x, y, times),
        hooks: times ? { draw: [strike] } : {},
        series: [{}, { stroke: colour(stroke), width: 1.5, points: { show: (u) => u.data[0].length < 40, size: 5, stroke: colour(stroke), fill: colour("--panel") } }],
      }, data, place);
      one = { box, head, place, plot, x, y };
      drawn.set(key, one);
    }
    one.head.textContent = heading;
    one.place.setAttribute("aria-label", said);
  };

  const draw = () => {
    if (shot) {
      const top = shot.values.indexOf(Math.max(...shot.values));
      chart("spectrum", `Spectrum of reading ${shot.n}`, `The latest spectrum, strongest at ${shot.nm[top].toFixed(0)} nm.`, 240, "nm", shot.unit || "relative", [shot.nm, shot.values], "--accent");
    }
    let series = 0;
    const all = [...lines.values()];
    span = [Math.min(0, ...all.map((line) => line.seconds[0])), Math.max(1, ...all.map((line) => line.seconds.at(-1)))];
    const unit = span[1] - span[0] > 300 ? ["min", 60] : ["s", 1];
    for (const [key, line] of lines) {
      if (line.seconds.length < 2) continue;
      series = series % 4 + 1;
      const last = latest(line);
      chart(key, `${title(line)} (${line.channel})`, `${title(line)} over time: ${line.values.length} readings, now ${last}.`, 170, unit[0], line.unit, [line.seconds, line.values], `--series-${series}`, unit[1]);
    }
    const shown = marks.slice(-8).map((mark) => `${digits.format(Math.round(10 * mark.seconds / unit[1]) / 10)} ${unit[0]}: ${mark.text}`);
    noted.textContent = [...(shown.length ? [`Dashed lines: ${shown.join("; ")}.`] : []), ...left].join(" ");
    const list = document.createElement("dl");
    list.className = "meters";
    for (const line of lines.values()) {
      const one = document.createElement("div");
      const dt = document.createElement("dt");
      const dd = document.createElement("dd");
      const small = document.createElement("small");
      dt.textContent = names[line.key] ?? line.key;
      dd.textContent = latest(line);
      small.textContent = line.unit;
      dd.append(small);
      one.append(dt, dd);
      list.append(one);
    }
    meters.replaceChildren(list);
    meters.hidden = lines.size === 0;
  };
  const anew = () => {
    for (const one of drawn.values()) { one.plot.destroy(); one.box.remove(); }
    drawn.clear();
    draw();
  };
  draw();
  document.addEventListener("theme", anew);
  let resized;
  addEventListener("resize", () => { clearTimeout(resized); resized = setTimeout(anew, 150); });

  // How the instruments stand, looked at every other second: to start and to stop them
  // is no change of the notebook, and may be done in another browser.
  const desk = document.getElementById("desk");
  setInterval(async () => {
    if (document.hidden || !desk.querySelector("[data-running]") || desk.contains(document.activeElement) || written(desk) || desk.querySelector("details[open]")) return;
    const got = await fetch(`${base}/desk`).catch(() => null);
    if (!got?.ok) return;
    const fresh = new DOMParser().parseFromString(await got.text(), "text/html");
    if (fresh.body.innerHTML !== desk.innerHTML) desk.replaceChildren(...fresh.body.childNodes);
  }, 2000);

  follow(`${base}/live`, record.last, {
    readings: (event) => {
      const news = JSON.parse(event.data);
      news.lines.forEach(join);
      marks.push(...news.marks);
      shot = news.shot ?? shot;
      left = news.left;
      state.textContent = `${news.last} readings recorded.`;
      draw();
    },
    behind: async () => { if (await load()) anew(); },
    error: () => { state.textContent = "The line to the program is broken; trying again. What was recorded is kept."; },
  });
})();
