// Which place is shown? Next and back by key, remote, swipe and hand; a timer; the coach's second window.

const told = JSON.parse(document.getElementById("told").textContent);
const slides = [...document.querySelectorAll(".slide")];
const by = (id) => document.getElementById(id);
const isCoach = location.hash.startsWith("#coach");
const walk = { now: 0, began: null, spent: 0, other: null };
const SWIPE_PX = 50;

function show(number, quiet) {
  walk.now = Math.max(0, Math.min(slides.length - 1, number));
  slides.forEach((slide, k) => slide.classList.toggle("now", k === walk.now));
  document.body.classList.toggle("cover", walk.now === 0);
  by("count").textContent = `${walk.now} of ${slides.length - 1}`;
  by("back").disabled = walk.now === 0;
  by("on").disabled = walk.now === slides.length - 1;
  stopFilms();
  document.querySelectorAll("video").forEach((clip) => clip.pause());
  drawViews();
  window.scrollTo(0, 0);
  if (!isCoach && location.hash !== `#${walk.now}`) history.replaceState(null, "", `#${walk.now}`);
  if (quiet) return;
  slides[walk.now].querySelector("h1, h2").focus({ preventScroll: true });
  tell();
}

// The other window shows the same place; both may turn the page. Whoever else asks is not heard.
function tell() {
  if (walk.other && !walk.other.closed) walk.other.postMessage({ now: walk.now, began: walk.began, spent: walk.spent }, "*");
}

window.addEventListener("message", (event) => {
  if (!walk.other || event.source !== walk.other) return;
  const { now, began, spent, ready } = event.data || {};
  if (ready) return tell();
  if (!Number.isInteger(now)) return;
  walk.began = typeof began === "number" ? began : null;
  walk.spent = typeof spent === "number" ? spent : 0;
  show(now, true);
});

function openNotes() {
  if (isCoach) return;
  walk.other = window.open(`${location.href.split("#")[0]}#coach`, "coach", "width=900,height=700");
}

function passed() {
  return walk.spent + (walk.began === null ? 0 : Date.now() - walk.began);
}

function toggleTimer() {
  walk.spent = passed();
  walk.began = walk.began === null ? Date.now() : null;
  walk.spent = walk.began === null ? walk.spent : walk.spent;
  tick();
  tell();
}

function tick() {
  const seconds = Math.floor(passed() / 1000);
  by("timer").textContent = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")} of ${told.minutes}:00`;
  by("timer").classList.toggle("over", seconds > 60 * told.minutes);
}

function toggleDark() {
  const dark = document.querySelector(".dark");
  if (dark) return dark.remove();
  const made = document.body.appendChild(document.createElement("div"));
  made.className = "dark";
  made.addEventListener("click", toggleDark);
}

function toggleClip() {
  const clip = slides[walk.now].querySelector("video");
  if (clip) clip.paused ? clip.play() : clip.pause();
}

const KEYS = {
  ArrowRight: () => show(walk.now + 1), PageDown: () => show(walk.now + 1), ArrowDown: null,
  ArrowLeft: () => show(walk.now - 1), PageUp: () => show(walk.now - 1),
  Home: () => show(0), End: () => show(slides.length - 1), c: () => show(0), b: toggleDark, ".": toggleDark,
  t: toggleTimer, n: openNotes, p: () => slides[walk.now].querySelector(".play")?.click(), v: toggleClip,
};

document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  const inside = event.target.closest("button, summary, a, video, input");
  const does = event.key === " " && !inside ? KEYS.PageDown : KEYS[event.key];
  if (!does) return;
  event.preventDefault();
  does();
});

let finger = null;
document.addEventListener("touchstart", (event) => {
  const touch = event.touches[0];
  finger = event.touches.length === 1 ? [touch.clientX, touch.clientY] : null;
}, { passive: true });
document.addEventListener("touchend", (event) => {
  if (!finger || event.target.closest(".wide")) return;
  const touch = event.changedTouches[0], across = touch.clientX - finger[0], along = touch.clientY - finger[1];
  finger = null;
  if (Math.abs(across) > SWIPE_PX && Math.abs(across) > 1.5 * Math.abs(along)) show(walk.now + (across < 0 ? 1 : -1));
}, { passive: true });

by("back").addEventListener("click", () => show(walk.now - 1));
by("on").addEventListener("click", () => show(walk.now + 1));
by("contents").addEventListener("click", () => show(0));
by("timer").addEventListener("click", toggleTimer);
by("notes").addEventListener("click", openNotes);
by("print-notes")?.addEventListener("change", (event) => document.body.classList.toggle("with-notes", event.target.checked));
document.querySelectorAll(".contents a").forEach((link) => link.addEventListener("click", (event) => {
  event.preventDefault();
  show(Number(link.hash.slice(1)));
}));
window.addEventListener("hashchange", () => {
  const number = Number(location.hash.slice(1));
  if (!isCoach && Number.isInteger(number) && number !== walk.now) show(number);
});
setInterval(tick, 500);

function begin() {
  document.body.classList.add("talk");
  document.body.classList.toggle("coach", isCoach);
  by("notes").hidden = isCoach;
  if (isCoach) walk.other = window.opener;
  const number = Number(location.hash.slice(1));
  show(!isCoach && Number.isInteger(number) ? number : 0, true);
  if (isCoach && walk.other) walk.other.postMessage({ ready: true }, "*");
  document.body.dataset.ready = "yes";
}
