// A new race day: from a track, on the picture of a map, or on a blank sheet.

import { draw, make, said, speak, unitOf } from "./make.js";
import { post, send } from "./talk.js";
import { courseShapes } from "./map.js";

const NEAR_PX = 14, MOST_PICTURE = 40e6, MOST_PDF = 20e6, KEY_M = 10;
const fileOf = (name) => `${name.trim().toLowerCase().normalize("NFKD").replace(/[^a-z0-9 _-]/g, "").replace(/\s+/g, "_").slice(0, 60) || "race_day"}.toml`;

export function freshDay(desk) {
  const sheet = new Sheet(desk);
  return sheet.panel();
}

class Sheet {
  constructor(desk) {
    Object.assign(this, { desk, map: desk.map, points: [], lapFrom: null, laps: 2, units: desk.day?.units || "metric", straightFrom: null, found: null, picture: null, scaling: null, cursor: [0, 0] });
    speak(this.units);
    this.map.sheet = true;
    this.map.eye = { x: 120, y: 40, scale: Math.min(2.2, this.map.size[0] / 420) };
    this.map.clicked = (x, y, at) => this.click(x, y, at);
    this.map.typed = (event) => this.key(event);
    this.map.painters.push(() => this.paint());
    desk.leave = () => { if (this.picture) URL.revokeObjectURL(this.picture.address); };
  }

  panel() {
    const number = (key, label, value, kind) => {
      this[key] = value;
      let told = false;
      const unit = make("span", { class: "unit" });
      const typed = make("input", { type: "number", id: `new-${key}`, step: "any", min: "0", inputmode: "decimal", onchange: () => { told = true; this[key] = Number(typed.value) * unitOf(kind)[1]; this.check(); } });
      // In the units that are spoken; what nobody has typed yet is a round number of them.
      this.numbers.push(() => {
        const [word, each] = unitOf(kind);
        if (!told) this[key] = each === 1 ? value : Math.round(value / each) * each;
        unit.textContent = word;
        typed.value = String(+(this[key] / each).toFixed(2));
      });
      return make("div", { class: "quantity" }, make("label", { for: `new-${key}`, text: label }), make("span", { class: "typed" }, typed, unit));
    };
    this.numbers = [];
    const units = make("select", { id: "new-units", onchange: () => { this.units = units.value; this.speakIt(); this.check(); } },
      [["metric", "metres"], ["us", "yards and feet"]].map(([value, text]) => make("option", { value, text, selected: value === this.units })));
    this.named = make("input", { type: "text", id: "new-name", maxlength: "60", placeholder: "Our park race", oninput: () => this.buttons() });
    this.said = make("p", { class: "lead", id: "drawn-said", "aria-live": "polite" });
    this.clicks = make("ol", { class: "clicks", id: "clicks" });
    this.keep = make("button", { type: "button", class: "main", id: "keep-drawn", text: "Make this race day", onclick: () => this.make() });
    this.scale = make("div", { id: "scale" });
    const track = make("input", { type: "file", id: "track", accept: ".gpx,.kml,.geojson,.json", onchange: () => track.files[0] && this.fromTrack(track.files[0]) });
    const picture = make("input", { type: "file", id: "picture", accept: "image/png,image/jpeg,application/pdf", onchange: () => picture.files[0] && this.fromPicture(picture.files[0]) });
    const drop = make("div", { class: "drop", id: "drop" }, make("label", { for: "track", class: "over", text: "A track from a watch or a map (GPX, KML, GeoJSON): drop it here or choose it" }), track);
    drop.addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over-it"); });
    drop.addEventListener("dragleave", () => drop.classList.remove("over-it"));
    drop.addEventListener("drop", (event) => { event.preventDefault(); drop.classList.remove("over-it"); if (event.dataTransfer.files[0]) this.fromTrack(event.dataTransfer.files[0]); });
    setTimeout(() => { this.speakIt(); this.buttons(); this.check(); });
    return [
      make("h2", { text: "A new race day" }),
      make("label", { for: "new-name", class: "over", text: "Name of the race" }), this.named,
      make("label", { for: "new-units", class: "over", text: "Lengths in" }), units,
      make("h3", { text: "From a track" }), drop,
      make("h3", { text: "Drawn by hand" }),
      make("p", { class: "help", text: "Click the way on the sheet: the middle of the start line first, then every corner. Click an earlier corner to close a lap. Clicks can be dragged. By keys, on the sheet: arrows move the cross, Enter sets a click, Backspace takes the last away." }),
      make("label", { for: "picture", class: "over", text: "Over a picture of the map, if you have one (PNG, JPEG or a page of a PDF). It stays on this machine and is not kept." }), picture, this.scale,
      this.pages = make("div", { id: "pages" }), this.said, this.clicks,
      make("div", { class: "doing" }, this.lap = make("button", { type: "button", id: "one-lap", text: "This is one lap, run twice", onclick: () => this.oneLap() }),
        this.straight = make("button", { type: "button", id: "straight-clicks", text: "Draw a wobbly stretch straight", onclick: () => this.beginStraight() })),
      number("line", "Width of the start line", 40, "long"), number("width", "Width of the course", 6, "short"), number("boxes", "Boxes", 14, "count"), number("box_width", "Width of a box", 2.5, "short"), number("front_row", "Side by side in a box", 3, "count"),
      this.lapRow = make("div", { class: "quantity", hidden: true }, make("label", { for: "new-laps", text: "The lap is run" }), make("span", { class: "typed" },
        this.lapsTyped = make("input", { type: "number", id: "new-laps", value: "2", min: "1", max: "30", step: "1", onchange: () => { this.laps = Number(this.lapsTyped.value); this.check(); } }), make("span", { class: "unit", text: "times" }))),
      make("div", { class: "doing" }, this.keep,
        make("button", { type: "button", id: "take-back", text: "Take the last click away", onclick: () => this.takeBack() })),
    ];
  }

