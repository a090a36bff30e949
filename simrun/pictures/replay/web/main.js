// The clock, the controls, and what is shown at this moment.

const told = JSON.parse(document.getElementById("race-data").textContent);
const part = (id) => document.getElementById(id);
const TO_GO = [1000, 400, 200, 100], stills = [];
const TABLE_EVERY_MS = 250, LOST_EVERY_MS = 200;
const SPEEDS = [0.25, 0.5, 1, 2, 4, 8];

const state = {
  t: 0, playing: false, speed: 1, view: "map", colour: "losing", trails: false, names: true, people: true,
  plan: told.other ? "ours" : "off", follow: { kind: "pack", index: -1 }, rider: 0,
  size: usualSize(), units: told.units, calm: window.matchMedia("(prefers-reduced-motion: reduce)").matches,
};

// Letters and dots are larger on a projector.
function usualSize() {
  return window.innerWidth >= 1700 ? 1.25 : 1;
}

let race, look, map, eye, ribbon, lostAt, ground, drawnTable = 0, drawnLost = 0, stamp = 0, ready = false;

// The page answers between two pieces of longer work.
function rest() {
  return new Promise((done) => setTimeout(done));
}

async function begin() {
  const races = [await Race.of(told.race)];
  await rest();
  if (told.other) races.push(await Race.of(told.other));
  await rest();
  race = races[0];
  look = new Look(race);
  await rest();
  ground = new Ground(told.ground);
  map = new MapView(part("map"), ground, races, look);
  eye = new EyeView(part("eye"), part("plan"), ground, races, look);
  eye.units = state.units;
  ribbon = new RibbonView(part("ribbon"), ground, races, look);
  lostAt = new LostView(part("lost-at"), ground, races, look);
  if (race.ours >= 0) state.follow = { kind: "team", index: race.ours };
  await rest();
  fillChoices();
  part("scrub").max = race.last_s;
  readLink();
  listen();
  window.replay = { state, races, map, eye, ribbon, lostAt, show };
  part("more").open = window.innerWidth >= 900;
  await rest();
  map.place(state);
  await rest();
  lostAt.draw(state);
  await rest();
  ready = true;
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
  race.runners.forEach((who) => {
    const known = document.createElement("option");
    known.value = who.name;
    known.label = `${race.teams[who.team]}, box ${who.box}`;
    part("people").append(known);
  });
  part("pace-head").textContent = `pace /${state.units === "us" ? "mile" : "km"}`;
  const boxes = [...new Set(race.mine.map((i) => race.runners[i].box))].join(", ");
  if (race.mine.length) part("whose").textContent = `${race.teams[race.ours]}, box ${boxes}: `;
  const jump = part("jump");
  jump.append(new Option("go to …", ""), new Option("the gun", "0"));
  for (const { name, station } of ground.named().filter(({ again }) => !again)) jump.append(new Option(name, String(station)));
  for (const [words, station] of toGo()) jump.append(new Option(words, String(station)));
}

// The places from which so much is left to go: [words, metres along] each.
function toGo() {
  const [unit, word] = state.units === "us" ? [0.9144, "yd"] : [1, "m"];
  return TO_GO.map((left) => [`${left} ${word} to go`, ground.length - left * unit]).filter(([, station]) => station > 0);
}

// The views from there, with nobody on the course; drawn while they are shown.
function drawStills() {
  if (!part("rehearsal").open) return;
  if (!stills.length) {
    for (const [words, station] of toGo()) {
      const item = document.createElement("li"), button = document.createElement("button"), canvas = document.createElement("canvas");
      button.type = "button";
      canvas.setAttribute("role", "img");
      canvas.setAttribute("aria-label", `The course ahead with ${words}`);
      button.append(canvas, words);
      button.addEventListener("click", () => rideFrom(station));
      item.append(button);
      part("stills").append(item);
      const view = new EyeView(canvas, null, ground, lostAt.races, look);
      view.units = state.units;
      stills.push([view, station]);
    }
  }
  for (const [view, station] of stills) view.drawEmpty(state, station);
}

function rideFrom(station_m) {
  setView("eye");
  setTime(whenAt(station_m));
  part("map").closest("main").scrollIntoView();
}

// When is the first of those we follow this far, a little before?
function whenAt(station_m) {
  const who = followedRunners(race, { ...state, t: race.last_s });
  const found = who.map((runner) => race.whenAt(station_m, runner)).filter((t) => t !== null);
  return found.length ? Math.max(0, Math.min(...found) - 3) : race.last_s;
}

function tick(now) {
  const passed = Math.min(0.1, (now - stamp) / 1000);
  stamp = now;
  if (state.playing) {
    state.t = Math.min(race.last_s, state.t + passed * state.speed);
    if (state.t >= race.last_s) setPlaying(false);
    show(true);
  }
  requestAnimationFrame(tick);
}

