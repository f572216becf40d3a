"use strict";

// What every page does by itself. Without it the pages work; one then loads them
// again to see what others did.
document.documentElement.classList.add("scripted");

// Theme: the page follows the system until the reader chooses, and then stays.
{
  const root = document.documentElement;
  const toggle = document.getElementById("theme");
  const system = matchMedia("(prefers-color-scheme: dark)");
  const dark = () => (root.dataset.theme ?? (system.matches ? "dark" : "light")) === "dark";
  const chosen = localStorage.getItem("theme");
  if (chosen === "dark" || chosen === "light") root.dataset.theme = chosen;
  if (toggle) {
    const label = () => { toggle.textContent = dark() ? "Light page" : "Dark page"; };
    toggle.hidden = false;
    toggle.addEventListener("click", () => {
      root.dataset.theme = dark() ? "light" : "dark";
      localStorage.setItem("theme", root.dataset.theme);
      label();
      document.dispatchEvent(new Event("theme"));
    });
    system.addEventListener("change", () => { label(); document.dispatchEvent(new Event("theme")); });
    label();
  }
}

// refresh fetches a page and puts its live parts into this one. A part in which
// somebody works is left alone.
async function refresh(address, force) {
  const answer = await fetch(address, { headers: { Accept: "text/html" } });
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const part of document.querySelectorAll("[data-live]")) {
    const next = fresh.querySelector(`[data-live="${part.dataset.live}"]`);
    if (!next) continue;
    const busy = part.contains(document.activeElement) && document.activeElement.matches("input, select, textarea");
    if (!force && (busy || written(part)) || part.querySelector("details[open]")) continue;
    const picked = new Set([...part.querySelectorAll("input[type=checkbox]:checked")].map((box) => box.value));
    const focus = part.contains(document.activeElement) ? position(part, document.activeElement) : -1;
    part.replaceChildren(...next.childNodes);
    for (const box of part.querySelectorAll("input[type=checkbox]")) box.checked = picked.has(box.value);
    if (focus >= 0) focusable(part)[focus]?.focus();
  }
  countChosen();
}
// written tells whether something was chosen or typed that nobody has sent yet.
const written = (part) => [...part.querySelectorAll("select, textarea, input:not([type=checkbox], [type=hidden])")].some((field) =>
  field.matches("select") ? field.selectedIndex !== Math.max([...field.options].findIndex((one) => one.defaultSelected), 0) : field.value !== field.defaultValue);
const focusable = (part) => [...part.querySelectorAll("a, button, input, select, textarea, summary")];
const position = (part, element) => focusable(part).indexOf(element);

// follow keeps a stream of events open while the page is seen, and goes on from
// where it was when it is seen again: a browser allows few streams at a time.
function follow(address, after, handlers) {
  let feed;
  const close = () => { feed?.close(); feed = undefined; };
  const open = () => {
    feed = new EventSource(`${address}?after=${after}`);
    for (const [name, handle] of Object.entries(handlers)) {
      feed.addEventListener(name, (event) => { after = event.lastEventId || after; handle(event); });
    }
  };
  const look = () => { if (document.hidden) close(); else if (!feed) open(); };
  document.addEventListener("visibilitychange", look);
  addEventListener("pagehide", close);
  addEventListener("pageshow", look);
  look();
}

// What happens to the notebook, here or in another browser, is shown. A page that was
// the answer to a form says where it is otherwise found.
if (document.body.dataset.follow) {
  let waiting = false;
  let again = false;
  const tell = () => {
    again = waiting;
    if (waiting) return;
    waiting = true;
    setTimeout(async () => {
      const begun = performance.now();
      await refresh(document.body.dataset.page ?? location.href).catch(() => {});
      // While much is recorded the page is fetched no more than a tenth of the time.
      setTimeout(() => { waiting = false; again && tell(); }, Math.max(800, 9 * (performance.now() - begun)));
    }, 300);
  };
  follow("/events", document.body.dataset.follow, { changed: tell });
}

// The shelf narrows down as one writes.
const filter = document.querySelector("form.filter[role=search]");
if (filter) {
  let timer;
  const show = () => {
    const ask = new URLSearchParams(new FormData(filter));
    for (const [key, value] of [...ask]) if (!value) ask.delete(key);
    const address = `/?${ask}`;
    history.replaceState(null, "", address);
    refresh(address, true).catch(() => {});
  };
  filter.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(show, 250); });
  filter.addEventListener("submit", (event) => { event.preventDefault(); clearTimeout(timer); show(); });
}

// How many lamps are chosen to be compared.
function countChosen() {
  const status = document.getElementById("chosen");
  if (!status) return;
  const n = document.querySelectorAll("#choose input:checked").length;
  const text = n === 0 ? "Choose two to eight." : n === 1 ? "One is chosen: choose another." : n > 8 ? `${n} are chosen, and eight can be compared.` : `${n} are chosen.`;
  if (status.textContent !== text) status.textContent = text;
}
document.addEventListener("change", (event) => { if (event.target.closest?.("#choose")) countChosen(); });

// What takes a while says so, and is not asked for twice.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.dataset.wait) return;
  const button = form.querySelector("button:not([type=button])");
  const said = document.createElement("p");
  said.className = "aside";
  said.setAttribute("role", "status");
  said.textContent = form.dataset.wait;
  form.append(said);
  setTimeout(() => { button.disabled = true; });
  addEventListener("pageshow", () => { button.disabled = false; said.remove(); }, { once: true });
});

// By keyboard: a letter after g goes to a page.
{
  let g = false;
  const pages = { s: "/", i: "/import", c: "/compare", l: "/limit" };
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
    if (event.key === "/" && filter) {
      event.preventDefault();
      filter.querySelector("input").focus();
    } else if (event.key === "?") {
      location.assign("/help");
    } else if (g && pages[event.key]) {
      location.assign(pages[event.key]);
    }
    g = event.key === "g";
  });
}

// After a fault the browser still has what was written on the page before.
{
  const back = document.getElementById("back");
  if (back && history.length > 1) {
    back.hidden = false;
    back.addEventListener("click", () => history.back());
  }
}