  speakIt() {
    speak(this.units);
    this.numbers.forEach((show) => show());
    if (this.scaling) this.askScale();
  }

  asked() {
    const name = this.named.value.trim() || "Race day";
    return { name, file: fileOf(name), points: this.points, line: this.line, width: this.width, boxes: this.boxes, box_width: this.box_width, front_row: this.front_row, lap_from: this.lapFrom, laps: this.lapFrom === null ? 1 : this.laps, units: this.units };
  }

  click(x, y, at) {
    if (this.scaling) { this.scaleClick(x, y); return; }
    const near = this.points.findIndex((point) => { const [sx, sy] = this.map.screen(...point); return Math.hypot(sx - at[0], sy - at[1]) < NEAR_PX; });
    if (this.straightFrom !== null) { this.straightClick(near); return; }
    if (near > 0 && near <= this.points.length - 3 && this.lapFrom === null) this.lapFrom = near;
    else if (near < 0 && this.lapFrom === null) this.points.push([Math.round(10 * x) / 10, Math.round(10 * y) / 10]);
    this.cursor = [x, y];
    this.check();
  }

  key(event) {
    const by = event.shiftKey ? 1 : KEY_M, moves = { ArrowLeft: [-by, 0], ArrowRight: [by, 0], ArrowUp: [0, by], ArrowDown: [0, -by] }[event.key];
    if (moves) { this.cursor = [this.cursor[0] + moves[0], this.cursor[1] + moves[1]]; this.usesKeys = true; this.map.paint(); return true; }
    if (event.key === "Enter") { this.click(...this.cursor, this.map.screen(...this.cursor)); return true; }
    if (event.key === "Backspace") { this.takeBack(); return true; }
    return false;
  }

  // Closed by itself: back to the corner that the last click has come back to, else to the first one.
  oneLap() {
    const last = this.points.at(-1), away = (point) => Math.hypot(point[0] - last[0], point[1] - last[1]);
    const met = this.points.findIndex((point, i) => i > 0 && i < this.points.length - 3 && away(point) * this.map.eye.scale < 2.5 * NEAR_PX);
    if (met > 0) this.points.pop();
    this.lapFrom = met > 0 ? met : 1;
    this.laps = 2;
    this.lapsTyped.value = "2";
    this.check();
  }

  beginStraight() {
    this.straightFrom = -1;
    this.said.textContent = "Click the two clicks between which it is straight.";
  }

  straightClick(near) {
    if (near < 0) return;
    if (this.straightFrom < 0) { this.straightFrom = near; return; }
    const [first, last] = [Math.min(near, this.straightFrom), Math.max(near, this.straightFrom)];
    this.straightFrom = null;
    for (let i = last - 1; i > first; i--) this.without(i);
    this.check();
  }

  // One click less; a lap that began there begins at the next one, or is no lap any more.
  without(i) {
    this.points.splice(i, 1);
    if (this.lapFrom !== null && i < this.lapFrom) this.lapFrom -= 1;
    if (this.lapFrom !== null && (this.lapFrom < 1 || this.lapFrom > this.points.length - 3)) this.lapFrom = null;
  }

  takeBack() {
    if (this.lapFrom !== null) this.lapFrom = null;
    else this.points.pop();
    this.check();
  }

