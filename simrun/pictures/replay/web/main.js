// The clock, the controls, and what is shown at this moment.

const told = JSON.parse(document.getElementById("race-data").textContent);
const part = (id) => document.getElementById(id);
const TABLE_EVERY_MS = 250;
const SPEEDS = [0.25, 0.5, 1, 2, 4, 8];

const state = {
  t: 0, playing: false, speed: 1, view: "map", colour: "ours", trails: true, names: true,
  ghosts: told.other ? "ours" : "off", follow: { kind: "pack", index: -1 }, rider: 0,
  size: 1, units: told.units, calm: window.matchMedia("(prefers-reduced-motion: reduce)").matches,
};
let race, look, map, eye, drawnTable = 0, stamp = 0;

async function begin() {
  const races = [await Race.of(told.race)];
  if (told.other) races.push(await Race.of(told.other));
  race = races[0];
  look = new Look(race);
  const ground = new Ground(told.ground);
  map = new MapView(part("map"), ground, races, look);
  eye = new EyeView(part("eye"), part("plan"), ground, races, look);
  eye.units = state.units;
  if (race.ours >= 0) state.follow = { kind: "team", index: race.ours };
  fillChoices();
  part("scrub").max = race.last_s;
  readLink();
  listen();
  window.replay = { state, races, map, eye, show };
  show();
  document.body.dataset.ready = "yes";
  requestAnimationFrame(tick);
}

function fillChoices() {
  const follow = part("follow");
  follow.append(new Option("the front of the pack", "pack"));
  const ours = race.ours, order = [...race.teams.keys()].sort((a, b) => (b === ours) - (a === ours));
  for (const team of order) {
    const group = document.createElement("optgroup");
    group.label = race.teams[team];
    group.append(new Option(`team ${race.teams[team]}`, `team:${team}`));
    race.runners.forEach((who, i) => {
      if (who.team === team) group.append(new Option(`${who.name}, box ${who.box}`, `runner:${i}`));
    });
    follow.append(group);
  }
  const jump = part("jump");
  jump.append(new Option("go to …", ""), new Option("the gun", "0"));
  const places = [...told.ground.turns.map((turn) => [turn.name, turn.station]),
    ...told.ground.checkpoints.map((mark) => [mark.name, mark.station])];
  for (const [name, station] of places.sort((a, b) => a[1] - b[1])) jump.append(new Option(name, String(station)));
}

// When is the first of those we follow this far?
function whenAt(station_m) {
  const who = followedRunners(race, { ...state, t: race.last_s });
  for (let t = 0; t < race.last_s; t += 0.5) {
    if (who.some((runner) => race.stationAt(t, runner) >= station_m)) return Math.max(0, t - 3);
  }
  return race.last_s;
}

function tick(now) {
  const passed = Math.min(0.1, (now - stamp) / 1000);
  stamp = now;
  if (state.playing) {
    state.t = Math.min(race.last_s, state.t + passed * state.speed);
    if (state.t >= race.last_s) setPlaying(false);
    show();
  }
  requestAnimationFrame(tick);
}

// Draw this moment.
function show() {
  state.rider = riderOf();
  document.body.dataset.view = state.view;
  (state.view === "eye" ? eye : map).draw(state);
  part("clock").textContent = clock(state.t);
  const scrub = part("scrub");
  scrub.value = state.t;
  scrub.setAttribute("aria-valuetext", clock(state.t));
  const now = performance.now();
  if (!state.playing || now - drawnTable > TABLE_EVERY_MS) {
    drawnTable = now;
    showTable();
  }
}

// Through whose eyes do we see? The followed runner, else the first of the team or of the pack.
function riderOf() {
  if (state.follow.kind === "runner") return state.follow.index;
  const who = new Set(followedRunners(race, state));
  return race.order(state.t).find((runner) => who.has(runner));
}

function clock(seconds) {
  const tenths = Math.round(seconds * 10);
  const rest = ((tenths % 600) / 10).toFixed(1).padStart(4, "0");
  return `${Math.floor(tenths / 600)}:${rest}`;
}

function pace(speed_m_s) {
  if (speed_m_s < 0.5) return "standing";
  const [metres, word] = state.units === "us" ? [1609.344, "mile"] : [1000, "km"];
  const seconds = Math.round(metres / speed_m_s);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")} /${word}`;
}

