// The keyboard. What a key does stands in the page itself: the element that carries it in
// aria-keyshortcuts is used, first in the row with the focus, then anywhere on the page. Only
// going from row to row has no element of its own.

import { act } from "./acts.js";
import { openEditor } from "./editing.js";
import { enterMap } from "./leaf_map.js";
import { changeOption, playNote, playWords } from "./player.js";
import { currentRow, isDoubtful, step, stepLeaf, stepValue, turnPage } from "./rows.js";

const going = {
  ArrowDown: () => step(1) || turnPage(1),
  ArrowUp: () => step(-1) || turnPage(-1, { at: "last" }),
  ArrowRight: () => stepValue(1),
  ArrowLeft: () => stepValue(-1),
  PageDown: () => turnPage(1),
  PageUp: () => turnPage(-1),
  d: () => step(1, isDoubtful) || turnPage(1, { at: "doubtful" }),
  D: () => step(-1, isDoubtful) || turnPage(-1, { at: "last" }),
  n: () => stepLeaf(1),
  p: () => stepLeaf(-1),
  m: () => enterMap(),
  " ": () => playWords(),
  w: () => playNote(),
  "/": () => document.getElementById("words")?.select(),
  r: () => changeOption("repeat"),
  b: () => changeOption("around"),
  ",": () => changeOption("speed", -1),
  ".": () => changeOption("speed", 1),
};

export function startKeys() {
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.isComposing || isTyping(event.target)) return;
    const row = currentRow();
    if (!row && !isAtRest(event.target)) return;
    if (use(event, row)) event.preventDefault();
  });
}

function use(event, row) {
  const key = event.key;
  if (event.altKey) return click(row?.querySelector(`[aria-keyshortcuts="Alt+${key}"]`));
  if (key === "Enter") {
    const value = event.target.closest?.(".value, [data-edit]");
    return value && row ? openEditor(value) : false;
  }
  if (/^[1-9]$/.test(key) && row) return click(row.querySelectorAll(".offers button")[Number(key) - 1]);
  const go = going[key];
  if (go) {
    go();
    return true;
  }
  const shortcut = `[aria-keyshortcuts="${CSS.escape(key)}"]`;
  return click(row?.querySelector(shortcut) ?? row?.closest(".leaf")?.querySelector(shortcut) ?? document.querySelector(shortcut));
}

function click(element) {
  if (!element || element.disabled) return false;
  if (element.form) act(element.form, element);
  else element.click();
  return true;
}

function isTyping(element) {
  return element.matches?.("input:not([type=checkbox]), textarea, select, [contenteditable]") || element.closest?.("dialog");
}

function isAtRest(element) {
  return element === document.body || element.id === "main";
}