  // What would this be as a course? Asked of the desk, which makes it.
  async check() {
    this.buttons();
    const mine = (this.asking = (this.asking || 0) + 1);
    this.found = null;
    if (this.points.length >= 2) {
      try {
        const found = await post("drawn", { ...this.asked(), only_try: true, file: `try_${Date.now() % 1e6}.toml` });
        if (mine !== this.asking) return;
        this.found = found;
        this.said.textContent = `${said(found.ground.length, 0)} along the measured line.`;
      } catch (wrong) {
        if (mine !== this.asking) return;
        this.said.textContent = this.points.length < 3 ? "Go on: click the next corner." : wrong.lines?.[0] || "";
      }
    } else this.said.textContent = this.points.length ? "Now the first corner." : "";
    this.clicks.replaceChildren(...this.points.map((point, i) => make("li", {}, i ? `${i + 1}: ${said(Math.hypot(point[0] - this.points[i - 1][0], point[1] - this.points[i - 1][1]), 0)} on ` : "start ",
      make("button", { type: "button", class: "away", "aria-label": `Take click ${i + 1} away`, text: "×", onclick: () => { this.without(i); this.check(); } }))));
    if (this.lapFrom !== null) this.clicks.append(make("li", { text: `back to click ${this.lapFrom + 1}: a lap` }));
    this.lapRow.hidden = this.lapFrom === null;
    this.buttons();
    this.map.paint();
  }

  buttons() {
    this.lap.disabled = this.lapFrom !== null || this.points.length < 4;
    this.straight.disabled = this.points.length < 3;
    if (this.keep) this.keep.disabled = !this.found || !this.named.value.trim();
  }

  async make() {
    await this.desk.safely(async () => {
      const { file } = await post("drawn", this.asked());
      await this.opened(file, "line");
    });
  }

  async fromTrack(file) {
    const kind = file.name.split(".").pop().toLowerCase().replace("json", "geojson").replace("geogeojson", "geojson"), name = this.named.value.trim() || file.name.replace(/\.\w+$/, "");
    this.desk.say(["Reading the track …"]);
    await this.desk.safely(async () => {
      const told = await send("track", { file: fileOf(name), name, kind, units: this.units }, await file.arrayBuffer());
      await this.opened(told.file, "ground");
      this.desk.say([...told.told.map((line) => `${line[0].toUpperCase()}${line.slice(1)}${line.endsWith(".") ? "" : "."}`), "A watch cannot measure widths: those here are assumed. Set the line next, then the narrowing."]);
    });
  }

  async opened(file, step) {
    await this.desk.listed();
    this.desk.step = step;
    await this.desk.open(file);
  }

  async fromPicture(file) {
    if (file.size > MOST_PICTURE) { this.desk.say(["That picture is too large: at most 40 MB."], "refused"); return; }
    this.pages.replaceChildren();
    if (file.type === "application/pdf" || /\.pdf$/i.test(file.name)) await this.desk.safely(async () => this.fromPdf(await file.arrayBuffer(), 1));
    else await this.showPicture(file);
  }

  // A page of a PDF is painted by the desk, and is a picture like any other from then on.
  async fromPdf(data, page) {
    if (data.byteLength > MOST_PDF) { this.desk.say(["That PDF is too large: at most 20 MB."], "refused"); return; }
    this.desk.say(["Painting the page …"]);
    const told = await send("map", { page }, data.slice(0)), bytes = Uint8Array.from(atob(told.picture), (sign) => sign.charCodeAt(0));
    this.desk.say([]);
    if (told.pages > 1) {
      const number = make("input", { type: "number", id: "pdf-page", min: "1", max: String(told.pages), step: "1", value: String(page), onchange: () => this.desk.safely(() => this.fromPdf(data, Number(number.value))) });
      this.pages.replaceChildren(make("div", { class: "quantity" }, make("label", { for: "pdf-page", text: `Which of its ${told.pages} pages` }), make("span", { class: "typed" }, number)));
    }
    await this.showPicture(new Blob([bytes], { type: "image/jpeg" }));
  }

  async showPicture(file) {
    const address = URL.createObjectURL(file), seen = new Image();
    seen.src = address;
    try {
      await seen.decode();
    } catch {
      this.desk.say(["That picture cannot be read: PNG, JPEG or PDF."], "refused");
      return;
    }
    if (this.picture) URL.revokeObjectURL(this.picture.address);
    this.picture = { address, wide: seen.naturalWidth, high: seen.naturalHeight, each: 500 / seen.naturalWidth, mark: draw("image", { href: address, preserveAspectRatio: "none" }) };
    this.scaling = [];
    this.map.fit([0, -this.picture.high * this.picture.each, 500, 0], 0.02);
    this.askScale();
  }