function showTable() {
  const order = race.order(state.t), far = race.progress(state.t);
  const marked = new Set(markedRunners(race, state));
  const shown = order.filter((runner, place) => place < 5 || marked.has(runner));
  const body = document.createDocumentFragment();
  for (const runner of shown) {
    const who = race.runners[runner], lost = race.lostAt(state.t, runner);
    const row = document.createElement("tr");
    if (look.isOurs(runner)) row.className = "ours";
    if (state.follow.kind === "runner" && runner === state.follow.index) row.className += " followed";
    const place = 1 + far.filter((metres) => metres > far[runner]).length;
    const cells = [place, who.name, pace(race.speedAt(state.t, runner)), lost === null ? "" : lost.toFixed(1)];
    for (const text of cells) row.insertCell().textContent = text;
    const team = document.createElement("small");
    team.textContent = `${race.teams[who.team]}, box ${who.box}`;
    row.cells[1].append(team);
    body.append(row);
  }
  part("places").replaceChildren(body);
}

function showLegend() {
  const items = look.legend(state).map(([fill, shape, words]) => {
    const item = document.createElement("li"), swatch = document.createElement("canvas");
    swatch.width = swatch.height = 18;
    const context = swatch.getContext("2d");
    tracedShape(context, shape, 9, 9, 6);
    context.fillStyle = fill;
    context.fill();
    context.strokeStyle = INK.text;
    context.stroke();
    item.append(swatch, words);
    return item;
  });
  if (told.other) {
    const item = document.createElement("li");
    item.append("◇ the other plan, same people, same clock");
    items.push(item);
  }
  part("legend").replaceChildren(...items);
}

function setPlaying(playing) {
  state.playing = playing;
  part("play").textContent = playing ? "pause" : "play";
  part("play").setAttribute("aria-pressed", String(playing));
}

function setTime(seconds) {
  state.t = Math.max(0, Math.min(race.last_s, seconds));
  show();
}

function setFollow(value) {
  const [kind, index] = value.split(":");
  state.follow = { kind, index: index === undefined ? -1 : Number(index) };
  map.camera.free = false;
  part("follow").value = value;
  show();
}

function setView(view) {
  state.view = view;
  part("view").textContent = view === "eye" ? "from above" : "runner's eye";
  show();
}

function zoom(by, x, y) {
  const { camera, canvas } = map;
  const scale = Math.max(0.3, Math.min(80, camera.scale * by));
  if (camera.free && x !== undefined) {
    camera.x += (x - canvas.clientWidth / 2) * (1 / camera.scale - 1 / scale);
    camera.y -= (y - canvas.clientHeight / 2) * (1 / camera.scale - 1 / scale);
  }
  camera.zoom = Math.max(0.05, Math.min(12, (camera.zoom * scale) / camera.scale));
  camera.scale = scale;
  show();
}

function pan(dx, dy) {
  const { camera } = map;
  camera.free = true;
  camera.x -= dx / camera.scale;
  camera.y += dy / camera.scale;
  show();
}

function fit() {
  map.camera.free = false;
  map.camera.zoom = 1;
  show();
}

// --- A link to a moment ---

function link() {
  const follow = state.follow.kind === "pack" ? "pack" : `${state.follow.kind}:${state.follow.index}`;
  const words = new URLSearchParams({ t: state.t.toFixed(1), follow, view: state.view, colour: state.colour });
  return `#${words}`;
}

function readLink() {
  const words = new URLSearchParams(location.hash.slice(1));
  const follow = words.get("follow") || told.follow;
  if (follow && [...part("follow").options].some((option) => option.value === follow)) setFollow(follow);
  else part("follow").value = state.follow.kind === "team" ? `team:${state.follow.index}` : "pack";
  if (["map", "eye"].includes(words.get("view"))) setView(words.get("view"));
  const colour = words.get("colour");
  if ([...part("colour").options].some((option) => option.value === colour)) state.colour = part("colour").value = colour;
  showLegend();
  const t = Number(words.get("t"));
  if (Number.isFinite(t)) setTime(t);
}

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
  for (const name of ["trails", "names"]) {
    part(name).addEventListener("change", (event) => {
      state[name] = event.target.checked;
      show();
    });
  }
  if (told.other) {
    part("ghosts").addEventListener("change", (event) => {
      state.ghosts = event.target.value;
      show();
    });
  }
  part("large").addEventListener("change", (event) => {
    state.size = event.target.checked ? 1.6 : 1;
    document.body.classList.toggle("large", event.target.checked);
    show();
  });
  part("link").addEventListener("click", copyLink);
  part("zoom-in").addEventListener("click", () => zoom(1.3));
  part("zoom-out").addEventListener("click", () => zoom(1 / 1.3));
  part("fit").addEventListener("click", fit);
  window.addEventListener("resize", show);
  window.addEventListener("hashchange", readLink);
  document.addEventListener("keydown", onKey);
  listenToPointers(part("map"));
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
};

function onKey(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const inField = ["SELECT", "INPUT"].includes(event.target.tagName);
  if (inField && event.key !== "Escape") return;
  if (event.target.tagName === "BUTTON" && event.key === " ") return;
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
