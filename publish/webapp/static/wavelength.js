"use strict";

// Peaks and lines become handles: what is dragged onto the other is a pair, and the
// address that says so is asked for. Going back undoes it.
{
  const frame = document.querySelector("[data-pairing]");
  const svg = frame.querySelector(".bench svg");
  const region = frame.querySelector(".bench");
  const said = document.getElementById("pairing-said");
  const drag = svg.querySelector(".drag");
  const width = Number(svg.dataset.width);
  const all = (selector) => [...svg.querySelectorAll(selector)];
  const lines = all(".line").map((e) => ({ e, x: Number(e.dataset.x), y: 34, line: e.dataset.line, name: e.dataset.name }));
  const peaks = all(".peak:not(.clipped)").map((e) => ({ e, x: Number(e.dataset.x), y: Number(e.dataset.y), peak: e.dataset.peak, line: e.dataset.line, said: e.dataset.said }));
  for (const note of frame.querySelectorAll("[data-scripted]")) note.hidden = false;
  svg.setAttribute("role", "group");

  // The place that was looked at is looked at again on the next page.
  const place = "pairing " + location.pathname;
  const kept = Number(sessionStorage.getItem(place));
  if (kept > 0) region.scrollLeft = kept * region.scrollWidth - region.clientWidth / 2;
  addEventListener("pagehide", () => {
    const middle = (region.scrollLeft + region.clientWidth / 2) / region.scrollWidth;
    sessionStorage.setItem(place, region.scrollLeft > 0 ? String(middle) : "0");
  });

  // pair asks for the page with one more pair. A peak has one line and a line one
  // peak: what is said last counts.
  const pair = (peak, line) => {
    const next = new URL(location.href);
    const others = next.searchParams.getAll("pair").filter((p) => p.split(":")[0] !== peak.peak && p.split(":")[1] !== line.line);
    next.searchParams.delete("pair");
    for (const p of [...others, `${peak.peak}:${line.line}`]) next.searchParams.append("pair", p);
    said.textContent = `Pairing pixel ${peak.peak} with ${line.name}.`;
    location.assign(next);
  };

  // aim draws the tie that letting go would make; without a target it is put away.
  let shown = [];
  const aim = (from, to) => {
    for (const e of shown) e.classList.remove("aimed");
    shown = to ? [from.e, to.e] : [];
    for (const e of shown) e.classList.add("aimed");
    drag.toggleAttribute("hidden", !to);
    if (!to) return;
    const [peak, line] = from.peak ? [from, to] : [to, from];
    drag.querySelector("path").setAttribute("d", `M${peak.x} ${peak.y}L${line.x} 40`);
    const label = drag.querySelector("text");
    label.textContent = `pixel ${peak.peak} is ${line.name}?`;
    const half = label.getComputedTextLength() / 2;
    label.setAttribute("x", String(Math.min(Math.max(line.x, half + 4), width - half - 4)));
    said.textContent = `Pixel ${peak.peak} with ${line.name}: let go to pair them.`;
  };
  const nearest = (list, x) => list.reduce((a, b) => (Math.abs(b.x - x) < Math.abs(a.x - x) ? b : a), list[0]);

  // By pointer: mouse, pen or finger.
  let held; // what is dragged: {from, targets, pointer, startX, startY, to}
  const release = (words) => {
    if (!held) return;
    held = undefined;
    aim();
    svg.classList.remove("dragging");
    said.textContent = words;
  };
  const follow = (clientX, clientY) => {
    const box = svg.getBoundingClientRect();
    const seen = region.getBoundingClientRect();
    const moved = Math.hypot(clientX - held.startX, clientY - held.startY) > 6;
    const inside = clientY > seen.top - 24 && clientY < seen.bottom + 24;
    held.to = moved && inside ? nearest(held.targets, (clientX - box.left) / box.width * width) : undefined;
    aim(held.from, held.to);
    if (moved && !inside) said.textContent = "Nothing is paired out here.";
  };
  // Near an end of what is seen the picture moves along.
  const along = () => {
    if (!held) return;
    const seen = region.getBoundingClientRect();
    const by = held.x < seen.left + 28 ? -9 : held.x > seen.right - 28 ? 9 : 0;
    if (by && held.to) {
      region.scrollLeft += by;
      follow(held.x, held.y);
    }
    requestAnimationFrame(along);
  };
  svg.addEventListener("pointerdown", (event) => {
    const e = event.target.closest(".peak:not(.clipped), .line");
    if (!e || event.button !== 0 || held) return;
    // Handles that crowd cover one another: what counts is which middle is nearest.
    const box = svg.getBoundingClientRect();
    const scale = width / box.width;
    const x = (event.clientX - box.left) * scale;
    const y = (event.clientY - box.top) * scale;
    const near = e.matches(".peak") ? peaks : lines;
    const from = near.reduce((a, b) => (Math.hypot(b.x - x, b.y - y) < Math.hypot(a.x - x, a.y - y) ? b : a));
    const targets = from.peak ? lines : peaks;
    if (!targets.length) return;
    event.preventDefault();
    if (from.peak) settle(from, true);
    held = { from, targets, pointer: event.pointerId, startX: event.clientX, startY: event.clientY, x: event.clientX, y: event.clientY };
    svg.setPointerCapture(event.pointerId);
    svg.classList.add("dragging");
    requestAnimationFrame(along);
  });
  // A finger on a handle drags it and does not scroll the page.
  svg.addEventListener("touchstart", (event) => {
    if (event.target.closest(".peak:not(.clipped), .line")) event.preventDefault();
  }, { passive: false });
  svg.addEventListener("pointermove", (event) => {
    if (held?.pointer !== event.pointerId) return;
    held.x = event.clientX;
    held.y = event.clientY;
    follow(event.clientX, event.clientY);
  });
  svg.addEventListener("pointerup", (event) => {
    if (held?.pointer !== event.pointerId) return;
    const { from, to } = held;
    release("");
    if (to) pair(...(from.peak ? [from, to] : [to, from]));
  });
  svg.addEventListener("pointercancel", () => release(""));

  // By keyboard: a peak is a slider over the lamp's lines. One of them is in the
  // order of Tab, and the arrows go on from there.
  let on; // the peak that is stepped, and where it stands: {peak, at}
  const describe = (peak, at) => {
    const line = lines[at];
    peak.e.setAttribute("aria-valuenow", String(at < 0 ? 0 : at + 1));
    peak.e.setAttribute("aria-valuetext", line ? line.name : "no line");
  };
  const home = (peak) => lines.findIndex((l) => l.line === peak.line);
  const settle = (peak, focus) => { // makes a peak the one that Tab reaches
    for (const p of peaks) p.e.setAttribute("tabindex", p === peak ? "0" : "-1");
    if (focus) peak.e.focus({ preventScroll: true });
  };
  const letGo = () => {
    if (!on) return;
    describe(on.peak, home(on.peak));
    on = undefined;
    aim();
  };
  const bring = (x) => { // scrolls so that a place is seen
    const at = x / width * region.scrollWidth;
    if (at < region.scrollLeft + 40 || at > region.scrollLeft + region.clientWidth - 40) region.scrollLeft = at - region.clientWidth / 2;
  };
  for (const [i, peak] of peaks.entries()) {
    peak.e.setAttribute("role", "slider");
    peak.e.setAttribute("aria-label", `Peak at pixel ${peak.peak}`);
    peak.e.setAttribute("aria-valuemin", "0");
    peak.e.setAttribute("aria-valuemax", String(lines.length));
    describe(peak, home(peak));
    peak.e.addEventListener("focus", () => { bring(peak.x); if (!held) said.textContent = `Pixel ${peak.peak}: ${peak.said}.`; });
    peak.e.addEventListener("blur", () => { if (!held) { letGo(); said.textContent = ""; } });
    peak.e.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey || held) return;
      const step = (to) => {
        const at = Math.min(Math.max(to, 0), lines.length - 1);
        on = { peak, at };
        describe(peak, at);
        aim(peak, lines[at]);
        said.textContent = `Pixel ${peak.peak} with ${lines[at].name}: Enter pairs them.`;
        bring(lines[at].x);
      };
      // From no line, the first step is to the nearest on that side.
      const from = () => on?.at ?? home(peak);
      const right = () => { const at = from(); return at >= 0 ? at + 1 : lines.findIndex((l) => l.x >= peak.x); };
      const left = () => { const at = from(); return at >= 0 ? at - 1 : lines.findLastIndex((l) => l.x <= peak.x); };
      const go = (j) => { letGo(); const next = peaks[Math.min(Math.max(j, 0), peaks.length - 1)]; settle(next, true); };
      switch (event.key) {
        case "ArrowRight": { const to = right(); step(to < 0 ? lines.length - 1 : to); break; }
        case "ArrowLeft": step(left()); break;
        case "Home": step(0); break;
        case "End": step(lines.length - 1); break;
        case "ArrowUp": go(i - 1); break;
        case "ArrowDown": go(i + 1); break;
        case "Enter": case " ": if (on) pair(peak, lines[on.at]); break;
        case "Escape": letGo(); said.textContent = `Pixel ${peak.peak}: ${peak.said}.`; break;
        default: return;
      }
      event.preventDefault();
    });
  }
  if (peaks.length) settle(peaks[0], false);
  addEventListener("keydown", (event) => {
    if (event.key === "Escape" && held) release("Let go; nothing was paired.");
  });
}
