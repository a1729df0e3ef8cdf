// Going through rows and values, and lighting up the words behind a value.

const ROW = ".row";
const VALUE = ".value";
const PENDING = "voicelog:arrive-at";
const listeners = [];

export function allRows() {
  return [...document.querySelectorAll(`#rows ${ROW}`)];
}

export function rowOf(element) {
  return element?.closest?.(ROW) ?? null;
}

export function currentRow() {
  return rowOf(document.activeElement);
}

export function valuesOf(row) {
  return [...row.querySelectorAll(`.values ${VALUE}`)];
}

export function isToDo(row) {
  return row.classList.contains("is-heard") || row.classList.contains("is-queried");
}

export function isDoubtful(row) {
  return isToDo(row) && row.dataset.doubtful === "yes";
}

/** Tell `listener` of every value or row that gets the focus. */
export function onFocus(listener) {
  listeners.push(listener);
}

/** Put the focus on a row: on the value that is doubted, else on its first value. */
export function focusRow(row, { field = null } = {}) {
  if (!row) return false;
  const values = valuesOf(row);
  const target =
    (field && values.find((value) => value.dataset.field === field)) ||
    values.find((value) => value.classList.contains("is-doubted")) ||
    values.find((value) => value.dataset.field) ||
    row;
  target.focus({ preventScroll: true });
  row.scrollIntoView({ block: "nearest" });
  return true;
}

/** Go a number of rows on from where the focus is; false where the list ends. */
export function step(by, wanted = () => true) {
  const rows = allRows();
  const at = rows.indexOf(currentRow());
  const direction = Math.sign(by);
  for (let next = at < 0 && direction < 0 ? rows.length - 1 : at + direction; rows[next]; next += direction) {
    if (wanted(rows[next])) return focusRow(rows[next]);
  }
  return false;
}

export function stepValue(by) {
  const row = currentRow();
  if (!row) return step(1);
  const values = valuesOf(row);
  const next = values[values.indexOf(document.activeElement) + by];
  next?.focus();
  return Boolean(next);
}

export function stepLeaf(by) {
  const leaves = [...document.querySelectorAll("#rows .leaf")];
  const at = leaves.indexOf(currentRow()?.closest(".leaf"));
  const next = leaves[at + by];
  return next ? focusRow(next.querySelector(ROW)) : turnPage(by, { at: by > 0 ? "first" : "last" });
}

/** Go to the next page of the list, or the one before; the focus arrives at a row there. */
export function turnPage(by, { at = "first" } = {}) {
  const link = document.querySelector(`#pager a[rel="${by > 0 ? "next" : "prev"}"]`);
  if (!link || link.getAttribute("aria-disabled")) return false;
  sessionStorage.setItem(PENDING, at);
  location.assign(link.href);
  return true;
}

/** Put the focus where a fresh page should be read from. */
export function arrive() {
  const pending = sessionStorage.getItem(PENDING);
  sessionStorage.removeItem(PENDING);
  const named = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  const rows = named ? [...named.querySelectorAll(ROW)] : allRows();
  if (named?.matches(ROW)) return focusRow(named);
  if (pending === "last") return focusRow(rows.at(-1));
  if (pending === "doubtful") return focusRow(rows.find(isDoubtful) ?? rows[0]);
  if (pending === "first" || named) return focusRow(rows[0]);
  return focusRow(rows.find(isToDo) ?? rows[0]);
}

export function startRows() {
  const rows = document.getElementById("rows");
  if (!rows) return;
  rows.addEventListener("focusin", (event) => {
    const row = rowOf(event.target);
    if (!row || event.target.closest(".slot")) return;
    light(row, event.target.dataset?.field ?? null);
    for (const listener of listeners) listener(row, event.target);
  });
  rows.addEventListener("focusout", (event) => {
    const row = rowOf(event.target);
    if (row && !row.contains(event.relatedTarget)) light(row, null);
  });
  rows.addEventListener("mouseover", (event) => {
    const row = rowOf(event.target);
    if (!row) return;
    const value = event.target.closest(VALUE);
    const mark = event.target.closest("mark[data-fields]");
    if (value?.dataset.field) light(row, value.dataset.field);
    else if (mark) light(row, ...mark.dataset.fields.split(" "));
  });
  rows.addEventListener("mouseout", (event) => {
    const row = rowOf(event.target);
    if (row) light(row, row.contains(document.activeElement) ? document.activeElement.dataset.field : null);
  });
}

function light(row, ...fields) {
  for (const mark of row.querySelectorAll("mark[data-fields]")) {
    const gave = mark.dataset.fields.split(" ");
    mark.classList.toggle("is-lit", fields.some((field) => field && gave.includes(field)));
  }
  for (const value of valuesOf(row)) {
    value.classList.toggle(
      "is-lit",
      fields.includes(value.dataset.field) && value !== document.activeElement,
    );
  }
}
