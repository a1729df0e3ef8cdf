// Acts: forms sent without leaving the page. The answer is the page as it is now; what
// changed in it is put in place and the focus stays where it was.

import { closeEditor, showConflict } from "./editing.js";
import { allRows, currentRow, focusRow, isDoubtful, isToDo, rowOf, turnPage } from "./rows.js";

// What browsers let a request go on with while its page is left (Fetch, section 2.2.5).
const KEEPALIVE_BYTES = 60_000;

let queue = Promise.resolve();
let waiting = 0;

/** Send a form once the ones before it are answered. */
export function act(form, button = null) {
  const row = rowOf(form);
  const name = form.dataset.act ?? "";
  if (form.dataset.ask && !confirm(form.dataset.ask)) return queue;
  const after = whereToGo(form, row);
  const field = row?.contains(document.activeElement) ? document.activeElement.dataset?.field : null;
  // The row may be drawn anew before its turn comes; then its new form says what was seen.
  const find = () =>
    form.isConnected ? form : row && document.getElementById(row.id)?.querySelector(`form[data-act="${name}"]`);
  if (after) after();
  waiting += 1;
  queue = queue.then(() => send(find(), button, { row: row?.id, field })).then((isDone) => {
    waiting -= 1;
    // The page is done: on to the next one that is not.
    if (isDone && form.dataset.then && !allRows().some(isToDo)) turnPage(1, { at: "to-do" });
  });
  return queue;
}

export function tell(text, isRefused) {
  const message = document.getElementById("message");
  const sentence = document.createElement("p");
  sentence.className = isRefused ? "is-refused" : "is-done";
  sentence.textContent = text;
  message.replaceChildren(sentence);
}

export function startActs() {
  // Nobody leaves the page over a change that wasn't sent yet.
  addEventListener("beforeunload", (event) => waiting > 1 && event.preventDefault());
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.dataset.look !== undefined && form.closest("dialog")) {
      event.preventDefault();
      openDialog(`${form.getAttribute("action")}?${new URLSearchParams(new FormData(form))}`);
      return;
    }
    if (form.getAttribute("method") !== "post" || form.dataset.keep !== undefined) return;
    event.preventDefault();
    act(form, event.submitter);
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-dialog]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    openDialog(link.href);
  });
  document.addEventListener("toggle", rememberOpen, true);
  reopenRemembered(document);
}

async function send(form, button, from) {
  if (!form) return false;
  const data = new URLSearchParams(new FormData(form, button?.form === form ? button : null));
  data.set("back", location.pathname + location.search);
  let answer;
  try {
    // By getAttribute, for a form may have a field that is called "action".
    answer = await fetch(form.getAttribute("action"), { method: "POST", body: data, credentials: "same-origin", keepalive: data.toString().length < KEEPALIVE_BYTES });
  } catch {
    tell("voicelog isn't answering, so nothing was changed. What you typed stays here; look at the terminal.", true);
    return false;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (!answer.ok) {
    refuse(page, form);
    return false;
  }
  if (form.closest(".editor, .offers")) closeEditor(form.closest(".row"));
  document.getElementById("dialog")?.close();
  if (new URL(answer.url).pathname !== location.pathname) {
    location.assign(answer.url);
    return false;
  }
  putInPlace(page, from);
  return true;
}

function refuse(page, form) {
  const sentence = page.querySelector("#message p")?.textContent ?? page.body.textContent.trim();
  const dialog = form.closest("dialog");
  if (dialog) return refuseIn(dialog, sentence);
  const conflict = page.querySelector(".conflict");
  if (conflict) showConflict(conflict, rowOf(form));
  tell(sentence, true);
}

function refuseIn(dialog, sentence) {
  let told = dialog.querySelector(".verdict");
  if (!told) {
    told = document.createElement("p");
    told.className = "verdict is-bad";
    told.setAttribute("role", "alert");
    dialog.querySelector("form[method=post]").after(told);
  }
  told.textContent = sentence;
}

/** Put a fresh page in the place of this one, leaving alone what is the same. */
function putInPlace(page, from) {
  const here = document.activeElement;
  const focus = rowOf(here) ? { row: rowOf(here).id, field: here.dataset?.field } : from;
  for (const region of page.querySelectorAll("[data-region]")) {
    const old = document.getElementById(region.id);
    if (!old) continue;
    if (region.dataset.region === "rows") mend(old, region);
    else if (old.innerHTML !== region.innerHTML) old.replaceChildren(...region.childNodes);
  }
  reopenRemembered(document);
  const lost = !document.activeElement || document.activeElement === document.body;
  if (lost && focus?.row) focusRow(document.getElementById(focus.row) ?? allRows().find(isToDo) ?? allRows()[0], { field: focus.field });
}

/** Bring the keyed children of an element in line with those of a fresh one. */
function mend(old, fresh) {
  const there = new Map([...old.children].map((child) => [child.dataset.key, child]));
  const wanted = [...fresh.children].map((child) => {
    const known = there.get(child.dataset.key);
    if (!known) return child;
    if (child.classList.contains("leaf")) {
      mend(known, child);
      known.setAttribute("aria-label", child.getAttribute("aria-label") ?? "");
      return known;
    }
    return isSame(known, child) ? known : child;
  });
  if (wanted.length === old.children.length && wanted.every((child, at) => child === old.children[at])) return;
  const kept = new Set(wanted);
  for (const child of [...old.children]) if (!kept.has(child)) child.remove();
  wanted.forEach((child, at) => {
    if (old.children[at] !== child) old.insertBefore(child, old.children[at] ?? null);
  });
}

const drawn = new WeakMap();

function isSame(known, fresh) {
  const text = fresh.outerHTML;
  if (!drawn.has(known)) drawn.set(known, bare(known));
  drawn.set(fresh, bare(fresh));
  return text !== "" && drawn.get(known) === drawn.get(fresh);
}

// An open editor and what is lit up are ours, not the server's.
function bare(element) {
  const copy = element.cloneNode(true);
  for (const slot of copy.querySelectorAll("[data-slot]")) {
    slot.replaceChildren();
    slot.removeAttribute("aria-busy");
  }
  for (const lit of copy.querySelectorAll(".is-lit")) lit.classList.remove("is-lit");
  copy.classList.remove("was-played");
  return copy.outerHTML.replaceAll(' class=""', "").replace(/class="value([^"]*?)\s*"/g, 'class="value$1"');
}

