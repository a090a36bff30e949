// One race day on the desk: what is shown, what is changed, and the steps from the ground to the answer.

import { CourseMap } from "./map.js";
import { make, speak } from "./make.js";
import { get, Latest, post, Refused } from "./talk.js";
import { groundStep } from "./ground.js";
import { lineStep } from "./line.js";
import { peopleStep } from "./people.js";
import { planStep } from "./plan.js";
import { answerStep } from "./answer.js";
import { layoutStep } from "./layout.js";
import { freshDay } from "./fresh.js";

const STEPS = [
  ["ground", "The ground", groundStep], ["line", "The line", lineStep], ["people", "The people", peopleStep],
  ["plan", "The plan", planStep], ["answer", "The answer", answerStep], ["layout", "For the director", layoutStep],
];
const $ = (id) => document.getElementById(id);

class Desk {
  constructor() {
    this.map = new CourseMap($("map"));
    this.day = null;
    this.step = "ground";
    $("undo").disabled = $("redo").disabled = true;
    this.leave = this.tried = () => {};
    this.trying = new Latest((asked) => this.tryNow(asked));
    this.heard = [];
    this.turn = Promise.resolve();
  }

  async begin() {
    $("undo").addEventListener("click", () => this.back("undo"));
    $("redo").addEventListener("click", () => this.back("redo"));
    $("fresh").addEventListener("click", () => this.go("fresh"));
    $("days").addEventListener("change", () => this.open($("days").value));
    $("race").addEventListener("change", () => this.inTurn(() => this.safely(async () => this.took(await post("race", { file: this.day.file, race: $("race").value })))));
    $("whole").addEventListener("click", () => this.map.whole());
    $("start").addEventListener("click", () => this.map.start());
    $("nearer").addEventListener("click", () => this.map.zoom(1.4));
    $("farther").addEventListener("click", () => this.map.zoom(1 / 1.4));
    document.addEventListener("keydown", (event) => this.key(event));
    window.addEventListener("focus", () => this.lookAgain());
    await this.safely(async () => {
      const { days } = await get("days");
      this.days = days;
      const wanted = decodeURIComponent(location.hash.slice(1).split("/")[0]);
      const [, , step] = STEPS.map(([name]) => name).includes(location.hash.split("/")[1]) ? [0, 0, location.hash.split("/")[1]] : [];
      if (step) this.step = step;
      const first = days.find((day) => day.file === wanted) || days[0];
      if (first) await this.open(first.file);
      else this.go("fresh");
    });
    document.body.dataset.ready = "yes";
  }

  key(event) {
    if (!(event.ctrlKey || event.metaKey) || event.target.closest("input, textarea, select")) return;
    const what = event.key.toLowerCase() === "z" ? (event.shiftKey ? "redo" : "undo") : event.key.toLowerCase() === "y" ? "redo" : "";
    if (!what) return;
    event.preventDefault();
    this.back(what);
  }

  async listed() {
    this.days = (await get("days")).days;
  }

  open(file) {
    return this.inTurn(() => this.openNow(file));
  }

  async openNow(file) {
    await this.safely(async () => {
      this.took(await get("day", { file }), true);
      this.go(this.step === "fresh" ? "ground" : this.step);
      if (this.day.ground) this.shown();
    });
  }

  // A race day from the desk, shown wherever it is shown.
  took(day, opened = false) {
    this.day = day;
    speak(day.units);
    $("title").textContent = day.name;
    document.title = `${day.name}: race day`;
    $("undo").disabled = !day.undo;
    $("redo").disabled = !day.redo;
    const known = this.days?.some((each) => each.file === day.file);
    if (!known) this.days = [...(this.days || []), { file: day.file, name: day.name }];
    $("days").replaceChildren(...this.days.map((each) => make("option", { value: each.file, text: each.file === day.file ? `${day.name} (${day.file})` : `${each.name} (${each.file})` })));
    $("days").value = day.file;
    $("race-pick").hidden = !day.races?.length;
    $("race").replaceChildren(...(day.races || []).map((name) => make("option", { value: name, text: name })));
    if (day.race) $("race").value = day.race;
    history.replaceState(null, "", `#${encodeURIComponent(day.file)}/${this.step}`);
    if (day.ground) this.map.show(day);
    if (!opened) this.rendered();
    this.heard.forEach((hear) => hear(day));
  }

  // Put the step's panel anew, with the same element focused.
  rendered() {
    const held = document.activeElement?.id;
    this.go(this.step, false);
    if (held) document.getElementById(held)?.focus({ preventScroll: true });
  }

