// Editing in place: the server's form for one value, with terms to choose from while typing,
// a verdict by the same rules as the reader's, and a draft that outlives a reload.

import { act, tell } from "./acts.js";
import { focusRow, onFocus, rowOf } from "./rows.js";

const DRAFT = "voicelog:draft";
const LOOK_AFTER_MS = 120;
const terms = new Map();
let offering = null;

export function startEditing() {
  const rows = document.getElementById("rows");
  if (!rows) return;
  rows.addEventListener("click", (event) => {
    const value = event.target.closest("a.value, a[data-edit]");
    if (!value || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    openEditor(value);
  });
  // What else can be meant is offered as soon as a doubted value has the focus.
  onFocus((row, target) => {
    if (target.classList?.contains("is-doubted")) offer(row, target);
    else if (!row.querySelector(".editor")) row.querySelector("[data-slot]").replaceChildren();
  });
  reopenDraft();
}

/** Open the form for a value in its row. */
export function openEditor(value) {
  const row = rowOf(value);
  fetchPart(value.href).then((editor) => {
    if (!editor) return;
    const slot = row.querySelector("[data-slot]");
    closeOthers(slot);
    slot.replaceChildren(editor);
    prepare(editor, row);
    // In the middle, so that what can be chosen hangs neither below the page nor the player.
    row.scrollIntoView({ block: "center" });
  });
  return true;
}

export function closeEditor(row) {
  sessionStorage.removeItem(DRAFT);
  row?.querySelector("[data-slot]")?.replaceChildren();
}

/** Show both values where somebody else was faster. */
export function showConflict(conflict, row) {
  const slot = row?.querySelector("[data-slot]");
  if (!slot) return;
  slot.replaceChildren(conflict);
  conflict.querySelector("button")?.focus();
}

async function fetchPart(address, part = ".editor") {
  let answer;
  try {
    answer = await fetch(address, { credentials: "same-origin" });
  } catch {
    tell("voicelog isn't answering; look at the terminal.", true);
    return null;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const found = page.querySelector(part);
  // The focus goes where the keyboard needs it, not where a fresh page would put it.
  for (const each of found?.querySelectorAll("[autofocus]") ?? []) each.removeAttribute("autofocus");
  if (!found) tell(page.querySelector("#message p")?.textContent ?? "That can't be edited.", true);
  return found;
}

async function offer(row, value) {
  if (row.querySelector(".editor, .conflict")) return;
  offering = value;
  const slot = row.querySelector("[data-slot]");
  slot.setAttribute("aria-busy", "true");
  const offers = await fetchPart(`${value.href}/readings`, ".offers");
  slot.removeAttribute("aria-busy");
  const isWanted = offering === value && document.activeElement === value && !row.querySelector(".editor");
  if (offers?.querySelector("form") && isWanted) slot.replaceChildren(offers);
}

function closeOthers(slot) {
  for (const other of document.querySelectorAll("[data-slot]")) if (other !== slot) other.replaceChildren();
}

function prepare(editor, row, draft = null) {
  const choice = editor.querySelector("select[data-choose-field]");
  if (choice) {
    choice.focus();
    choice.addEventListener("keydown", (event) => {
      if (event.key === "Escape") leave(row);
      if (event.key !== "Enter") return;
      event.preventDefault();
      openNamed(row, choice.value);
    });
    return;
  }
  const input = editor.querySelector("[name=typed]");
  if (!input) {
    editor.querySelector("button, a")?.focus();
    editor.addEventListener("keydown", (event) => event.key === "Escape" && leave(row));
    return;
  }
  const field = editor.dataset.field;
  fetchPart(`${editor.dataset.address}/readings`, ".offers").then((offers) => {
    editor.querySelector("[data-readings]").replaceChildren(...(offers?.querySelector("form") ? [offers] : []));
  });
  if (draft !== null) input.value = draft;
  input.focus();
  if (draft === null) input.select();
  const list = editor.querySelector("[role=listbox]");
  const combo = list ? new TermChooser(input, list, field) : null;
  let waiting = 0;
  input.addEventListener("input", () => {
    sessionStorage.setItem(DRAFT, JSON.stringify({ row: row.id, href: editor.dataset.address, typed: input.value }));
    combo?.look();
    clearTimeout(waiting);
    waiting = setTimeout(() => judge(editor, field, combo ? combo.completed() : input.value), LOOK_AFTER_MS);
  });
  input.addEventListener("keydown", (event) => {
    if (combo?.use(event)) return;
    if (event.key === "Escape") {
      event.preventDefault();
      leave(row, field);
    } else if (event.key === "Enter" && !event.shiftKey) {
      event.preventDefault();
      combo?.take();
      act(input.form, input.form.querySelector("button.main"));
      focusRow(row, { field });
    }
  });
  editor.addEventListener("keydown", (event) => event.key === "Escape" && leave(row, field));
  editor.querySelector("[data-leave]")?.addEventListener("click", (event) => {
    event.preventDefault();
    leave(row, field);
  });
}

function leave(row, field = null) {
  closeEditor(row);
  focusRow(row, { field });
}

async function openNamed(row, field) {
  const editor = await fetchPart(`/entries/${row.dataset.entry}/fields/${field}`);
  if (!editor) return;
  row.querySelector("[data-slot]").replaceChildren(editor);
  prepare(editor, row);
}

async function judge(editor, field, typed) {
  const place = editor.querySelector(".verdict");
  try {
    const answer = await fetch(`/check?${new URLSearchParams({ field, typed })}`, { credentials: "same-origin" });
    if (!answer.ok) return;
    const verdict = await answer.json();
    place.textContent = verdict.message;
    place.className = `verdict ${verdict.is_good ? "is-good" : "is-bad"}`;
  } catch {
    place.textContent = "";
  }
}

async function reopenDraft() {
  const draft = JSON.parse(sessionStorage.getItem(DRAFT) ?? "null");
  const row = draft && document.getElementById(draft.row);
  if (!row) return;
  const editor = await fetchPart(draft.href);
  if (!editor) return;
  row.querySelector("[data-slot]").replaceChildren(editor);
  prepare(editor, row, draft.typed);
  tell("What you were typing is still here.", false);
}

/** A combobox over the terms of a field (WAI-ARIA 1.2, combobox with a listbox). */
class TermChooser {
  constructor(input, list, field) {
    this.input = input;
    this.list = list;
    this.field = field;
    this.chosen = -1;
    this.found = [];
    if (!terms.has(field)) {
      terms.set(field, fetch(`/terms/${field}`, { credentials: "same-origin" }).then((answer) => answer.json()));
    }
    list.addEventListener("mousedown", (event) => {
      const option = event.target.closest("[role=option]");
      if (!option) return;
      event.preventDefault();
      this.choose([...list.children].indexOf(option));
      this.take();
    });
  }

  parts() {
    const text = this.input.value;
    const cut = Math.max(text.lastIndexOf(";"), text.lastIndexOf(",")) + 1;
    return { before: text.slice(0, cut), last: text.slice(cut).trim() };
  }

  async look() {
    const { last } = this.parts();
    const all = await terms.get(this.field);
    const wanted = last.toLowerCase();
    this.found = wanted ? rank(all, wanted).slice(0, 8) : [];
    const known = all.some((each) => each.term.toLowerCase() === wanted);
    this.list.replaceChildren(
      ...this.found.map((each, at) => {
        const option = document.createElement("li");
        option.id = `option-${at}`;
        option.role = "option";
        option.append(each.term);
        if (each.definition) {
          const told = document.createElement("small");
          told.textContent = each.definition;
          option.append(told);
        }
        return option;
      }),
    );
    this.list.dataset.typed = last;
    this.input.setAttribute("aria-expanded", String(this.found.length > 0));
    this.choose(this.found.length && !known ? 0 : -1);
  }

  choose(at) {
    this.chosen = at;
    [...this.list.children].forEach((option, index) => option.setAttribute("aria-selected", String(index === at)));
    if (at >= 0) this.input.setAttribute("aria-activedescendant", `option-${at}`);
    else this.input.removeAttribute("aria-activedescendant");
    this.list.children[at]?.scrollIntoView({ block: "nearest" });
  }

  use(event) {
    if (!this.found.length) return false;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      const count = this.found.length;
      this.choose((this.chosen + (event.key === "ArrowDown" ? 1 : -1) + count) % count);
      return true;
    }
    if (event.key === "Tab" && this.chosen >= 0) {
      event.preventDefault();
      this.take();
      return true;
    }
    if (event.key === "Escape") {
      event.preventDefault();
      event.stopPropagation();
      this.close();
      return true;
    }
    return false;
  }

  completed() {
    const { before, last } = this.parts();
    const term = this.chosen >= 0 ? this.found[this.chosen].term : last;
    return `${before}${before && term ? " " : ""}${term}`;
  }

  take() {
    if (this.chosen < 0) return;
    this.input.value = this.completed();
    this.close();
    this.input.dispatchEvent(new Event("input", { bubbles: true }));
  }

  close() {
    this.found = [];
    this.list.replaceChildren();
    this.choose(-1);
    this.input.setAttribute("aria-expanded", "false");
  }
}

// What begins with the letters typed comes before what has a word that does.
function rank(all, wanted) {
  const begins = (text) => text.toLowerCase().startsWith(wanted);
  const holds = (text) => text.toLowerCase().split(/[\s,-]+/).some((word) => word.startsWith(wanted));
  const score = (each) => {
    if (begins(each.term)) return 0;
    if (each.said.some(begins)) return 1;
    if (holds(each.term)) return 2;
    return each.said.some(holds) ? 3 : 9;
  };
  return all.map((each) => [score(each), each]).filter(([points]) => points < 9).sort((one, other) => one[0] - other[0]).map(([, each]) => each);
}
