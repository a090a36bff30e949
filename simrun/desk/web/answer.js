// The answer: races are run, with a bar and a way to stop; then one sentence, the replay, the sheet.

import { make } from "./make.js";
import { answerAddress, get, post } from "./talk.js";

const EVERY_MS = 400;
const WORDS = { answer: "Running the races", sheet: "Running the races for the sheet", plans: "Running both plans", card: "Running the races for the course card" };
const PAGES = { "brief.html": "All figures, with their ranges", "sheet.html": "The sheet, to print or for the phone", "sheet_a4.pdf": "The sheet on A4", "sheet_letter.pdf": "The sheet on Letter", "card.html": "The course card: where passing was possible", "card.pdf": "The course card, to print" };

export function answerStep(desk) {
  const { day } = desk, shown = make("div", { id: "answer", class: "answer" }), minutes = make("input", { type: "number", id: "minutes", value: "1", min: "0.1", max: "60", step: "any", inputmode: "decimal" });
  let timer = null, gone = false;
  const run = (what, more = {}) => desk.safely(async () => {
    shown.replaceChildren();
    show(await post("run", { file: day.file, what, minutes: Number(minutes.value) || 1, ...more }));
    follow();
  });
  const follow = () => { clearTimeout(timer); if (!gone) timer = setTimeout(tick, EVERY_MS); };
  const tick = async () => {
    try {
      const job = await get("job");
      if (gone) return;
      show(job);
      if (job.state === "running") follow();
    } catch (wrong) {
      desk.say(wrong.lines || ["The desk does not answer."], "refused");
    }
  };
  const show = (job) => {
    const busy = job.state === "running";
    for (const button of buttons) button.disabled = busy || (!day.ours && button.id !== "run" && button.id !== "run-card");
    if (job.state === "none" || job.file !== day.file) { shown.replaceChildren(); return; }
    if (busy) shown.replaceChildren(...running(desk, job));
    else shown.replaceChildren(...ended(job));
  };
  const others = desk.days.filter((each) => each.file !== day.file);
  const other = make("select", { id: "other-plan" }, others.map((each) => make("option", { value: each.file, text: `${each.name} (${each.file})` })));
  const buttons = [
    make("button", { type: "button", class: "main", id: "run", text: "Run the races", onclick: () => run("answer") }),
    make("button", { type: "button", id: "run-sheet", text: "Make the sheet", onclick: () => run("sheet") }),
    make("button", { type: "button", id: "run-card", text: "Course card", onclick: () => run("card") }),
  ];
  const both = make("button", { type: "button", id: "run-plans", text: "Compare the two plans", onclick: () => run("plans", { other: other.value }) });
  if (others.length) buttons.push(both);
  desk.leave = () => { gone = true; clearTimeout(timer); document.querySelector(".shown-replay")?.remove(); };
  tick();
  return [
    make("h2", { text: "The answer" }),
    day.ours ? make("p", { class: "help", text: "What our box costs, whether another plan is better, where we finish, and how sure that is. The races go on where they were stopped." })
      : make("p", { class: "lead", text: "First say which team is ours, under The people." }),
    make("div", { class: "quantity" }, make("label", { for: "minutes", text: "About so many minutes" }), make("span", { class: "typed" }, minutes, make("span", { class: "unit", text: "min" }))),
    make("div", { class: "doing" }, buttons.slice(0, 3)),
    shown,
    make("h3", { text: "Plan B" }),
    make("p", { class: "help", text: "Keep a copy, change the plan there, and compare the two: the same people, the same chances." }),
    copying(desk),
    others.length ? make("div", { class: "doing" }, make("label", { for: "other-plan", class: "over", text: "The other plan" }), other, both) : null,
  ].filter(Boolean);
}

function running(desk, job) {
  const percent = Math.round(100 * job.share);
  return [
    make("p", { class: "now", text: `${WORDS[job.what] || "Running the races"}: ${percent} % done${percent < 2 ? "; the first race on a machine takes some seconds longer" : ""}.` }),
    make("progress", { max: "1", value: String(job.share), "aria-label": "Share of the races done" }),
    make("button", { type: "button", id: "stop", text: "Stop", onclick: (event) => { event.target.disabled = true; desk.safely(() => post("stop", {})); } }),
  ];
}

function ended(job) {
  const shown = job.told.map((text) => make("p", { class: job.state === "failed" ? "open" : "help", text }));
  if (job.state !== "done") return shown;
  shown.unshift(make("p", { class: "sentence", id: "sentence", text: job.sentence }));
  const links = job.files.filter((name) => PAGES[name]).map((name) => link(job.stem, name, PAGES[name]));
  if (job.what === "answer" || job.what === "plans") {
    links.unshift(link(job.stem, "replay.html", "The replay on a page of its own"));
    shown.push(make("button", { type: "button", id: "see-replay", text: "See the replay here", onclick: () => overTheMap(answerAddress(job.stem, "replay.html")) }));
  }
  shown.push(make("ul", { class: "links" }, links));
  return shown;
}

// The replay stands where the map is: it is the coach's own map.
function overTheMap(address) {
  const field = document.querySelector(".field");
  field.querySelector(".shown-replay")?.remove();
  const shown = make("div", { class: "shown-replay" }, make("button", { type: "button", id: "close-replay", text: "Back to the map", onclick: () => shown.remove() }),
    make("iframe", { title: "Replay of one race", src: address, sandbox: "allow-scripts" }));
  field.append(shown);
  shown.firstChild.focus({ preventScroll: true });
}

const link = (stem, name, text) => make("li", {}, make("a", { href: answerAddress(stem, name), target: "_blank", rel: "noopener", text }));


function copying(desk) {
  const name = make("input", { type: "text", id: "copy-name", value: desk.day.file.replace(/\.toml$/, "_plan_b.toml"), maxlength: "85" });
  return make("div", { class: "doing" }, make("label", { for: "copy-name", class: "over", text: "Keep a copy as" }), name,
    make("button", { type: "button", id: "copy", text: "Copy", onclick: () => desk.safely(async () => {
      const { file } = await post("copy", { file: desk.day.file, as: name.value.trim() });
      await desk.listed();
      desk.step = "plan";
      await desk.open(file);
    }) }));
}
