// The people: the entry list and the box sheet pasted from a spreadsheet; what is unclear is asked.

import { make, table } from "./make.js";
import { Latest, post } from "./talk.js";

const MEANINGS = {
  name: "name", first: "first name", last: "last name", team: "team", time: "5 km time", race: "race", box: "box",
};

export function peopleStep(desk) {
  const { day } = desk, settled = { entry_columns: {}, box_columns: {}, race: "", no_time: "", plain_times: "" };
  let found = null;
  const entries = make("textarea", { id: "entries", rows: "6", spellcheck: "false", placeholder: "Bib\tName\tSchool\tSeed time" });
  const boxes = make("textarea", { id: "box-sheet", rows: "4", spellcheck: "false", placeholder: "Box\tSchool" });
  const seen = make("div", { id: "understood", class: "understood", "aria-live": "polite" });
  const look = new Latest(async () => {
    await desk.safely(async () => {
      found = await post("look", { entries: entries.value, boxes: boxes.value, ...settled });
      seen.replaceChildren(...understood(desk, found, settled, () => look.ask(), keep));
    });
  });
  const keep = (ours) => desk.safely(async () => {
    const told = await post("lists", { file: desk.day.file, digest: desk.day.digest, entries: entries.value, boxes: boxes.value, ours, ...settled });
    desk.took(told);
    desk.say([`${told.runners} runners in ${told.teams.length} teams stand on the line.`]);
  });
  for (const box of [entries, boxes]) box.addEventListener("input", () => look.ask());
  const ours = make("select", { id: "ours", onchange: () => ours.value && desk.change("ours", { name: ours.value }) },
    day.ours ? null : make("option", { value: "", text: "choose one" }),
    day.teams.map((team) => make("option", { value: team.name, text: team.name, selected: team.ours })));
  const lists = [day.lists.entries && `the entry list ${day.lists.entries}`, day.lists.boxes && `the box sheet ${day.lists.boxes}`].filter(Boolean).join(" and ");
  return [
    make("h2", { text: "The people" }),
    make("p", { class: "lead", text: `${day.runners} runners in ${day.teams.length} teams${lists ? `, from ${lists}` : ", made up so far"}.` }),
    make("label", { for: "ours", class: "over", text: "Which team is ours?" }), ours,
    make("h3", { text: "Paste the lists" }),
    make("p", { class: "help", text: "Copy the cells of the spreadsheet with their head and paste them here. They stay on this machine, as files beside the scenario." }),
    make("label", { for: "entries", class: "over", text: "Entry list: name, team, 5 km time" }), entries,
    make("label", { for: "box-sheet", class: "over", text: "Box sheet: box, team" }), boxes,
    seen,
    nobodyNamed(desk),
  ].filter(Boolean);
}

function understood(desk, found, settled, look, keep) {
  const shown = [];
  if (found.entries) shown.push(...listShown("The entry list as it is read", found.entries, settled.entry_columns, ["name", "first", "last", "team", "time", "race"], look));
  if (found.entries?.races?.length > 1) {
    const race = make("select", { id: "which-race", onchange: () => { settled.race = race.value; look(); } },
      make("option", { value: "", text: "all of them" }), found.entries.races.map((name) => make("option", { value: name, text: name, selected: name === settled.race })));
    shown.push(make("label", { for: "which-race", class: "over", text: "Which race?" }), race);
  }
  if (found.entries?.wrong?.some((line) => line.includes("plain_times"))) {
    shown.push(choice("plain-times", "Times such as 1620 are", [["minutes", "minutes and seconds, 16:20"], ["seconds", "seconds"]], settled, "plain_times", look));
  }
  if (found.entries?.untimed || settled.no_time) {
    const count = found.entries?.untimed ? `${found.entries.untimed} have no time:` : "Runners without a time:";
    shown.push(choice("no-time", count, [["team", "run as is typical of their team"], ["leave out", "leave them out"]], settled, "no_time", look));
  }
  if (found.boxes) shown.push(...listShown("The box sheet as it is read", found.boxes, settled.box_columns, ["box", "team"], look));
  if (found.unlisted?.length) shown.push(make("p", { class: "open", text: `Not in the entry list: ${found.unlisted.join(", ")}.` }));
  const ready = found.teams.length && !found.entries?.wrong && !found.boxes?.wrong;
  if (ready) {
    const now = desk.day.ours?.name, known = found.teams.includes(now);
    const ours = make("select", { id: "list-ours", onchange: () => { kept.disabled = !ours.value; } }, known ? null : make("option", { value: "", text: "choose one" }), found.teams.map((name) => make("option", { value: name, text: name, selected: name === now })));
    const told = found.entries ? `${found.entries.runners} runners in ${found.teams.length} teams` : `${found.teams.length} teams`;
    const kept = make("button", { type: "button", class: "main", id: "keep-lists", text: "Keep these lists", disabled: !known, onclick: () => keep(ours.value) });
    shown.push(make("p", { class: "ready", text: `Understood: ${told}${found.boxes ? `, ${found.boxes.seated} boxes` : ""}.` }),
      make("div", { class: "doing" }, make("label", { for: "list-ours", class: "over", text: "Which of them is our team?" }), ours, kept));
  }
  return shown;
}