// Draw this moment.
function show(moving = false) {
  if (!ready) return;
  document.body.dataset.view = state.view;
  if (moving !== true) forgetSizes(); // a hand may have changed what is shown
  state.rider = riderOf();
  (state.view === "eye" ? eye : map).draw(state);
  ribbon.draw(state);
  const time = clock(state.t), now = performance.now();
  if (part("clock").textContent !== time) part("clock").textContent = time;
  if (!state.playing) drawStills();
  // The slower parts take turns, so that no frame has to wait for all of them.
  if (!state.playing || now - drawnTable > TABLE_EVERY_MS) {
    drawnTable = now;
    part("scrub").value = state.t;
    part("scrub").setAttribute("aria-valuetext", time);
    showTable();
    if (state.playing) return;
  }
  if (!state.playing || now - drawnLost > LOST_EVERY_MS) {
    drawnLost = now;
    lostAt.draw(state);
    showGap();
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
  const seconds = Math.round((state.units === "us" ? 1609.344 : 1000) / speed_m_s);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

// The ledger: ours in their own order, each with what it was lost to; then the first of the race.
function showTable() {
  const order = race.order(state.t), far = race.progress(state.t);
  const ours = race.mine.length ? race.mine : followedRunners(race, state).slice(0, 7);
  const marked = new Set([...ours, ...markedRunners(race, state)]);
  const others = order.filter((runner, place) => place < 5 || marked.has(runner)).filter((runner) => !ours.includes(runner));
  const most = Math.max(1, ...ours.map((i) => race.lostAt(race.last_s, i)));
  const lit = new Set(race.goneAt(state.t, 0.7 * Math.max(1, state.speed)).map(([runner]) => runner));
  const rows = [...ours, ...others].map((runner) => {
    const place = 1 + far.filter((metres) => metres > far[runner]).length;
    return filledRow(runner, place, most, lit.has(runner));
  });
  const body = part("places");
  if (rows.some((row, k) => body.rows[k] !== row) || body.rows.length !== rows.length) body.replaceChildren(...rows);
}

// The row of a runner, made once: only what has changed is written.
const rowsMade = new Map();

function filledRow(runner, place, most, isLit) {
  if (!rowsMade.has(runner)) rowsMade.set(runner, madeRow(runner));
  const row = rowsMade.get(runner);
  row.classList.toggle("lit", isLit);
  row.classList.toggle("followed", state.follow.kind === "runner" && runner === state.follow.index);
  row.dataset.level = race.levelAt(state.t, runner);
  const texts = [state.t ? place : "–", null, race.at(state.t, runner, [0, 0]) ? pace(race.speedAt(state.t, runner)) : "–", tenths(race.lostAt(state.t, runner))];
  texts.forEach((text, k) => {
    if (text !== null && row.cells[k].textContent !== String(text)) row.cells[k].textContent = text;
  });
  fillBar(row.cells[4].firstChild, race.partsAt(state.t, runner), most);
  return row;
}

function madeRow(runner) {
  const who = race.runners[runner], row = document.createElement("tr"), ours = look.isOurs(runner);
  row.classList.toggle("ours", ours);
  for (let k = 0; k < 5; k++) row.insertCell();
  row.cells[1].title = who.name; // where it is cut short
  row.cells[1].textContent = ours ? `${look.number(runner)} ${who.name}` : who.name;
  if (!ours) {
    const team = document.createElement("small");
    team.textContent = `${race.teams[who.team]}, box ${who.box}`;
    row.cells[1].append(team);
  }
  const bar = document.createElement("span");
  bar.className = "bar-of-loss";
  bar.setAttribute("role", "img");
  for (const name of race.parts) {
    const piece = document.createElement("span");
    piece.dataset.part = name;
    bar.append(piece);
  }
  row.cells[4].append(bar);
  return row;
}

// Seconds lost as a bar, split into what they were lost to.
function fillBar(bar, parts, most) {
  const words = race.parts.map((name, k) => `${name} ${tenths(parts[k])} s`);
  if (bar.ariaLabel === words.join(", ")) return;
  bar.setAttribute("aria-label", words.join(", "));
  parts.forEach((seconds, k) => {
    const share = seconds < 0.05 ? 0 : Math.min(100, (100 * seconds) / most);
    bar.children[k].style.setProperty("--share", `${share.toFixed(1)}%`);
    bar.children[k].title = words[k];
  });
}

// What ours have lost in either plan by now, and the gap between them where ours are.
function showGap() {
  if (!told.other) return;
  const who = lostAt.who(state), here = who.reduce((sum, i) => sum + race.stationAt(state.t, i), 0) / who.length;
  const gap = lostAt.gap(state, Math.min(here, lostAt.end_m));
  const lost = lostAt.races.map((one) => tenths(who.reduce((sum, i) => sum + one.lostAt(state.t, i), 0) / who.length));
  const words = gap === null ? "" : Math.abs(gap) < 0.05 ? "Both plans are level here."
    : `The other plan is ${Math.abs(gap).toFixed(1)} s a runner ${gap > 0 ? "behind" : "ahead"} here.`;
  part("gap").textContent = `${words} Lost so far: ${lost[0]} s a runner, with the other plan ${lost[1]} s.`.trim();
}

function showLegend() {
  const items = look.legend(state).map(([fill, shape, words, level]) => legendItem(words, (context) => {
    if (level) {
      disc(context, 9, 9, 7, LOSING[level]);
      if (HOLLOW[level]) disc(context, 9, 9, 7 * HOLLOW[level], INK.paper);
      return;
    }
    tracedShape(context, shape, 9, 9, 6);
    context.fillStyle = fill;
    context.fill();
    context.strokeStyle = INK.text;
    context.stroke();
  }));
  for (const [words, ink, thick, dashes] of [["barrier", INK.barrier, 4, []], ["marked edge", INK.marked, 2, [5, 3]], ["open edge", INK.open, 1, []]]) {
    items.push(legendItem(words, (context) => {
      context.strokeStyle = ink;
      context.lineWidth = thick;
      context.setLineDash(dashes);
      context.beginPath();
      context.moveTo(0, 9);
      context.lineTo(18, 9);
      context.stroke();
    }));
  }
  items.push(legendItem("landmark", (context) => {
    context.fillStyle = INK.marked;
    context.fillRect(5, 5, 8, 8);
  }), legendItem("checkpoint", (context) => {
    context.fillStyle = INK.text;
    context.fillRect(5, 5, 8, 8);
  }));
  if (race.ours >= 0) items.push(legendItem("a whole second has gone", (context) => {
    context.beginPath();
    context.arc(9, 9, 7, 0, 2 * Math.PI);
    context.strokeStyle = INK.ring;
    context.lineWidth = 2;
    context.stroke();
  }));
  if (told.other) items.push(legendItem("the other plan: same people, same clock", (context) => ribbon.diamondAt(context, 9, 9, 7)));
  part("legend").replaceChildren(...items);
  const split = race.parts.filter((name, k) => name !== "racing" || race.lost_cs[k].some((value) => value));
  part("split").replaceChildren(...split.map((name) => legendItem(name, (context) => {
    context.fillStyle = PART_INKS[name];
    context.fillRect(3, 3, 12, 12);
    context.strokeStyle = INK.text;
    context.strokeRect(3, 3, 12, 12);
  })));
}

function legendItem(words, drawn) {
  const item = document.createElement("li"), swatch = document.createElement("canvas");
  swatch.width = swatch.height = 18;
  drawn(swatch.getContext("2d"));
  item.append(swatch, words);
  return item;
}

function setPlaying(playing) {
  if (playing && state.t >= race.last_s) state.t = 0; // from the end it begins again
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
    const [wide, high] = sizeOf(canvas);
    camera.x += (x - wide / 2) * (1 / camera.scale - 1 / scale);
    camera.y -= (y - high / 2) * (1 / camera.scale - 1 / scale);
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

// A little before the ten seconds in which ours, or those followed, lose most.
function mostLostAt() {
  const who = race.mine.length ? race.mine : followedRunners(race, state);
  const lost = (t) => who.reduce((sum, i) => sum + race.lostAt(t, i), 0);
  let best = 0, most = -Infinity;
  for (let t = 0; t <= race.last_s; t += 1) {
    const here = lost(t + 10) - lost(t);
    if (here > most) [most, best] = [here, t];
  }
  return Math.max(0, best - 3);
}

// --- A link to a moment ---

function link() {
  const follow = state.follow.kind === "pack" ? "pack" : `${state.follow.kind}:${state.follow.index}`;
  const words = new URLSearchParams({ at: state.t.toFixed(1), follow, view: state.view, colour: state.colour });
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
  const to = words.get("to"), place = ground.named().find(({ name }) => name === to);
  if (to === "most") return setTime(mostLostAt());
  if (place) return setTime(whenAt(place.station));
  const along = Number(words.get("along")); // as other pages lead here
  if (words.has("along") && Number.isFinite(along)) return setTime(whenAt(along));
  const t = Number(words.get("at") ?? words.get("t")); // "t" stands in links of older pages
  if (Number.isFinite(t)) setTime(t);
}
