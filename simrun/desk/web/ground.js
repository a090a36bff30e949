// The ground: what the course is, and names for places on it.

import { make, quantity, said, table } from "./make.js";

export function groundStep(desk) {
  const { day } = desk, { ground } = day;
  const field = make("input", { type: "text", id: "race-name", value: day.name, maxlength: "80", onchange: () => field.value.trim() && desk.change("name", { name: field.value.trim() }) });
  const gates = [], seen = new Set();
  for (const gate of ground.gates) {
    if (seen.has(gate.name)) continue;
    seen.add(gate.name);
    gates.push([gate.name, gate.kind === "turn" ? `turn to the ${gate.inside}` : "narrowing", said(gate.width), said(gate.station, 0)]);
  }
  const place = make("div", { class: "place", id: "place" }, make("p", { class: "help", text: "Click a place on the course to give it a name: a tree, a pond, where your people stand." }));
  desk.map.clicked = (x, y) => ask(desk, place, x, y);
  return [
    make("h2", { text: "The ground" }),
    make("p", { class: "lead", text: `${said(ground.length, 0)} along the measured line, ${day.runners} runners.` }),
    day.about ? make("p", { class: "about", text: day.about }) : null,
    make("label", { for: "race-name", class: "over", text: "Name of the race" }), field,
    place,
    widths(desk),
    table(["place", "what", "wide", "from the start"], gates, "Turns and narrowings, in the order of the race"),
    ground.landmarks.length ? table(["landmark", "from the start"], ground.landmarks.map((mark) => [mark.name, said(mark.station, 0)]), "Landmarks") : null,
    make("p", { class: "help", text: "A new course, from a track, a picture or a blank sheet: New race day, above." }),
  ].filter(Boolean);
}

// How wide the course is from here on, wherever a width is written: what a watch cannot know.
function widths(desk) {
  if (!desk.day.pieces.length) return null;
  const rows = desk.day.pieces.map((piece) => quantity({ key: `width-${piece.number}`, label: piece.name, kind: "short", value: piece.width },
    (_, width) => desk.change("width", { number: piece.number, width })));
  return make("details", { id: "widths", open: desk.widthsOpen, ontoggle: (event) => { desk.widthsOpen = event.target.open; } },
    make("summary", { text: "How wide it is, piece by piece" }), ...rows);
}

function ask(desk, place, x, y) {
  const { ground } = desk.day;
  let best = [Infinity, 0];
  for (let k = 0; k < ground.station.length; k++) {
    if (ground.station[k] <= 0 || k > ground.finish) continue;
    const away = Math.hypot((ground.left[2 * k] + ground.right[2 * k]) / 2 - x, (ground.left[2 * k + 1] + ground.right[2 * k + 1]) / 2 - y);
    if (away < best[0]) best = [away, k];
  }
  const at = between(ground, best[1], x, y);
  const name = make("input", { type: "text", id: "place-name", maxlength: "80" });
  const keep = () => name.value.trim() && desk.change("mark", { name: name.value.trim(), at });
  name.addEventListener("keydown", (event) => event.key === "Enter" && keep());
  place.replaceChildren(make("label", { for: "place-name", class: "over", text: `What is there, ${said(at, 0)} from the start?` }), name,
    make("button", { type: "button", text: "Keep this name", onclick: keep }));
  name.focus();
}

// How far along is the point, on the stretch before or after its nearest cut?
function between(ground, k, x, y) {
  const middle = (c) => [(ground.left[2 * c] + ground.right[2 * c]) / 2, (ground.left[2 * c + 1] + ground.right[2 * c + 1]) / 2];
  let found = [Infinity, ground.station[k]];
  for (const from of [k - 1, k]) {
    if (from < 0 || from + 1 >= ground.station.length) continue;
    const [ax, ay] = middle(from), [bx, by] = middle(from + 1), long2 = (bx - ax) ** 2 + (by - ay) ** 2 || 1;
    const share = Math.max(0, Math.min(1, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / long2));
    const away = Math.hypot(ax + share * (bx - ax) - x, ay + share * (by - ay) - y);
    if (away < found[0]) found = [away, ground.station[from] + share * (ground.station[from + 1] - ground.station[from])];
  }
  return Math.max(1, Math.min(ground.length - 1, Math.round(10 * found[1]) / 10));
}
