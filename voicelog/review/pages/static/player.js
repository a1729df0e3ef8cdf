// Sound: the words behind a value, or the whole note, with a little around it if wanted.

import { onFocus } from "./rows.js";

const OPTIONS = "voicelog:sound";
let sound, box;
// The note whose sound is shown, and the number of the one that is wanted: until its picture
// has come there is none.
let note = null;
let wanted = null;
let shown = null;
let spans = [];
let until = null;
let from = 0;
const pictures = new Map();

export function startPlayer() {
  sound = document.getElementById("sound");
  box = document.getElementById("hearing");
  if (!sound) return;
  for (const [name, value] of Object.entries(JSON.parse(sessionStorage.getItem(OPTIONS) ?? "{}"))) {
    const control = option(name);
    if (control?.type === "checkbox") control.checked = value;
    else if (control) control.value = value;
  }
  document.getElementById("player").addEventListener("change", keepOptions);
  for (const button of document.querySelectorAll("[data-play]")) {
    button.addEventListener("click", () => (button.dataset.play === "note" ? playNote() : playWords()));
  }
  sound.addEventListener("timeupdate", follow);
  sound.addEventListener("ended", () => stopOrRepeat());
  onFocus((row, target) => choose(row, target));
}

/** Play the words behind the value with the focus; stop when they are being played. */
export async function playWords() {
  if (!sound.paused) return sound.pause();
  await shown;
  const words = spansShown();
  if (!words.length) return playNote();
  return play(Math.min(...words.map((span) => span.start)), Math.max(...words.map((span) => span.end)));
}

export async function playNote() {
  if (!sound.paused) return sound.pause();
  await shown;
  if (note) return play(note.start, note.end);
}

export function changeOption(name, by = 1) {
  const control = option(name);
  if (control.type === "checkbox") control.checked = !control.checked;
  else {
    const last = control.options.length - 1;
    const next = control.selectedIndex + by;
    control.selectedIndex = name === "around" ? next % (last + 1) : Math.min(last, Math.max(0, next));
  }
  keepOptions();
}

function option(name) {
  return document.querySelector(`#player [data-option="${name}"]`);
}

function keepOptions() {
  sound.playbackRate = Number(option("speed").value);
  sessionStorage.setItem(
    OPTIONS,
    JSON.stringify({ speed: option("speed").value, around: option("around").value, repeat: option("repeat").checked }),
  );
}

async function play(start, end) {
  await shown;
  if (!note) return;
  const around = Number(option("around").value);
  from = Math.max(0, start - around - note.begins);
  until = Math.min(note.lasts, end + around - note.begins + 0.05);
  sound.playbackRate = Number(option("speed").value);
  sound.currentTime = from;
  try {
    await sound.play();
    requestAnimationFrame(follow);
  } catch {
    /* Stopped before it began: another key came. */
  }
}

function follow() {
  if (!note || !box.firstElementChild) return;
  const line = box.querySelector(".wave-now");
  const at = String((1000 * sound.currentTime) / (note.lasts || 1));
  line?.setAttribute("x1", at);
  line?.setAttribute("x2", at);
  if (sound.paused) return;
  if (until !== null && sound.currentTime >= until) return stopOrRepeat();
  requestAnimationFrame(follow);
}

function stopOrRepeat() {
  if (option("repeat").checked) {
    sound.currentTime = from;
    sound.play().catch(() => {});
    requestAnimationFrame(follow);
  } else sound.pause();
}

/** Show the sound behind a value, or that of the row's last note. */
function choose(row, target) {
  spans = JSON.parse(target.dataset?.spans ?? "[]");
  const sounding = [...row.querySelectorAll(".heard-note[data-sound]")].map((each) => Number(each.dataset.note));
  const behind = spans.map((span) => span.note).filter((number) => sounding.includes(number));
  const number = behind[0] ?? sounding.at(-1);
  if (number === undefined) {
    note = wanted = null;
    sound.pause();
    sound.removeAttribute("src");
    row.classList.add("was-played");
    return say("This row was typed or set by hand: there is no sound behind it.");
  }
  if (wanted !== number) shown = load(number);
  Promise.resolve(shown).then(() => {
    lightWords();
    hearFirst(row);
  });
}

// A row of the blind sample shows its values once it was heard: sound first, then the screen.
async function hearFirst(row) {
  if (!row.classList.contains("is-to-hear") || row.classList.contains("was-played")) return;
  if (!note) return row.classList.add("was-played");
  await play(note.start, note.end);
  const played = () => row.classList.add("was-played");
  sound.addEventListener("pause", played, { once: true });
  if (sound.paused) played();
}

async function load(number) {
  sound.pause();
  note = null;
  wanted = number;
  if (!pictures.has(number)) {
    pictures.set(number, fetch(`/notes/${number}/hearing`, { credentials: "same-origin" }).then(async (answer) => {
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (answer.ok) return page.querySelector(".hearing");
      pictures.delete(number);
      return page.querySelector("#message p");
    }));
    if (pictures.size > 200) pictures.delete(pictures.keys().next().value);
  }
  let picture;
  try {
    picture = await pictures.get(number);
  } catch {
    pictures.delete(number);
    wanted = null;
    return say("voicelog isn't answering; there is no sound now.");
  }
  if (wanted !== number) return;
  if (!picture.dataset.sound) return say(picture.textContent);
  const facts = picture.dataset;
  note = { number, begins: Number(facts.begins), lasts: Number(facts.lasts), start: Number(facts.start), end: Number(facts.end) };
  box.replaceChildren(picture);
  placeWords(picture);
  sound.src = facts.sound;
  for (const word of picture.querySelectorAll(".wave-word")) {
    word.onclick = () => play(Number(word.dataset.start), Number(word.dataset.end));
  }
}

// The words behind the value that are in the note shown.
function spansShown() {
  return spans.filter((span) => span.note === note?.number && span.start !== null);
}

function placeWords(picture) {
  for (const word of picture.querySelectorAll(".wave-words li")) {
    word.style.left = `${Number(word.dataset.at) / 10}%`;
    word.style.maxWidth = `${Number(word.dataset.wide) / 10}%`;
    // A word cut off says nothing; its tick stays, and its title.
    word.classList.toggle("is-cut", word.scrollWidth > word.clientWidth + 1);
  }
}

function lightWords() {
  if (!note || !box.querySelector(".wave")) return;
  const behind = spansShown();
  const isBehind = (start, end) => behind.some((span) => start < span.end - 0.01 && end > span.start + 0.01);
  const words = [...box.querySelectorAll(".wave-word")];
  const names = [...box.querySelectorAll(".wave-words li")];
  words.forEach((word, at) => names[at]?.classList.toggle("is-lit", isBehind(Number(word.dataset.start), Number(word.dataset.end))));
  const chosen = box.querySelector(".wave-chosen");
  const place = (moment) => (1000 * (moment - note.begins)) / (note.lasts || 1);
  const start = behind.length ? place(Math.min(...behind.map((span) => span.start))) : 0;
  const end = behind.length ? place(Math.max(...behind.map((span) => span.end))) : 0;
  chosen.setAttribute("x", String(start));
  chosen.setAttribute("width", String(Math.max(0, end - start)));
}

function say(text) {
  const told = document.createElement("p");
  told.className = "player-told";
  told.textContent = text;
  box.replaceChildren(told);
}