function listShown(title, list, columns, meanings, look) {
  const head = list.head.map((name, at) => {
    const meant = Object.entries(list.columns).find(([, places]) => places.includes(at + 1))?.[0] || "";
    const pick = make("select", { "aria-label": `What is the column ${name || at + 1}?`, onchange: () => {
      for (const key of Object.keys(columns)) if (columns[key] === at + 1) delete columns[key];
      if (pick.value) columns[pick.value] = at + 1;
      look();
    } }, make("option", { value: "", text: "not used" }), meanings.map((key) => make("option", { value: key, text: MEANINGS[key], selected: key === meant })));
    return make("th", { scope: "col" }, make("span", { text: name || `column ${at + 1}` }), pick);
  });
  return [make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": title }, make("table", {}, make("caption", { text: title }), make("thead", {}, make("tr", {}, head)),
    make("tbody", {}, list.rows.map((cells) => make("tr", {}, list.head.map((_, at) => make("td", { text: cells[at] ?? "" }))))))),
    ...(list.wrong || []).map((text) => make("p", { class: "open", text }))];
}

function choice(id, label, options, settled, key, look) {
  const pick = make("select", { id, onchange: () => { settled[key] = pick.value; look(); } },
    settled[key] || key === "no_time" ? null : make("option", { value: "", text: "say which" }),
    options.map(([value, text]) => make("option", { value, text, selected: settled[key] === value })));
  return make("div", {}, make("label", { for: id, class: "over", text: label }), pick);
}

// A team of made-up runners can be named by hand.
function nobodyNamed(desk) {
  const { day } = desk;
  if (!day.ours || day.lists.entries) return null;
  const names = make("textarea", { id: "our-names", rows: "7", spellcheck: "false" });
  names.value = day.ours.people.map((person) => `${person.name}${person.time ? `, ${mmss(person.time)}` : ""}`).join("\n");
  const keep = () => {
    const people = names.value.split("\n").map((line) => line.trim()).filter(Boolean).map((line) => {
      const time = line.match(/[,;\t]?\s*(\d{1,2}:\d{2}(?:\.\d+)?)\s*$/);
      return { name: (time ? line.slice(0, time.index) : line).replace(/[,;\t]+\s*$/, "").trim(), time: time ? time[1] : null };
    });
    return desk.change("names", { people });
  };
  return make("div", {}, make("h3", { text: `Our runners (${day.ours.name})` }),
    make("label", { for: "our-names", class: "over", text: "One a line, with a 5 km time: Ora Harrer, 20:01" }), names,
    make("button", { type: "button", id: "keep-names", text: "Keep our runners", onclick: keep }));
}

const mmss = (seconds) => `${Math.floor(seconds / 60)}:${(seconds % 60).toFixed(seconds % 1 ? 1 : 0).padStart(seconds % 1 ? 4 : 2, "0")}`;