  askScale() {
    const [word, each] = unitOf("long"), typed = make("input", { type: "number", id: "scale-m", min: "1", step: "any", inputmode: "decimal", value: "100" });
    const words = this.scaling ? `Click both ends of something whose length you know: ${2 - this.scaling.length} to go.` : "The picture has its scale.";
    const row = this.scaling?.length === 2 ? [make("label", { for: "scale-m", class: "over", text: `How many ${word === "yd" ? "yards" : "metres"} is that?` }), typed, make("button", { type: "button", id: "keep-scale", text: "That is its length", onclick: () => this.keepScale(Number(typed.value) * each) })] : [];
    this.scale.replaceChildren(make("p", { class: "help", text: words }), ...row);
  }

  scaleClick(x, y) {
    if (this.scaling.length < 2) this.scaling.push([x, y]);
    this.askScale();
    this.map.paint();
  }

  keepScale(metres) {
    const [[ax, ay], [bx, by]] = this.scaling, long = Math.hypot(bx - ax, by - ay);
    if (!(metres > 0) || !(long > 0)) return;
    this.picture.each *= metres / long;
    this.points = this.points.map(([x, y]) => [(x * metres) / long, (y * metres) / long]);
    this.scaling = null;
    this.askScale();
    this.map.fit([0, -this.picture.high * this.picture.each, this.picture.wide * this.picture.each, 0], 0.02);
    this.check();
  }

  paint() {
    const { map } = this, over = [];
    if (this.picture) {
      const [x, y] = map.screen(0, 0), each = this.picture.each * map.eye.scale, { mark } = this.picture;
      for (const [key, value] of Object.entries({ x, y, width: this.picture.wide * each, height: this.picture.high * each })) mark.setAttribute(key, value);
      if (mark.parentNode !== map.layers.picture) map.layers.picture.replaceChildren(mark);
    } else map.layers.picture.replaceChildren(...grid(map));
    if (this.found && this.points.length > 1) {
      const [a, b] = this.points, heading = Math.atan2(b[1] - a[1], b[0] - a[0]);
      over.push(draw("g", { class: "found", transform: map.transform(a, heading) }, courseShapes(this.found.ground)));
    }
    const way = this.points.map((point) => map.screen(...point).join(","));
    if (this.lapFrom !== null) way.push(map.screen(...this.points[this.lapFrom]).join(","));
    over.push(draw("polyline", { class: "clicked", points: way.join(" ") }));
    this.points.forEach((point, i) => over.push(this.clickMark(point, i)));
    (this.scaling || []).forEach((point) => { const [x, y] = map.screen(...point); over.push(draw("path", { class: "known", d: `M${x - 8} ${y}h16M${x} ${y - 8}v16` })); });
    if (this.usesKeys) { const [x, y] = map.screen(...this.cursor); over.push(draw("path", { class: "cross", d: `M${x - 12} ${y}h24M${x} ${y - 12}v24` })); }
    map.layers.over.replaceChildren(...over);
  }

  clickMark(point, i) {
    const [x, y] = this.map.screen(...point), mark = draw("g", { class: `handle click${i ? "" : " first"}`, transform: `translate(${x} ${y})` }, draw("circle", { class: "reach", r: 14 }), draw("circle", { class: "dot", r: 6 }), draw("text", { x: 9, y: -8, text: i ? String(i + 1) : "start" }));
    mark.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      const from = [event.clientX, event.clientY], box = this.map.svg.getBoundingClientRect();
      let moved = false;
      const move = (now) => {
        if (Math.hypot(now.clientX - from[0], now.clientY - from[1]) > 4) moved = true;
        if (moved) { this.points[i] = this.map.world(now.clientX - box.left, now.clientY - box.top).map((value) => Math.round(10 * value) / 10); this.map.paint(); }
      };
      const end = (now) => {
        window.removeEventListener("pointermove", move);
        window.removeEventListener("pointerup", end);
        if (moved) this.check();
        else this.click(...point, [now.clientX - box.left, now.clientY - box.top]);
      };
      window.addEventListener("pointermove", move);
      window.addEventListener("pointerup", end);
    });
    return mark;
  }
}

// Squares of ten, fifty or two hundred metres on a blank sheet.
function grid(map) {
  const each = [10, 50, 200, 1000].find((metres) => metres * map.eye.scale > 24) || 1000, [wide, high] = map.size, lines = [];
  const [ax, ay] = map.world(0, 0), [bx, by] = map.world(wide, high);
  for (let x = Math.ceil(Math.min(ax, bx) / each) * each; x < Math.max(ax, bx); x += each) { const [sx] = map.screen(x, 0); lines.push(`M${sx} 0V${high}`); }
  for (let y = Math.ceil(Math.min(ay, by) / each) * each; y < Math.max(ay, by); y += each) { const [, sy] = map.screen(0, y); lines.push(`M0 ${sy}H${wide}`); }
  return [draw("path", { class: "grid", d: lines.join("") })];
}