/** What the focus does while the answer is on its way, so that the next key finds its row. */
function whereToGo(form, row) {
  const rows = allRows();
  const at = rows.indexOf(row);
  const later = (from, wanted) => rows.slice(from).find(wanted);
  switch (form.dataset.then) {
    case "next": {
      const wanted = document.getElementById("rows").dataset.order === "doubtful" ? isDoubtful : isToDo;
      const next = later(at + 1, wanted);
      return () => (next ? focusRow(next) : null);
    }
    case "next-leaf": {
      const leaf = form.closest(".leaf");
      const last = Math.max(...[...leaf.querySelectorAll(".row")].map((one) => rows.indexOf(one)));
      // What is doubtful on this leaf comes first; it can't be confirmed with the others.
      const doubtful = [...leaf.querySelectorAll(".row")].find(isDoubtful);
      const next = doubtful ?? later(last + 1, isToDo);
      return () => (next ? focusRow(next) : null);
    }
    default:
      return null;
  }
}

let before = null;

async function openDialog(address) {
  const dialog = document.getElementById("dialog");
  if (!dialog) return location.assign(address);
  let answer;
  try {
    answer = await fetch(address, { credentials: "same-origin" });
  } catch {
    return tell("voicelog isn't answering; look at the terminal.", true);
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const part = page.querySelector("[data-dialog-part]");
  if (!part) return tell(page.querySelector("#message p")?.textContent ?? "", true);
  const close = document.createElement("form");
  close.method = "dialog";
  close.innerHTML = "<button>Close <kbd>Esc</kbd></button>";
  close.className = "close";
  part.prepend(close);
  dialog.replaceChildren(part);
  if (!dialog.open) {
    const row = currentRow();
    before = row && { row: row.id, field: document.activeElement.dataset?.field };
    dialog.showModal();
    dialog.addEventListener("close", comeBack, { once: true });
  }
  (part.querySelector("[autofocus]") ?? close.querySelector("button")).focus({ preventScroll: true });
}

function comeBack() {
  const row = before && document.getElementById(before.row);
  if (row) focusRow(row, { field: before.field });
}

const OPEN = "voicelog:open-filters";

function rememberOpen(event) {
  const name = event.target.dataset?.keepOpen;
  if (!name) return;
  const open = new Set(JSON.parse(sessionStorage.getItem(OPEN) ?? "[]"));
  if (event.target.open) open.add(name);
  else open.delete(name);
  sessionStorage.setItem(OPEN, JSON.stringify([...open]));
}

function reopenRemembered(page) {
  for (const name of JSON.parse(sessionStorage.getItem(OPEN) ?? "[]")) {
    const details = page.querySelector(`[data-keep-open="${CSS.escape(name)}"]`);
    if (details) details.open = true;
  }
}