  go(step, move = true) {
    this.leave();
    this.leave = this.tried = () => {};
    this.heard = [];
    this.step = step;
    this.map.clicked = this.map.typed = this.map.boxClicked = null;
    this.map.painters = [];
    this.map.layers.over.replaceChildren();
    this.map.layers.picture.replaceChildren();
    this.map.sheet = step === "fresh";
    if (this.day && step !== "fresh") speak(this.day.units);
    this.map.setHandles([]);
    this.way();
    document.body.classList.toggle("bare", !this.day);
    $("title").textContent = step === "fresh" || !this.day ? "A new race day" : this.day.name;
    const panel = $("panel");
    if (step === "fresh") panel.replaceChildren(...freshDay(this));
    else if (this.day?.wrong) panel.replaceChildren(...this.broken());
    else panel.replaceChildren(...STEPS.find(([name]) => name === step)[2](this));
    if (move) panel.scrollTop = 0;
    this.map.paint();
    if (step !== "fresh" && this.day) history.replaceState(null, "", `#${encodeURIComponent(this.day.file)}/${step}`);
    if (move && this.day?.ground && step !== "fresh") this.shown();
  }

  // The whole course, or the start where the line is drawn.
  shown() {
    if (this.step === "line" || this.step === "layout") this.map.start(this.step === "line");
    else this.map.whole();
  }

  broken() {
    return [make("h2", { text: "This file cannot be read yet" }),
      make("p", { text: "The lines below say what is written where, and what is allowed. Mend the file by hand, or undo the last step." }),
      make("ul", { class: "wrong" }, this.day.wrong.map((text) => make("li", { text }))),
      make("button", { type: "button", text: "Look again", onclick: () => this.open(this.day.file) })];
  }

  way() {
    $("way").replaceChildren(...STEPS.map(([name, words]) => make("li", { class: `${name === this.step ? "here" : ""}${name === "layout" ? " apart" : ""}` },
      make("button", { type: "button", id: `step-${name}`, text: words, disabled: !this.day, "aria-current": name === this.step ? "step" : null, onclick: () => this.go(name) }))));
  }

  // Carry out; whatever is refused is said in one place, and the page goes on. asks: orders would be lost.
  async safely(carryOut, asks = null) {
    try {
      const found = await carryOut();
      return found === undefined ? true : found;
    } catch (wrong) {
      if (!(wrong instanceof Refused)) throw wrong;
      if (wrong.lost && asks) { asks(wrong.lost); return true; }
      this.say(wrong.lines, "refused");
      if (wrong.status === 409 && this.day) await this.safely(async () => this.took(await get("day", { file: this.day.file })));
      return null;
    }
  }

  say(lines, kind = "") {
    const told = $("told");
    told.className = `told ${kind}`;
    told.hidden = !lines.length;
    told.replaceChildren(...lines.map((text) => make("p", { text })), make("button", { type: "button", "aria-label": "Close this message", text: "×", onclick: () => { told.hidden = true; } }));
  }

  // One after the other: each step begins from the file that the one before has left.
  inTurn(carryOut) {
    const mine = this.turn.then(carryOut), busy = document.body.dataset;
    this.waiting = (this.waiting || 0) + 1;
    busy.busy = "yes";
    this.turn = mine.catch(() => {}).then(() => { this.waiting -= 1; if (!this.waiting) busy.busy = "no"; });
    return mine;
  }

  change(what, asked, asks = null) {
    const { file } = this.day;
    this.trying.drop();
    return this.inTurn(() => (this.day.file === file ? this.changeNow(what, asked, asks) : null));
  }

  changeNow(what, asked, asks) {
    return this.safely(async () => {
      const day = await post("change", { file: this.day.file, digest: this.day.digest, what, ...asked });
      $("told").hidden = true;
      this.took(day);
    }, asks).then(async (went) => {
      if (!went && this.day.ground) await this.safely(async () => this.took(await get("day", { file: this.day.file })));
      return went;
    });
  }

  async tryNow(asked) {
    try {
      const told = await post("try", { file: this.day.file, ...asked });
      this.map.showLine(told);
      this.heard.forEach((hear) => hear(this.day));
      this.tried(asked);
    } catch (wrong) {
      if (!(wrong instanceof Refused)) throw wrong;
      this.say(wrong.lines, "refused");
    }
  }

  back(which) {
    return this.inTurn(async () => {
      if (!this.day || $(which).disabled) return;
      await this.safely(async () => this.took(await post(which, { file: this.day.file, digest: this.day.digest })));
    });
  }

  // Was the file changed outside, or by another tab?
  async lookAgain() {
    if (!this.day || this.step === "fresh" || document.activeElement?.closest("#panel textarea")) return;
    await this.safely(async () => {
      const day = await get("day", { file: this.day.file });
      if (day.digest === this.day.digest) return;
      this.took(day);
      this.say(["This file was changed elsewhere; the page shows it as it stands now."]);
    });
  }
}

new Desk().begin();
