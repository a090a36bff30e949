// The ground: what the course is, what stands on it, how wide it is, and what is drawn straight.

import { hillSaid } from "./hills.js";
import { draw, make, quantity, said, table, unitOf } from "./make.js";

// What may be on a course: [word, what is asked of it, a name for it]
const THERE = {
  landmark: ["a landmark: a tree, a pond, a tent", [], "landmark"],
  people: ["our people stand here", ["side"], "our people"],
  narrowing: ["it narrows here", ["width", "length"], "narrowing"],
  gate: ["a gate", ["width"], "gate"],
  trail: ["a trail or a path begins", ["width", "length"], "trail"],
  hill: ["a hill: up, and down again", ["climb", "length"], "hill"],
  rise: ["it rises, or falls with a minus", ["climb", "length"], "rise"],
  post: ["a post to turn about, inside this turn", [], "post"],
};
const ASKED = { width: ["How wide", 3, "short"], length: ["For how long (empty: from here on)", 30, "long"], climb: ["By how much it climbs", 2, "short"] };
const SIDES = [["", "either side"], ["left", "on the left"], ["right", "on the right"]];

export function groundStep(desk) {
  const { day } = desk, { ground } = day;
  const field = make("input", { type: "text", id: "race-name", value: day.name, maxlength: "80", onchange: () => field.value.trim() && desk.change("name", { name: field.value.trim() }) });
  const gates = [], seen = new Set();
  for (const gate of ground.gates) {
    if (seen.has(gate.name)) continue;
    seen.add(gate.name);
    gates.push([gate.name, gate.kind === "turn" ? `turn to the ${gate.inside}` : "narrowing", said(gate.width), said(gate.station, 0)]);
  }
  const place = make("div", { class: "place", id: "place" });
  clickPlaces(desk, place);
  desk.map.setHandles(edgeHandles(desk));
  return [
    make("h2", { text: "The ground" }),
    make("p", { class: "lead", text: `${said(ground.length, 0)} along the measured line, ${day.runners} runners.` }),
    day.about ? make("p", { class: "about", text: day.about }) : null,
    day.races?.length ? null : make("label", { for: "race-name", class: "over", text: "Name of the race" }), day.races?.length ? null : field,
    place,
    straightened(desk, place),
    widths(desk),
    table(["place", "what", "wide", "from the start"], gates, "Turns and narrowings, in the order of the race"),
    ground.hills.length ? table(["hill", "from", "to"], ground.hills.map((hill) => [hillSaid(hill), said(hill.from, 0), said(hill.to, 0)]), "Hills; on the map the arrowheads point uphill") : null,
    ground.landmarks.length ? table(["landmark", "from the start"], ground.landmarks.map((mark) => [mark.name, said(mark.station, 0)]), "Landmarks") : null,
    day.places?.length ? table(["who", "from the start"], day.places.map((mark) => [mark.name, said(mark.station, 0)]), "Where our people stand") : null,
    make("p", { class: "help", text: "A new course, from a track, a picture or a blank sheet: New race day, above." }),
  ].filter(Boolean);
}

function clickPlaces(desk, place) {
  const [, each] = unitOf("long"), where = make("input", { type: "number", id: "place-at", min: "0", step: "any", inputmode: "decimal" });
  const ask = () => where.value !== "" && askPlace(desk, place, Math.min(desk.day.ground.length, Math.max(0.1, Number(where.value) * each)));
  where.addEventListener("keydown", (event) => event.key === "Enter" && ask());
  place.replaceChildren(
    make("p", { class: "help", text: "Click a place on the course to say what is there: a gate, a hill, a tree, where your people stand. Drag the marks on its edge where it is wider or narrower." }),
    make("div", { class: "doing" }, make("label", { for: "place-at", text: `Or type how far from the start it is, in ${unitOf("long")[0]}` }), where, make("button", { type: "button", id: "place-ask", text: "What is there?", onclick: ask })));
  desk.map.clicked = (x, y) => askPlace(desk, place, nearest(desk.day.ground, x, y));
  desk.map.painters = [];
  desk.map.layers.over.replaceChildren();
}

