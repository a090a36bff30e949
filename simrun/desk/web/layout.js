// For the director: the straight, the narrowing and the line dragged; exact at once, raced after a moment.

import { make, said, table } from "./make.js";
import { answerAddress, get, post } from "./talk.js";
import { Latest } from "./talk.js";
import { LINE, lineHandles, lineSaid, quantityOf } from "./line.js";

const EVERY_MS = 120;
const GROUND = {
  straight: { label: "Straight before it narrows", kind: "long", step: 5, help: "The marks behind it move along with their ground." },
  throat: { label: "Width of the narrowing", kind: "short", step: 0.25 },
  waves: { label: "Waves", kind: "count", step: 1, help: "Boxes take turns along the line: with two, every other box goes with the first gun." },
  wave_gap: { label: "Between two waves", kind: "time", step: 5 },
};

export function layoutStep(desk) {
  const { day } = desk;
  desk.map.setHandles([...lineHandles(desk), ...groundHandles(desk)]);
  const exact = make("div", { id: "exact", "aria-live": "polite" }), raced = make("div", { id: "raced", class: "raced", "aria-live": "polite" });
  const books = make("div", { id: "books" });
  const keys = [...["straight", "throat"].filter((key) => day.limits[key]), "width", "bow", "tilt", "boxes", "box_width", "front_row", "waves", ...(day.start.waves > 1 ? ["wave_gap"] : [])];
  const valueOf = (key) => (key === "straight" ? desk.day.straight : key === "throat" ? desk.day.throat.width : desk.day.start[key]);
  const rows = keys.map((key) => quantityOf(desk, key, { ...LINE, ...GROUND }, valueOf(key)));
  const show = () => {
    exact.replaceChildren(...exactly(desk.day));
    rows.forEach((row) => row.show(valueOf(row.key)));
  };
  desk.heard.push(show);
  show();
  const first = make("div", { id: "first", class: "first", "aria-live": "polite" }), firsts = new Latest((asked) => atOnce(desk, first, asked));
  const estimate = follow(desk, raced, first);
  // The races of the line as it was end with the first step of a drag: they would be in its way.
  desk.tried = (asked) => { raced.classList.add("old"); estimate.leave(); firsts.ask(asked); };
  firsts.ask({});
  desk.leave = estimate.leave;
  desk.safely(async () => {
    const told = await get("books", { file: day.file });
    books.replaceChildren(table(told.rows[0].slice(0, 4), told.rows.slice(1).map((row) => row.slice(0, 4)), "Beside books and guidance"));
  });
  return [
    make("h2", { text: "For the director" }),
    make("p", { class: "caution", text: day.caution }),
    exact, first, raced,
    ...rows,
    ...races(desk),
    make("div", { class: "doing" }, make("button", { type: "button", class: "main", id: "crew", text: "Crew sheet of this line", onclick: () => crew(desk) }), make("span", { id: "crew-link" })),
    books,
  ];
}

function exactly(day) {
  const { start, line } = day, per = start.box_width / start.front_row;
  const told = [["The farthest box runs this much more", said(Math.max(...line.extra), 2)], ["The ends lie ahead by", said(start.bow, 2)], ["Front line for each front-row runner", said(per, 2)], ["The boxes fill", `${said(start.boxes * start.box_width, 1)} of ${said(start.width, 1)}`]];
  if (day.throat && day.throat.width) told.push([`Narrowing, of the width of the line`, `${Math.round((100 * day.throat.width) / start.width)} %`]);
  return [make("p", { class: "lead", text: lineSaid(day) }), make("dl", { class: "figures" }, told.map(([name, value]) => [make("dt", { text: name }), make("dd", { text: value })]))];
}

// The handbook's word while a line is dragged; it goes when races have been run.
async function atOnce(desk, first, asked) {
  const { first: found } = await post("first", { ...asked, file: desk.day.file }).catch(() => ({}));
  first.hidden = false;
  if (!found) { first.replaceChildren(make("p", { class: "help", text: "No estimate at once for this course: the handbook knows lines with a narrowing before the first turn." })); return; }
  const box = (number, words) => `From box ${number} you ${words} there against the average box`;
  const told = [`${box(found.worst, found.worst_said)}.`];
  if (found.ours && found.ours !== found.worst) told.unshift(`${box(found.ours, found.ours_said)}.`);
  const doubt = [found.outside && "this line is outside of what its races cover, so do not rely on it", found.bowed && "it knows straight lines only, and this one is bowed", found.waves && "it knows one gun for all, and here there are waves", found.women && "its runners have men's bodies", found.closed && "it has somebody in every box, and here some are left empty"].filter(Boolean);
  first.replaceChildren(make("h3", { text: "Estimated at once, not raced yet" }),
    make("dl", { class: "figures" }, make("dt", { text: "Spread between the boxes at the first narrowing" }), make("dd", { text: `about ${found.spread_s.toFixed(1)} s` })),
    make("p", { class: "help", text: `${told.join(" ")} In brackets: where nine of ten such lines lie. From the handbook of invented lines${doubt.length ? `; ${doubt.join("; ")}` : ""}.` }));
}

