// The plan: who stands in front, how hard each goes out in seconds at the stake, a line at each turn.

import { make, said } from "./make.js";
import { get } from "./talk.js";

export function planStep(desk) {
  const { day } = desk, { ours } = day;
  if (!ours) return [make("h2", { text: "The plan" }), make("p", { class: "lead", text: "First say which team is ours, under The people." })];
  const shown = [make("h2", { text: `The plan of ${ours.name}` })];
  if (ours.people.length < ours.runners) {
    shown.push(make("p", { class: "lead", text: `${ours.runners - ours.people.length} of our ${ours.runners} have no name yet. Name them under The people; then each can be told where to stand and how hard to go out.` }));
  } else shown.push(...standing(desk), ...openings(desk));
  return [...shown, ...turns(desk), ...stages(desk), ...others(desk)];
}

// In the order in which they take their marks: who is told the front row first, then as listed.
export function orderOf(day) {
  const names = day.ours.people.map((person) => person.name), front = day.ours.front.filter((name) => names.includes(name));
  return [...front, ...names.filter((name) => !front.includes(name))];
}

function standing(desk) {
  const { day } = desk, abreast = day.start.front_row, list = make("ol", { class: "standing", id: "standing", "aria-label": "Our box, front row first, from left to right" });
  list.style.setProperty("--abreast", Math.min(abreast, 4));
  let order = orderOf(day);
  const put = (name, to) => {
    const from = order.indexOf(name), at = Math.max(0, Math.min(order.length - 1, to));
    if (from === at) return;
    order.splice(from, 1);
    order.splice(at, 0, name);
    desk.change("plan", { front: order.slice(0, Math.min(abreast, order.length)) });
  };
  order.forEach((name, at) => {
    const row = Math.floor(at / abreast) + 1;
    const item = make("li", { draggable: "true", class: row === 1 ? "front" : "" }, make("button", { type: "button", id: `stands-${at}`,
      onkeydown: (event) => {
        const by = { ArrowLeft: -1, ArrowRight: 1, ArrowUp: -abreast, ArrowDown: abreast }[event.key];
        if (!by) return;
        event.preventDefault();
        const to = Math.max(0, Math.min(order.length - 1, at + by));
        document.getElementById(`stands-${to}`)?.focus();
        put(name, to);
      } }, make("span", { class: "row", text: row === 1 ? "front" : `row ${row}` }), make("span", { text: name }), make("span", { class: "unseen", text: `, place ${(at % abreast) + 1} from the left; arrow keys move` })));
    item.addEventListener("dragstart", (event) => { event.dataTransfer.setData("text/plain", name); event.dataTransfer.effectAllowed = "move"; });
    item.addEventListener("dragover", (event) => { event.preventDefault(); item.classList.add("over-it"); });
    item.addEventListener("dragleave", () => item.classList.remove("over-it"));
    item.addEventListener("drop", (event) => { event.preventDefault(); put(event.dataTransfer.getData("text/plain"), at); });
    list.append(item);
  });
  return [make("h3", { text: "In the box" }), make("p", { class: "help", text: `Drag a name, or choose it and use the arrow keys. The first ${abreast} stand on the line, from the left; the others behind them as listed.` }), list];
}

function openings(desk) {
  const { day } = desk, { ours } = day, head = make("h3", { text: "How hard to go out" }), rows = make("div", { class: "hard", id: "hard" });
  const note = make("p", { class: "help", text: "Working out the seconds …" });
  desk.safely(async () => {
    const told = await get("splits", { file: day.file });
    note.textContent = `Seconds from the gun to ${said(ours.stake, 0)}, each alone. More than a body can do brings no fewer seconds.`;
    rows.replaceChildren(...ours.people.map((person, i) => {
      const seconds = told.seconds[person.name] || [], own = person.opening ?? ours.opening;
      const known = told.openings.findIndex((opening) => own !== null && Math.abs(opening - own) < 1e-6);
      const pick = make("select", { id: `hard-${i}`, onchange: () => desk.change("plan", { openings: { [person.name]: Number(pick.value) } }) },
        known < 0 ? make("option", { value: "", text: "as they usually do", selected: true }) : null,
        told.openings.map((opening, k) => make("option", { value: opening, text: `${seconds[k] ?? "?"} s${opening === 0 ? ", at race pace" : ""}`, selected: k === known })));
      return make("div", { class: "one" }, make("label", { for: `hard-${i}`, text: person.name }), pick);
    }));
  });
  return [head, note, rows];
}

function turns(desk) {
  const { day } = desk, seen = new Set(), rows = [];
  for (const gate of day.ground.gates) {
    if (seen.has(gate.name)) continue;
    seen.add(gate.name);
    const words = gate.kind === "turn" ? ["inside", "middle", "outside"] : ["left", "middle", "right"], told = day.ours.lines[gate.name] ?? "", id = `turn-${rows.length}`;
    const pick = make("select", { id, onchange: () => desk.change("plan", { lines: { [gate.name]: pick.value } }) },
      make("option", { value: "", text: gate.kind === "turn" && day.ours.line ? `as at all turns: ${day.ours.line}` : "as each likes", selected: !told }),
      words.map((word) => make("option", { value: word, text: word, selected: told === word })),
      told && !words.includes(told) ? make("option", { value: told, text: told, selected: true, disabled: true }) : null);
    rows.push(make("div", { class: "one" }, make("label", { for: id, text: `${gate.name}, ${said(gate.station, 0)}` }), pick));
  }
  return rows.length ? [make("h3", { text: "Which side at each place" }), make("div", { class: "hard" }, rows)] : [];
}

function stages(desk) {
  const { day } = desk, words = { sit: "Sit from", move: "Move from", kick: "Kick from" };
  const marks = [...day.ground.landmarks, ...day.ground.checkpoints].filter((mark) => mark.station < day.ground.length - 1).sort((a, b) => a.station - b.station);
  return [make("h3", { text: "Sit, move, kick" }), make("div", { class: "hard" }, Object.entries(words).map(([key, label]) => {
    const at = day.ours.plan[key], named = marks.find((mark) => at !== undefined && Math.abs(mark.station - at) < 0.6);
    const pick = make("select", { id: `stage-${key}`, onchange: () => desk.change("plan", { plan: { [key]: Number(pick.value) } }) },
      make("option", { value: 0, text: "nowhere", selected: at === undefined }),
      at !== undefined && !named ? make("option", { value: at, text: said(at, 0), selected: true }) : null,
      marks.map((mark) => make("option", { value: mark.station, text: `${mark.name}, ${said(mark.station, 0)}`, selected: mark === named })));
    return make("div", { class: "one" }, make("label", { for: `stage-${key}`, text: label }), pick);
  }))];
}

// How everybody else goes out; ours stay as they are told.
function others(desk) {
  if (!desk.day.others) return [];
  const words = [["usual", "as usual"], ["quick", "quick"], ["wild", "wild"]];
  const pick = make("select", { id: "others-go", onchange: () => desk.change("plan", { others: pick.value }) },
    words.map(([value, text]) => make("option", { value, text, selected: value === desk.day.others })));
  return [make("h3", { text: "The others" }), make("div", { class: "hard" }, make("div", { class: "one" }, make("label", { for: "others-go", text: "They go out" }), pick))];
}
