// --- Hands: buttons, keys, mouse, fingers ---

function listen() {
  part("play").addEventListener("click", () => setPlaying(!state.playing));
  part("back").addEventListener("click", () => setTime(state.t - 1));
  part("on").addEventListener("click", () => setTime(state.t + 1));
  part("scrub").addEventListener("input", (event) => setTime(Number(event.target.value)));
  part("speed").addEventListener("change", (event) => (state.speed = Number(event.target.value)));
  part("follow").addEventListener("change", (event) => setFollow(event.target.value));
  part("view").addEventListener("click", () => setView(state.view === "eye" ? "map" : "eye"));
  part("colour").addEventListener("change", (event) => {
    state.colour = event.target.value;
    showLegend();
    show();
  });
  part("jump").addEventListener("change", (event) => {
    if (event.target.value !== "") setTime(event.target.value === "0" ? 0 : whenAt(Number(event.target.value)));
    event.target.value = "";
  });
  for (const [id, name] of [["trails", "trails"], ["names", "names"], ["people-shown", "people"]]) {
    part(id).addEventListener("change", (event) => {
      state[name] = event.target.checked;
      show();
    });
  }
  if (told.other) {
    part("plan-shown").addEventListener("change", (event) => {
      state.plan = event.target.value;
      show();
    });
  }
  part("large").addEventListener("change", (event) => {
    state.size = event.target.checked ? 1.6 : usualSize();
    document.body.classList.toggle("large", event.target.checked);
    show();
  });
  part("link").addEventListener("click", copyLink);
  part("zoom-in").addEventListener("click", () => zoom(1.3));
  part("zoom-out").addEventListener("click", () => zoom(1 / 1.3));
  part("fit").addEventListener("click", fit);
  part("full").addEventListener("click", fullScreen);
  document.addEventListener("fullscreenchange", () => {
    part("full").textContent = document.fullscreenElement ? "leave full screen" : "full screen";
    forgetSizes();
    show();
  });
  part("find").addEventListener("change", (event) => found(event.target));
  part("find").addEventListener("input", (event) => found(event.target));
  part("lost-at").addEventListener("click", (event) => {
    const moment = lostAt.momentAt(state, event.offsetX, event.offsetY);
    if (!moment) return;
    setPlaying(false);
    setTime(moment[0]);
  });
  for (const id of ["more", "rehearsal"]) part(id).addEventListener("toggle", show);
  document.addEventListener("pointerdown", () => (byPointer = true), true);
  document.addEventListener("keydown", () => (byPointer = false), true);
  for (const kind of ["change", "click", "pointerup"]) document.addEventListener(kind, keysAlive);
  window.addEventListener("resize", show);
  window.addEventListener("beforeprint", show);
  window.addEventListener("hashchange", readLink);
  document.addEventListener("keydown", onKey);
  listenToPointers(part("map"));
}

// After a click on a control the keys are the page's again; who goes by keyboard keeps the control.
let byPointer = false;

function keysAlive(event) {
  const { target } = event, holds = target.tagName === "SELECT" && event.type !== "change";
  if (byPointer && !holds && target.id !== "find" && target.closest?.("button, select, input, summary")) {
    document.activeElement?.blur();
  }
}

// Follow whoever is named in full; a part of one name only will do.
function found(field) {
  const wanted = field.value.trim().toLowerCase();
  if (!wanted) return;
  const names = race.runners.map((who) => who.name.toLowerCase());
  let runner = names.indexOf(wanted);
  const like = [...names.keys()].filter((i) => names[i].includes(wanted));
  if (runner < 0 && like.length === 1) [runner] = like;
  part("said").textContent = runner < 0 ? `${like.length} runners` : `following ${race.runners[runner].name}`;
  if (runner >= 0) setFollow(`runner:${runner}`);
}

async function fullScreen() {
  if (document.fullscreenElement) await document.exitFullscreen();
  else await part("replay").requestFullscreen();
}

async function copyLink() {
  history.replaceState(null, "", link());
  try {
    await navigator.clipboard.writeText(location.href);
    part("said").textContent = "link copied";
  } catch {
    part("said").textContent = "the link is in the address bar";
  }
}

const KEYS = {
  " ": () => setPlaying(!state.playing),
  ArrowLeft: (event) => setTime(state.t - (event.shiftKey ? 10 : 1)),
  ArrowRight: (event) => setTime(state.t + (event.shiftKey ? 10 : 1)),
  ",": () => setTime(state.t - race.frame_s),
  ".": () => setTime(state.t + race.frame_s),
  Home: () => setTime(0),
  End: () => setTime(race.last_s),
  "+": () => zoom(1.3),
  "=": () => zoom(1.3),
  "-": () => zoom(1 / 1.3),
  w: () => pan(0, 40),
  s: () => pan(0, -40),
  a: () => pan(40, 0),
  d: () => pan(-40, 0),
  0: fit,
  e: () => setView("eye"),
  m: () => setView("map"),
  n: nextRunner,
  f: faster,
  l: copyLink,
  g: () => part("full").click(),
};

function onKey(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "Escape") return event.target.blur();
  if (["SELECT", "INPUT"].includes(event.target.tagName)) return;
  if (["BUTTON", "SUMMARY"].includes(event.target.tagName) && event.key === " ") return;
  const act = KEYS[event.key];
  if (act) {
    event.preventDefault();
    act(event);
  }
}

// The next runner of our team, or of the followed one.
function nextRunner() {
  const now = state.follow.kind === "runner" ? state.follow.index : -1;
  const team = now >= 0 ? race.runners[now].team : state.follow.kind === "team" ? state.follow.index : Math.max(0, race.ours);
  const mates = [...race.runners.keys()].filter((i) => race.runners[i].team === team);
  setFollow(`runner:${mates[(mates.indexOf(now) + 1) % mates.length]}`);
}

function faster() {
  state.speed = SPEEDS[(SPEEDS.indexOf(state.speed) + 1) % SPEEDS.length];
  part("speed").value = String(state.speed);
}

function listenToPointers(canvas) {
  const fingers = new Map();
  const gap = () => {
    const [a, b] = [...fingers.values()];
    return Math.hypot(a[0] - b[0], a[1] - b[1]);
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, [event.offsetX, event.offsetY]);
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const apart = fingers.size === 2 ? gap() : 0;
    fingers.set(event.pointerId, [event.offsetX, event.offsetY]);
    if (fingers.size === 2) zoom(gap() / Math.max(1, apart), event.offsetX, event.offsetY);
    else pan(event.offsetX - before[0], event.offsetY - before[1]);
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, (event) => fingers.delete(event.pointerId));
  }
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY / 500), event.offsetX, event.offsetY);
  }, { passive: false });
}

begin();
