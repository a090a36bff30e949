(() => {
"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const { model, ranges, limits } = data;
const STARTS = ["usual", "quick", "wild"], MARKS = 3, OUTPUTS = 5, RACE_M = 5000, FLOW_M_S = 1.5;

// What the model sees of a box: the same lines as trials/handbook/traits.py.
const mean = (values) => values.reduce((sum, v) => sum + v, 0) / values.length;

function traits(day) {
  const side = day.turn_deg > 0 ? 1 : -1, half = day.width_m / 2, across = day.throat_m / 2;
  const offset = side * day.offset_m, apex = offset + day.turn_m / 2;
  const straight = day.straight_m, behind = day.turn_after_m, { log } = Math;
  const places = Array.from({ length: day.boxes }, (_, i) => side * ((i + 0.5) / day.boxes * day.width_m - half));
  const ways = places.map((y) => {
    const taut = y + (apex - y) * straight / (straight + behind);
    const crossed = Math.min(Math.max(taut, offset - across), offset + across);
    const first = Math.sqrt(straight ** 2 + (crossed - y) ** 2);
    return [first, first + Math.sqrt(behind ** 2 + (apex - crossed) ** 2)];
  });
  const pace = day.mean_s / RACE_M, middle = [mean(ways.map((w) => w[0])), mean(ways.map((w) => w[1]))];
  const field = day.boxes * day.runners, queue = field / (FLOW_M_S * day.throat_m);
  const rows = Math.ceil(day.runners / day.abreast);
  const bulk = log(queue / (1 + straight * day.spread_s / RACE_M + 0.5 * (rows - 1)));
  const common = [
    log(day.width_m / 50), log(straight / 200), log(day.throat_m / 9), log(day.width_m / straight),
    log(day.throat_m / day.width_m), offset / half, Math.abs(offset) / half, log(field / 100), bulk,
    log(queue / 10), log(field / day.width_m / 2), rows - 2, day.width_m / day.boxes / day.abreast - 1,
    log(day.boxes / 20), log(behind / 70), Math.abs(day.turn_deg) / 90 - 1, log(day.turn_m / day.throat_m),
    log(1 + day.radius_m) / 2, day.radius_m === 0 ? 1 : 0, day.mean_s / 200 - 5.7, day.spread_s / 30 - 1.8,
    day.start === "quick" ? 1 : 0, day.start === "wild" ? 1 : 0,
  ];
  return places.map((y, i) => {
    const off = (y - offset) / half, far = Math.abs(off), share = y / half;
    const beside = Math.max(Math.abs(y - offset) - across, 0);
    const first = (ways[i][0] - middle[0]) * pace, later = (ways[i][1] - middle[1]) * pace;
    const own = [share, share ** 2, off, far, beside / half, beside / straight, first, later, off * bulk,
      far * bulk, share ** 4, off * day.throat_m / 25];
    return { seen: [...own, ...common], ground: [first, later, later] };
  });
}

function raw(seen) {
  let values = seen.map((v, i) => (v - model.middle[i]) / model.width[i]);
  model.layers.forEach(([weights, bias], layer) => {
    const next = bias.slice();
    values.forEach((v, i) => weights[i].forEach((w, j) => { next[j] += v * w; }));
    values = layer < model.layers.length - 1 ? next.map(Math.tanh) : next;
  });
  return values.map((v, i) => v * model.scale[i]);
}

// Seconds and places of every box at every mark, against the average box: [box][mark].
function outputs(day) {
  const boxes = traits(day), each = boxes.map((box) => raw(box.seen));
  const seconds = each.map((v, b) => [0, 1, 2].map((m) => v[m * OUTPUTS] + boxes[b].ground[m]));
  const places = each.map((v) => [0, 1, 2].map((m) => v[m * OUTPUTS + 1]));
  return { cost_s: centred(seconds), cost_places: centred(places) };
}

function centred(table) {
  const middle = [0, 1, 2].map((m) => mean(table.map((row) => row[m])));
  return table.map((row) => row.map((v, m) => v - middle[m]));
}

// The days that it may be: what is not told is taken at the model's points, every second in a mirror.
function between(name, unit) {
  const [low, high] = ranges[name];
  return data.evenly.includes(name) ? low + unit * (high - low) : low * (high / low) ** unit;
}

function mostSpread(mean) {
  return Math.max(limits.plain_spread_s, (mean - limits.fastest_s) / limits.fast_share);
}

function dayOf(told, unit, mirror) {
  const or = (name, drawn) => told[name] ?? drawn;
  const room = Math.max(1, Math.min(limits.most_abreast, Math.floor(told.width_m / told.boxes / limits.body_m), told.runners));
  const offset = (mirror ? -1 : 1) * (2 * unit.offset - 1) * (told.width_m - told.throat_m) / 2;
  const right = told.right ?? ((unit.turns_right >= 0.5) !== mirror);
  const degrees = or("turn_deg", between("turn_deg", unit.turn_deg));
  const turn = or("turn_m", told.throat_m * between("turn_share", unit.turn_share));
  const radius = or("radius_m", unit.post < limits.posts ? 0 : between("radius_m", unit.radius_m));
  const left = limits.last_turn_m - told.straight_m - degrees * Math.PI / 180 * (radius + turn / 2);
  const behind = Math.max(ranges.turn_after_m[0], Math.min(between("turn_after_m", unit.turn_after_m), left));
  const pace = or("mean_s", between("mean_s", unit.mean_s));
  return {
    width_m: told.width_m, boxes: told.boxes, runners: told.runners, straight_m: told.straight_m, throat_m: told.throat_m,
    abreast: or("abreast", 1 + Math.min(room - 1, Math.floor(unit.abreast * room))),
    offset_m: or("offset_m", offset), turn_after_m: or("turn_after_m", behind), turn_deg: right ? degrees : -degrees,
    turn_m: turn, radius_m: radius, mean_s: pace,
    spread_s: or("spread_s", Math.min(between("spread_s", unit.spread_s), mostSpread(pace))),
    start: told.start ?? STARTS[Math.min(2, Math.floor(3 * unit.start))],
  };
}

function costs(told) {
  const found = model.points.flatMap((unit) => [false, true].map((mirror) => outputs(dayOf(told, unit, mirror))));
  const values = {}, half = {};
  for (const name of ["cost_s", "cost_places"]) {
    values[name] = found[0][name].map((row, b) => row.map((_, m) => mean(found.map((f) => f[name][b][m]))));
    const squares = found.map((f) => [0, 1, 2].map((m) => mean(f[name].map((row) => row[m] ** 2))));
    half[name] = values[name].map((row, b) => row.map((middle, m) => {
      const [base, own, whole] = model.scatter[name][m];
      const error = mean(found.map((f, k) => base + own * f[name][b][m] ** 2 + whole * squares[k][m]));
      const unknown = mean(found.map((f) => (f[name][b][m] - middle) ** 2));
      return model.factor[name][m] * Math.sqrt(error + unknown);
    }));
  }
  return { values, half };
}
window.estimateCosts = costs;

// The words: as in answers/estimate/words.py.
const tenth = (v) => { const r = Math.round(v * 10) / 10; return r === 0 ? 0 : r; };

function secondsWords(seconds, half) {
  const shown = tenth(seconds), low = tenth(seconds - half), high = tenth(seconds + half);
  const verb = shown < 0 ? "gain" : "lose";
  let ends = `${low.toFixed(1)} to ${high.toFixed(1)}`;
  if (low < 0 && high > 0) ends = `${(-low).toFixed(1)} gained to ${high.toFixed(1)} lost`;
  else if (shown < 0) ends = `${Math.abs(high).toFixed(1)} to ${(-low).toFixed(1)}`;
  if (shown === 0) return `lose next to nothing (${ends})`;
  return `${verb} about ${Math.abs(shown).toFixed(1)} s (${ends})`;
}

function placesWords(places, seconds) {
  const count = Math.abs(places), word = count === 1 ? "place" : "places";
  if (count === 0) return "no place";
  if ((places < 0) === (tenth(seconds) < 0)) return `${count} ${word}`;
  return `${places < 0 ? "gain" : "lose"} ${count} ${word}`;
}

function sentence(told, box, found) {
  const say = (m) => {
    const s = found.values.cost_s[box - 1][m];
    return `${secondsWords(s, found.half.cost_s[box - 1][m])} and ${placesWords(Math.round(found.values.cost_places[box - 1][m]), s)}`;
  };
  return `From box ${box} of ${told.boxes} you ${say(0)} by the throat against the average box; behind the first turn you ${say(1)}, and at 1 km you ${say(2)}.`;
}

function outside(told) {
  const known = { box_m: told.width_m / told.boxes };
  for (const name of Object.keys(ranges)) if (told[name] != null) known[name] = told[name];
  if (told.turn_m != null) known.turn_share = told.turn_m / told.throat_m;
  if (told.radius_m === 0) delete known.radius_m;
  const found = Object.entries(known).filter(([n, v]) => v < ranges[n][0] - 1e-9 || v > ranges[n][1] + 1e-9)
    .map(([n, v]) => [n, v, ...ranges[n]]);
  const field = told.boxes * told.runners, share = told.throat_m / told.width_m;
  const most = told.mean_s && told.spread_s ? mostSpread(told.mean_s) : Infinity;
  if (told.spread_s > most && told.spread_s <= ranges.spread_s[1]) found.push(["spread_s", told.spread_s, ranges.spread_s[0], most]);
  if (field > limits.most_field) found.push(["field", field, 0, limits.most_field]);
  if (share > limits.most_throat) found.push(["throat_share", share, 0, limits.most_throat]);
  return found;
}

const YARD = 0.9144, us = data.units === "us";
const shownValue = (name, v) => {
  if (name === "mean_s") return `${Math.floor(v / 60)}:${String(Math.round(v % 60)).padStart(2, "0")}`;
  if (name === "spread_s") return `${v} s`;
  if (name === "turn_deg") return `${v}\u00b0`;
  if (name.endsWith("_m")) return us ? `${(v / YARD).toFixed(1)} yd` : `${+v.toFixed(2)} m`;
  return String(+v.toFixed(2));
};

// The sliders.
const told = { ...data.told };
let box = data.box, mark = 0;
const KNOWN = [["width_m", "line width", 20, 120, 1], ["boxes", "boxes", 5, 60, 1], ["runners", "runners in a box", 3, 9, 1],
  ["straight_m", "straight to the end of the narrowing", 60, 700, 5], ["throat_m", "throat width", 3, 25, 0.5]];
const MORE = [["offset_m", "throat right (+) or left (-) of the middle", -40, 40, 0.5, 0], ["turn_after_m", "from the throat to the first turn", 15, 300, 5, 70],
  ["turn_deg", "degrees of the turn", 30, 150, 5, 90], ["turn_m", "width in the turn", 3, 25, 0.5, 8], ["radius_m", "inside radius of the turn (0: post)", 0, 20, 0.5, 5],
  ["abreast", "abreast in the front row", 1, 4, 1, 2], ["mean_s", "mean 5 km time of the field", 960, 1440, 10, 1110], ["spread_s", "spread of the times", 20, 160, 1, 50]];
const CHOICES = [["right", "first turn goes", [["", "not known"], ["left", "left"], ["right", "right"]]],
  ["start", "the field goes out", [["", "not known"], ...STARTS.map((s) => [s, s])]]];
const made = (tag, parent, set = {}) => { const one = Object.assign(document.createElement(tag), set); parent.append(one); return one; };

function slider(parent, name, words, low, high, step, value) {
  const row = made("div", parent, { className: "row" }), id = `f-${name}`;
  const label = made("label", row, { htmlFor: id, textContent: words });
  const shown = made("output", row), input = document.createElement("input");
  Object.assign(input, { type: "range", id, min: Math.min(low, value), max: Math.max(high, value), step });
  input.value = value;
  row.append(input);
  return { row, label, shown, input };
}

const parts = {};
for (const [name, words, low, high, step] of KNOWN) {
  const part = slider(document.getElementById("known"), name, words, low, high, step, told[name]);
  part.input.addEventListener("input", () => { told[name] = +part.input.value; draw(); });
  parts[name] = part;
}
const ours = slider(document.getElementById("known"), "box", "our box, from the left", 1, told.boxes, 1, box);
ours.input.addEventListener("input", () => { box = +ours.input.value; draw(); });
for (const [name, words, options] of CHOICES) {
  const row = made("div", document.getElementById(name === "right" ? "known" : "more"), { className: "row" });
  made("label", row, { htmlFor: `f-${name}`, textContent: words });
  const select = made("select", row, { id: `f-${name}` });
  for (const [value, text] of options) made("option", select, { value, textContent: text });
  select.value = name === "right" ? (told.right == null ? "" : told.right ? "right" : "left") : told.start ?? "";
  select.addEventListener("change", () => {
    const value = select.value || null;
    told[name] = name === "right" && value ? value === "right" : value;
    draw();
  });
}
for (const [name, words, low, high, step, middle] of MORE) {
  const part = slider(document.getElementById("more"), name, "", low, high, step, told[name] ?? middle);
  const check = made("input", part.label, { type: "checkbox", id: `k-${name}`, checked: told[name] != null });
  part.label.htmlFor = check.id;
  part.input.ariaLabel = words;
  part.label.append(words);
  const take = () => { told[name] = check.checked ? +part.input.value : null; draw(); };
  check.addEventListener("change", take);
  part.input.addEventListener("input", () => { check.checked = true; take(); });
  parts[name] = part;
}
for (const radio of document.querySelectorAll("input[name=mark]")) {
  radio.addEventListener("change", () => { mark = +radio.value; draw(); });
}

// Keep to lines that can be: a throat narrower than the line, boxes that hold a body, our box among them.
function settle() {
  told.throat_m = Math.min(told.throat_m, told.width_m - 1);
  told.boxes = Math.min(told.boxes, Math.floor(told.width_m / limits.body_m));
  const most = (told.width_m - told.throat_m) / 2;
  if (told.offset_m != null) told.offset_m = Math.max(-most, Math.min(most, told.offset_m));
  box = Math.min(box, told.boxes);
  ours.input.max = told.boxes;
  ours.input.value = box;
  ours.shown.textContent = `${box} of ${told.boxes}`;
  for (const [name, part] of Object.entries(parts)) {
    part.row.classList.toggle("unknown", told[name] == null);
    if (told[name] != null) part.input.value = told[name];
    part.shown.textContent = told[name] == null ? "not known" : shownValue(name, told[name]);
  }
}

const SVG = "http://www.w3.org/2000/svg", drawing = document.getElementById("drawing");
function shape(tag, set, text = "") {
  const one = document.createElementNS(SVG, tag);
  for (const [key, value] of Object.entries(set)) one.setAttribute(key, value);
  one.textContent = text;
  drawing.append(one);
}

function chart(found) {
  drawing.replaceChildren();
  const values = found.values.cost_s.map((row) => row[mark]), half = found.half.cost_s.map((row) => row[mark]);
  const low = Math.min(0, ...values.map((v, i) => v - half[i])), high = Math.max(0, ...values.map((v, i) => v + half[i]));
  const step = [0.2, 0.5, 1, 2, 5, 10, 20, 50].find((s) => (high - low) / s <= 6) ?? 100;
  const top = Math.ceil(high / step) * step, foot = Math.floor(low / step) * step;
  const x = (i) => 62 + (i + 0.5) / values.length * 640, y = (v) => 34 + (top - v) / (top - foot) * 244;
  for (let v = foot; v <= top + 1e-9; v += step) {
    const zero = Math.abs(v) < 1e-9;
    shape("line", { x1: 62, x2: 702, y1: y(v), y2: y(v), class: zero ? "zero" : "axis" });
    shape("text", { x: 54, y: y(v) + 5, "text-anchor": "end" }, zero ? "0" : (+v.toFixed(1)).toString());
  }
  shape("text", { x: 4, y: 18 }, "seconds lost (below 0: gained)");
  values.forEach((v, i) => {
    const mine = i === box - 1, kind = mine ? "ours" : "range";
    shape("line", { x1: x(i), x2: x(i), y1: y(v - half[i]), y2: y(v + half[i]), class: kind });
    if (mine) shape("rect", { x: x(i) - 7, y: y(v) - 7, width: 14, height: 14, class: "ours" });
    else shape("circle", { cx: x(i), cy: y(v), r: 4, class: "dot" });
  });
  const every = values.length > 40 ? 10 : values.length > 12 ? 5 : 1;
  values.forEach((_, i) => {
    const number = i + 1, mine = number === box;
    const near = Math.abs(number - box) * 640 / values.length < 44;
    if (!mine && (near || !(number === 1 || number % every === 0))) return;
    shape("text", { x: x(i), y: 302, "text-anchor": "middle", class: mine ? "mine" : "" }, String(number));
  });
  shape("text", { x: 62, y: 326 }, "left");
  shape("text", { x: 382, y: 326, "text-anchor": "middle" }, "box");
  shape("text", { x: 702, y: 326, "text-anchor": "end" }, "right");
}

function draw() {
  settle();
  const found = costs(told), far = outside(told);
  const says = sentence(told, box, found);
  document.getElementById("sentence").textContent = far.length
    ? `Outside what was sampled, so do not rely on it: ${says[0].toLowerCase()}${says.slice(1)}` : says;
  const text = (n, v) => n.endsWith("_m") ? shownValue(n, v) : String(+v.toPrecision(3));
  document.getElementById("outside").textContent = far.length
    ? `Outside what was sampled: ${far.map(([n, v, a, b]) => `${data.range_words[n]} ${text(n, v)} (${text(n, a)} to ${text(n, b)} was sampled)`).join("; ")}.` : "";
  const unknown = Object.keys(data.unknown_words).filter((n) => told[n] == null).map((n) => data.unknown_words[n]);
  document.getElementById("unknown").textContent = unknown.length
    ? `Not known, and carried along in every range: ${unknown.join(", ")}.` : "";
  chart(found);
}
draw();
})();