// Several races of one day on the same line: which one is shown, and which there are.
function races(desk) {
  const { day } = desk, names = make("input", { type: "text", id: "race-names", maxlength: "400", value: (day.races || []).join(", "), placeholder: "Girls, Boys",
    onchange: () => desk.change("races", { names: names.value.split(",").map((name) => name.trim()).filter(Boolean) }) });
  return [make("h3", { text: "Races of the day" }), make("label", { for: "race-names", class: "over", text: "Several races on this line: their names, with commas between" }), names,
    make("p", { class: "help", text: day.races?.length ? "Which one is shown is chosen at the top. What you change is changed for all of them, unless the file says it of that race alone. Where the entry list has a column of races, each takes the runners entered under its name." : "Leave it empty where there is one race." })];
}

// Ask once for the layout as it stands, then look how sure it has become.
function follow(desk, raced, first) {
  let gone = false, timer = null, number = 0;
  const tick = async () => {
    try {
      const told = await get("estimate");
      if (gone || told.number !== number) return;
      raced.classList.remove("old");
      raced.replaceChildren(...racedSaid(told));
      if (told.races) first.hidden = true;
      if (told.state === "running") timer = setTimeout(tick, EVERY_MS);
    } catch (wrong) {
      desk.say(wrong.lines || ["The desk does not answer."], "refused");
    }
  };
  const begin = async () => {
    clearTimeout(timer);
    raced.replaceChildren(make("p", { class: "help", text: "Racing this layout a few times …" }));
    await desk.safely(async () => { ({ number } = await post("estimate", { file: desk.day.file })); tick(); });
  };
  begin();
  return { leave: () => { if (gone) return; gone = true; clearTimeout(timer); post("drop", { number }).catch(() => {}); } };
}

const band = ([mean, low, high], unit, scale = 1) => {
  const one = (value) => (value * scale).toFixed(scale === 100 ? 0 : 1);
  if (mean === null) return "not known";
  return low === null || high === null ? `about ${one(mean)} ${unit}` : `${one(mean)} ${unit} (${one(low)} to ${one(high)})`;
};

function racedSaid(told) {
  if (told.state === "failed") return (told.told || []).map((text) => make("p", { class: "open", text }));
  if (!told.races) return [make("p", { class: "help", text: "Racing this layout a few times …" })];
  const open = [told.spread_s, told.lost_s, told.slowed].some(([mean, low, high]) => mean !== null && (low === null || high === null));
  const sure = `From ${told.races} races${open ? ", too few for every range" : ""}${told.state === "running" ? "; growing surer" : ""}`;
  const rows = [
    ["Spread between the boxes", band(told.spread_s, "s")], ["A runner loses, on average", band(told.lost_s, "s")], ["Slowed below half their speed", band(told.slowed, "%", 100)],
    ["Most crowded square metre", told.density === null ? "not known" : `${told.density.toFixed(1)} people, up to ${(told.density_highest ?? told.density).toFixed(1)}`],
  ];
  return [make("h3", { text: `Raced to just behind ${told.at === "first narrowing" ? "the first narrowing" : told.at}` }), make("dl", { class: "figures" }, rows.map(([name, value]) => [make("dt", { text: name }), make("dd", { text: value })])), make("p", { class: "help", text: `${sure}. The first two rows are seconds at ${told.at}.` })];
}

async function crew(desk) {
  await desk.safely(async () => {
    const { stem, files } = await post("crew", { file: desk.day.file });
    document.getElementById("crew-link").replaceChildren(make("a", { href: answerAddress(stem, files[0]), target: "_blank", rel: "noopener", id: "crew-sheet", text: "Open the crew sheet to print it" }));
  });
}

function groundHandles(desk) {
  const day = () => desk.day, handles = [];
  if (!day().throat || !day().limits.straight) return handles;
  if (day().ground.gates[0]?.kind !== "throat") return handles;
  const piece = () => day().pieces.find((each) => each.number === day().throat.number);
  if (!piece()) return handles;
  const edge = () => [0, 1].map((k) => piece().middle[k] - (piece().left[k] * day().throat.width) / 2);
  // The way to the narrowing lies straight ahead, so its end and its sides are where they are drawn.
  const gateAt = () => day().ground.station[day().ground.gates[0].cuts[1]];
  if (Math.abs(gateAt() - day().straight) < 120) {
    handles.push({ key: "straight", label: "Length of the straight", shape: "straight", step: 5, grain: 1, at: () => [day().straight, 0], value: () => day().straight, words: () => said(day().straight, 0),
      limits: () => day().limits.straight, from: (x) => x, trying: (number) => desk.trying.ask({ straight: number, ground: true }), done: (number) => desk.change("line", { straight: number }) });
  }
  handles.push({ key: "throat", label: "Width of the narrowing", shape: "throat", step: 0.25, grain: 0.05, at: () => edge(), value: () => day().throat.width, words: () => said(day().throat.width, 2),
    limits: () => day().limits.throat, from: (x, y) => 2 * Math.abs((x - piece().middle[0]) * piece().left[0] + (y - piece().middle[1]) * piece().left[1]), trying: (number) => desk.trying.ask({ throat: number, throat_number: day().throat.number, ground: true }),
    done: (number) => desk.change("line", { throat: number, throat_number: day().throat.number }) });
  return handles;
}

