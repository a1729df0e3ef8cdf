// The leaf map by arrow keys: one stop for the Tab key, arrows inside.

import { currentRow, focusRow, onFocus } from "./rows.js";

export function startMap() {
  const map = document.getElementById("map");
  if (!map) return;
  const cells = () => [...map.querySelectorAll("a.cell")];
  const settle = (chosen) => {
    for (const cell of cells()) cell.tabIndex = cell === chosen ? 0 : -1;
  };
  settle(cells()[0]);
  map.addEventListener("focusin", (event) => event.target.matches("a.cell") && settle(event.target));
  map.addEventListener("keydown", (event) => {
    const all = cells();
    const at = all.indexOf(document.activeElement);
    if (at < 0) return;
    const next = { ArrowRight: at + 1, ArrowLeft: at - 1, ArrowDown: below(all, at, 1), ArrowUp: below(all, at, -1), Home: 0, End: all.length - 1 }[event.key];
    if (event.key === "Escape") focusRow(currentRow() ?? document.querySelector("#rows .row"));
    if (next === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    all[next]?.focus();
  });
  map.addEventListener("click", (event) => {
    const cell = event.target.closest("a.cell");
    const there = cell && document.getElementById(cell.dataset.anchor);
    // On this page already: no need to load it again.
    if (!there || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    focusRow(there.querySelector(".row"));
    there.scrollIntoView({ block: "start" });
  });
  onFocus((row) => {
    const anchor = row.closest(".leaf")?.id;
    for (const cell of map.querySelectorAll("a.cell")) cell.classList.toggle("is-here", cell.dataset.anchor === anchor);
  });
}

export function enterMap() {
  (document.querySelector("#map a.cell.is-here") ?? document.querySelector("#map a.cell"))?.focus();
}

// The cells wrap like words; what is below is the nearest one in the next line.
function below(cells, at, direction) {
  const from = cells[at].getBoundingClientRect();
  const lines = cells
    .map((cell, index) => ({ index, box: cell.getBoundingClientRect() }))
    .filter(({ box }) => (direction > 0 ? box.top > from.bottom - 2 : box.bottom < from.top + 2));
  if (!lines.length) return at;
  const line = direction > 0 ? Math.min(...lines.map(({ box }) => box.top)) : Math.max(...lines.map(({ box }) => box.top));
  return lines
    .filter(({ box }) => Math.abs(box.top - line) < 3)
    .reduce((best, one) => (Math.abs(one.box.left - from.left) < Math.abs(best.box.left - from.left) ? one : best)).index;
}
