// The line: its ends, its bow and its tilt by hand; what every box has further to go, at once.

import { make, more, quantity, said } from "./make.js";

export const LINE = {
  width: { label: "Width of the line", kind: "long", step: 0.5 },
  bow: { label: "Bow: the ends lie ahead by", kind: "short", step: 0.1, help: "0 is a straight line; bent, every box is about as far from one point." },
  tilt: { label: "Turned to the left by", kind: "deg", step: 0.5, help: "Below zero: to the right." },
  sideways: { label: "Moved to the left by", kind: "short", step: 0.5, help: "Below zero: to the right. Only where the ground is wider than the line." },
  boxes: { label: "Boxes", kind: "count", step: 1 },
  box_width: { label: "Width of a box", kind: "short", step: 0.1 },
  front_row: { label: "Side by side in a box", kind: "count", step: 1 },
};

export function lineStep(desk) {
  desk.map.setHandles(lineHandles(desk));
  desk.map.boxClicked = desk.day.ours ? (box) => ourBox(desk, box) : null;
  const rows = Object.keys(LINE).map((key) => quantityOf(desk, key, LINE));
  const sentence = make("p", { class: "lead", id: "line-said", "aria-live": "polite" }), boxes = make("ol", { class: "boxes", id: "boxes", "aria-label": "The boxes, from left to right" });
  const show = () => {
    sentence.textContent = lineSaid(desk.day);
    const scrolled = boxes.scrollLeft;
    boxes.replaceChildren(...boxButtons(desk));
    boxes.scrollLeft = scrolled;
    rows.forEach((row) => row.show(desk.day.start[row.key]));
  };
  desk.heard.push(show);
  show();
  setTimeout(() => { const ours = boxes.querySelector(".ours"); if (ours) boxes.scrollLeft = ours.offsetLeft - boxes.offsetLeft - boxes.clientWidth / 2; });
  return [make("h2", { text: "The line" }), sentence, boxes,
    desk.day.ours ? make("p", { class: "help", text: "A box that you choose becomes ours; whoever stands there takes our old one." }) : null,
    ...rows];
}

export function quantityOf(desk, key, known, value = desk.day.start[key]) {
  const limits = desk.day.limits[key], named = key === "throat" ? { throat_number: desk.day.throat?.number } : {};
  const ground = ["straight", "throat"].includes(key) || (key === "width" && value * 1.001 > 0);
  const row = quantity({ key, value, limits, ...known[key] },
    (_, number) => desk.change("line", { [key]: number, ...named }),
    (_, number) => desk.trying.ask({ [key]: number, ground, ...named }));
  row.key = key;
  return row;
}

export function lineSaid(day) {
  const { line, ours } = day, worst = line.extra.indexOf(Math.max(...line.extra)), best = line.extra.indexOf(Math.min(...line.extra));
  const far = `Box ${best + 1} has the shortest way to ${line.to}; box ${worst + 1} has ${said(line.extra[worst], 1)} more.`;
  if (!ours?.box) return far;
  return `Ours is box ${ours.box}: ${said(line.extra[ours.box - 1] ?? 0, 1)} further than the best. ${far}`;
}

function boxButtons(desk) {
  const { day } = desk, most = Math.max(0.3, ...day.line.extra);
  return day.line.extra.map((extra, b) => {
    const mine = day.ours?.box === b + 1, closed = day.start.empty.includes(b + 1), bar = make("span", { class: "bar" });
    bar.style.height = `${Math.round((34 * extra) / most) + 2}px`;
    return make("li", {}, make("button", { type: "button", id: `box-${b + 1}`, class: mine ? "ours" : closed ? "closed" : "", disabled: closed || !day.ours,
      "aria-pressed": String(mine), title: day.line.teams[b] || null,
      onclick: () => ourBox(desk, b + 1) },
      bar, make("span", { class: "unseen", text: "Box " }), make("span", { class: "number", text: String(b + 1) }), make("span", { class: "extra", text: more(extra) }),
      make("span", { class: "unseen", text: `${day.line.teams[b] ? `, ${day.line.teams[b]}` : ""}${mine ? ", ours" : closed ? ", left empty" : ""}` })));
  });
}

const ourBox = (desk, box) => desk.day.ours.box !== box && desk.change("plan", { box });

export function lineHandles(desk) {
  const { map } = desk, day = () => desk.day, aside = () => day().start.sideways;
  const turned = (x, y) => { const [a, b] = turn(x, y, day().start.tilt); return [a, b + aside()]; }, back = (x, y) => turn(x, y - aside(), -day().start.tilt);
  const bowAt = (across) => { const { bow, width } = day().start; return bow * (2 * across / width) ** 2; };
  const one = (key, label, shape, at, value, from, words) => ({ key, label, shape, at, value, from, words, step: LINE[key].step, grain: key === "bow" ? 0.05 : 0.1, limits: () => day().limits[key],
    trying: (number) => desk.trying.ask({ [key]: number, ground: key === "width" && !!day().ground.first_straight }), done: (number) => desk.change("line", { [key]: number }) });
  const ends = [1, -1].map((side) => one("width", side > 0 ? "Width of the line, left end" : "Width of the line, right end", "width",
    () => { const { width, bow } = day().start; return turned(bow, side * width / 2); }, () => day().start.width,
    (x, y) => 2 * Math.abs(back(x, y)[1]), () => said(day().start.width, 1)));
  const bow = one("bow", "Bow of the line", "bow", () => { const { width } = day().start; return turned(bowAt(-0.32 * width), -0.32 * width); },
    () => day().start.bow, (x, y) => Math.max(0, back(x, y)[0]) / 0.64 ** 2, () => `the ends ${said(day().start.bow, 1)} ahead`);
  const stem = () => 0.22 * day().start.width + 6;
  const tilt = one("tilt", "Turn of the line", "tilt", () => turned(stem(), 0), () => day().start.tilt,
    (x, y) => (Math.atan2(y - aside(), x) * 180) / Math.PI, () => `${day().start.tilt.toFixed(1)} degrees to the left`);
  map.painters.push(() => map.layers.over.replaceChildren(stemShape(map, turned(0, 0), turned(stem(), 0))));
  return [...ends, bow, tilt];
}

function stemShape(map, from, at) {
  const [ax, ay] = map.screen(...from), [bx, by] = map.screen(...at), stem = document.createElementNS("http://www.w3.org/2000/svg", "path");
  stem.setAttribute("class", "stem");
  stem.setAttribute("d", `M${ax} ${ay}L${bx} ${by}`);
  return stem;
}

export function turn(x, y, degrees) {
  const cos = Math.cos((degrees * Math.PI) / 180), sin = Math.sin((degrees * Math.PI) / 180);
  return [cos * x - sin * y, sin * x + cos * y];
}
