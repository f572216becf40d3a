"use strict";

// Theme: the page follows the system until the reader chooses.
const toggle = document.getElementById("theme");
const systemDark = matchMedia("(prefers-color-scheme: dark)");
const dark = () => (document.documentElement.dataset.theme ?? (systemDark.matches ? "dark" : "light")) === "dark";
const label = () => { toggle.textContent = dark() ? "Light page" : "Dark page"; };
toggle.hidden = false;
toggle.addEventListener("click", () => {
  document.documentElement.dataset.theme = dark() ? "light" : "dark";
  label();
});
systemDark.addEventListener("change", label);
label();

// Sorting: a cell without data-v (not defined, or outside its method's scope)
// has no rank and stays last, whichever way the column is sorted.
for (const table of document.querySelectorAll("table[data-sort]")) {
  const heads = [...table.tHead.rows[0].cells];
  const body = table.tBodies[0];
  const order = [...body.rows];
  const status = document.getElementById(table.dataset.sort);
  heads.forEach((th, column) => {
    const button = document.createElement("button");
    button.type = "button";
    const label = th.querySelector(".label");
    button.append(...label.childNodes);
    label.append(button);
    button.addEventListener("click", () => {
      const text = th.dataset.kind === "text";
      const up = th.ariaSort ? th.ariaSort === "descending" : text;
      const key = (row) => row.cells[column].dataset.v;
      const rank = (a, b) => (text ? a.localeCompare(b) : a - b) * (up ? 1 : -1);
      body.append(...[...order].sort((a, b) => {
        const [x, y] = [key(a), key(b)];
        return x === undefined || y === undefined ? (x === undefined) - (y === undefined) : rank(x, y);
      }));
      heads.forEach((h) => h.removeAttribute("aria-sort"));
      th.ariaSort = up ? "ascending" : "descending";
      const way = text ? ["Z to A", "A to Z"] : ["highest first", "lowest first"];
      status.textContent = `Sorted by ${th.dataset.name}, ${way[+up]}.`;
    });
  });
}