function askPlace(desk, place, at) {
  const course = desk.day.pieces.length ? Object.keys(THERE) : ["landmark", "people"];
  const kind = make("select", { id: "place-kind", onchange: () => shown() }, course.map((key) => make("option", { value: key, text: THERE[key][0] })));
  const name = make("input", { type: "text", id: "place-name", maxlength: "80" });
  const side = make("select", { id: "place-side" }, SIDES.map(([value, text]) => make("option", { value, text })));
  const typed = Object.fromEntries(Object.entries(ASKED).map(([key, [, value]]) => [key, make("input", { type: "number", id: `place-${key}`, step: "any", inputmode: "decimal", value: key === "length" ? "" : String(value) })]));
  const rows = Object.fromEntries(Object.entries(ASKED).map(([key, [label, , is]]) => [key, make("div", { class: "quantity" }, make("label", { for: `place-${key}`, text: label }), make("span", { class: "typed" }, typed[key], make("span", { class: "unit", text: unitOf(is)[0] })))]));
  rows.side = make("div", { class: "quantity" }, make("label", { for: "place-side", text: "Which side" }), side);
  const shown = () => {
    for (const [key, row] of Object.entries(rows)) row.hidden = !THERE[kind.value][1].includes(key);
    name.placeholder = THERE[kind.value][2];
  };
  const value = (key) => (rows[key].hidden || typed[key].value === "" ? null : Number(typed[key].value) * unitOf(ASKED[key][2])[1]);
  const keep = () => desk.change("place", { kind: kind.value, name: name.value.trim() || free(desk.day, THERE[kind.value][2]), at, side: side.value, length: value("length"), width: value("width"), climb: value("climb") });
  name.addEventListener("keydown", (event) => event.key === "Enter" && keep());
  place.replaceChildren(make("label", { for: "place-kind", class: "over", text: `What is there, ${said(at, 0)} from the start?` }), kind,
    make("label", { for: "place-name", class: "over", text: "What you call it" }), name, ...Object.values(rows),
    make("div", { class: "doing" }, make("button", { type: "button", class: "main", id: "place-keep", text: "Put it there", onclick: keep }), make("button", { type: "button", id: "place-leave", text: "Leave it", onclick: () => clickPlaces(desk, place) })));
  shown();
  desk.map.painters = [(map) => map.layers.over.replaceChildren(cross(map, ...pointAt(desk.day.ground, at)))];
  desk.map.paint();
  kind.focus({ preventScroll: true });
}

// A name that nothing on this course has yet.
function free(day, word) {
  const taken = new Set([...day.pieces, ...day.ground.gates, ...day.ground.landmarks, ...(day.places || [])].map((each) => each.name));
  for (let number = 1; ; number++) {
    const name = number === 1 ? word : `${word} ${number}`;
    if (!taken.has(name)) return name;
  }
}

// Two places, clicked or typed: what bends between them becomes one straight.
function straightened(desk, place) {
  if (!desk.day.pieces.length) return null;
  const [unit, each] = unitOf("long"), box = (key, label) => make("input", { type: "number", id: `straight-${key}`, "aria-label": label, min: "0", step: "any", inputmode: "decimal" });
  const from = box("from", "From"), to = box("to", "To"), help = make("p", { class: "help", text: "For a track that wobbles where the course does not. Type both ends, or click them on the map." });
  const asking = make("div", { id: "straight-asks", role: "alert" });
  const straighten = (drop = false) => {
    asking.replaceChildren();
    if (from.value !== "" && to.value !== "") desk.change("straight", { from: Number(from.value) * each, to: Number(to.value) * each, drop }, (lost) => asking.replaceChildren(...ordersLost(lost, () => straighten(true), () => asking.replaceChildren())));
  };
  const clicks = () => {
    from.value = to.value = "";
    help.textContent = "Click where the straight begins, then where it ends.";
    desk.map.clicked = (x, y) => {
      const field = from.value === "" ? from : to;
      field.value = (nearest(desk.day.ground, x, y) / each).toFixed(1);
      help.textContent = field === from ? "Now where it ends." : "";
      if (field === to) { clickPlaces(desk, place); straighten(); }
    };
  };
  return make("details", { id: "straighten", open: desk.straightOpen, ontoggle: (event) => { desk.straightOpen = event.target.open; } },
    make("summary", { text: "Draw a wobbly stretch straight" }), help,
    make("div", { class: "doing" }, make("span", { text: "from" }), from, make("span", { text: "to" }), to, make("span", { text: `${unit} from the start` })),
    make("div", { class: "doing" }, make("button", { type: "button", id: "straight-click", text: "Click both ends", onclick: clicks }), make("button", { type: "button", id: "straight-keep", text: "Make it straight", onclick: () => straighten() })), asking);
}

// A corner goes that somebody is told something for: which orders, and whether they may go with it.
function ordersLost(lost, drop, leave) {
  return [make("p", { class: "open", text: "This takes a corner away that the plan speaks of. These orders would go with it:" }),
    make("ul", {}, lost.map(({ team, place, line }) => make("li", { text: `${team}: ${line} at ${place}` }))),
    make("div", { class: "doing" }, make("button", { type: "button", class: "main", id: "straight-drop", text: "Make it straight, drop these orders", onclick: drop }),
      make("button", { type: "button", id: "straight-leave", text: "Leave it as it is", onclick: leave }))];
}

// How wide the course is, wherever it can be said: what a watch cannot know.
function widths(desk) {
  if (!desk.day.pieces.length) return null;
  const rows = desk.day.pieces.map((piece) => quantity({ key: `width-${piece.number}`, label: piece.name, kind: "short", value: piece.width },
    (_, width) => desk.change("width", { number: piece.number, width })));
  return make("details", { id: "widths", open: desk.widthsOpen, ontoggle: (event) => { desk.widthsOpen = event.target.open; } },
    make("summary", { text: "How wide it is, piece by piece" }), ...rows);
}

// A mark on the left edge of every piece: dragged, the course is wider or narrower there.
function edgeHandles(desk) {
  return desk.day.pieces.map((piece) => {
    const now = () => desk.day.pieces.find((each) => each.number === piece.number) || piece;
    const least = piece.number === 1 ? desk.day.start.width : 0.6;
    return { key: `edge-${piece.number}`, label: `Width of ${piece.name}`, shape: "edge", step: 0.25, grain: 0.05, limits: () => [least, Math.max(60, now().width)],
      at: () => [0, 1].map((k) => now().middle[k] + (now().left[k] * now().width) / 2), value: () => now().width, words: () => said(now().width, 2),
      from: (x, y) => 2 * Math.abs((x - now().middle[0]) * now().left[0] + (y - now().middle[1]) * now().left[1]),
      trying: (width) => desk.trying.ask({ throat: width, throat_number: piece.number, ground: true }), done: (width) => desk.change("width", { number: piece.number, width }) };
  });
}

function cross(map, x, y) {
  const [sx, sy] = map.screen(x, y);
  return draw("path", { class: "known", d: `M${sx - 9} ${sy}h18M${sx} ${sy - 9}v18` });
}

// Where on the middle of the course is it so far along?
function pointAt(ground, at) {
  const k = Math.max(0, ground.station.findLastIndex((station) => station <= at)), next = Math.min(k + 1, ground.station.length - 1);
  const share = Math.min(1, (at - ground.station[k]) / Math.max(1e-9, ground.station[next] - ground.station[k]));
  return [0, 1].map((c) => { const middle = (i) => (ground.left[2 * i + c] + ground.right[2 * i + c]) / 2; return middle(k) + share * (middle(next) - middle(k)); });
}

// How far along the course is the point of its middle that is nearest?
function nearest(ground, x, y) {
  let best = [Infinity, 0];
  for (let k = 0; k < ground.station.length - 1; k++) {
    if (ground.station[k + 1] <= 0 || k >= ground.finish) continue;
    const ax = (ground.left[2 * k] + ground.right[2 * k]) / 2, ay = (ground.left[2 * k + 1] + ground.right[2 * k + 1]) / 2;
    const bx = (ground.left[2 * k + 2] + ground.right[2 * k + 2]) / 2, by = (ground.left[2 * k + 3] + ground.right[2 * k + 3]) / 2;
    const long2 = (bx - ax) ** 2 + (by - ay) ** 2 || 1, share = Math.max(0, Math.min(1, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / long2));
    const away = Math.hypot(ax + share * (bx - ax) - x, ay + share * (by - ay) - y);
    if (away < best[0] - 1e-6) best = [away, ground.station[k] + share * (ground.station[k + 1] - ground.station[k])];
  }
  return Math.max(0.1, Math.min(ground.length - 0.1, Math.round(10 * best[1]) / 10));
}
