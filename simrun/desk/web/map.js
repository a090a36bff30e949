// The course from above: drawn in metres, moved and brought nearer by hand, wheel, two fingers and keys.

import { hillMarks, hillMiddle, hillSaid } from "./hills.js";
import { draw, more, said } from "./make.js";

const APART_PX = 34, KNOB_PX = 9, NUMBER_PX = 15;
// Where a name may stand beside its place, the nearest first: which side, how far down, how far aside.
const NAMED_AT = [[-6, 7], [17, 7], [4, 14], [-20, 7], [31, 7], [4, 26], [-34, 7], [45, 7]].flatMap(([down, aside]) => [[1, down, aside], [-1, down, aside]]);
const NEAREST = 60, FARTHEST = 0.02, COMB_PX = 64, KEY_PX = 60;
const BARS_M = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
const KINDS = ["open", "marked", "barrier"];

export class CourseMap {
  constructor(svg) {
    this.svg = svg;
    this.eye = { x: 60, y: 0, scale: 2 };
    this.layers = Object.fromEntries(["picture", "ground", "over", "line", "marks", "hands"].map((name) => [name, draw("g", { class: name })]));
    svg.append(...Object.values(this.layers));
    this.day = null;
    this.handles = [];
    this.fingers = new Map();
    this.clicked = null;
    this.painters = [];
    this.hear();
    new ResizeObserver(() => this.paint()).observe(svg);
  }

  get size() {
    return [this.svg.clientWidth || 600, this.svg.clientHeight || 400];
  }

  // On a tall screen the race runs up, on a wide one to the right.
  get upright() {
    const [wide, high] = this.size;
    return !this.sheet && wide < 1.1 * high;
  }

  screen(x, y) {
    const [wide, high] = this.size, { eye } = this;
    const dx = (x - eye.x) * eye.scale, dy = (y - eye.y) * eye.scale;
    return this.upright ? [wide / 2 - dy, high / 2 - dx] : [wide / 2 + dx, high / 2 - dy];
  }

  world(sx, sy) {
    const [wide, high] = this.size, { eye } = this;
    const right = (sx - wide / 2) / eye.scale, down = (sy - high / 2) / eye.scale;
    return this.upright ? [eye.x - down, eye.y - right] : [eye.x + right, eye.y - down];
  }

  transform(origin = [0, 0], heading = 0) {
    const [ax, ay] = this.screen(...origin), cos = Math.cos(heading), sin = Math.sin(heading);
    const [bx, by] = this.screen(origin[0] + cos, origin[1] + sin), [cx, cy] = this.screen(origin[0] - sin, origin[1] + cos);
    return `matrix(${bx - ax} ${by - ay} ${cx - ax} ${cy - ay} ${ax} ${ay})`;
  }

  show(day) {
    this.day = day;
    this.courseDrawn = null;
    this.paint();
  }

  // Only the line, while it is dragged.
  showLine(told) {
    if (told.ground) this.courseDrawn = null;
    Object.assign(this.day, told);
    this.paint();
  }

  fit(points, room = 0.1) {
    const xs = [], ys = [];
    for (let k = 0; k < points.length; k += 2) { xs.push(points[k]); ys.push(points[k + 1]); }
    if (!xs.length) return;
    const low = [Math.min(...xs), Math.min(...ys)], high = [Math.max(...xs), Math.max(...ys)];
    const [wide, tall] = this.size, span = [high[0] - low[0] + 1, high[1] - low[1] + 1];
    const [across, along] = this.upright ? [span[1], span[0]] : span;
    this.eye = { x: (low[0] + high[0]) / 2, y: (low[1] + high[1]) / 2,
      scale: Math.min(NEAREST, (1 - 2 * room) * Math.min(wide / across, tall / along)) };
    this.paint();
  }

  whole() {
    if (!this.day?.ground) return;
    const all = [...this.day.ground.left, ...this.day.ground.right];
    this.fit(all, 0.08);
    this.fit([...all, -(COMB_PX + 34) / this.eye.scale, 0], 0.08);
  }

  // The line and the way to where the course first asks something; on a small screen, for the line alone, less of it.
  start(lineAlone = false) {
    if (!this.day?.line) return;
    const { width } = this.day.start, gate = this.day.ground.gates[0], small = lineAlone && this.upright;
    const until = Math.min(gate ? gate.station + 15 : 80, small ? Math.max(30, 1.2 * width) : 260);
    const half = width / 2, wide = this.upright ? this.size[1] : this.size[0];
    // The comb behind the line is so many pixels long, whatever the metres.
    const behind = ((COMB_PX + 40) * until) / Math.max(80, wide - COMB_PX - 70);
    this.fit([-behind, -half, until, half], 0.04);
  }

  zoom(by, at = null) {
    const [wide, high] = this.size, [sx, sy] = at || [wide / 2, high / 2], before = this.world(sx, sy);
    this.eye.scale = Math.min(NEAREST, Math.max(FARTHEST, this.eye.scale * by));
    const after = this.world(sx, sy);
    this.eye.x += before[0] - after[0];
    this.eye.y += before[1] - after[1];
    this.paint();
  }

  pan(dx, dy) {
    const [ax, ay] = this.world(0, 0), [bx, by] = this.world(dx, dy);
    this.eye.x += ax - bx;
    this.eye.y += ay - by;
    this.paint();
  }

  hear() {
    const { svg } = this;
    const place = (event) => { const box = svg.getBoundingClientRect(); return [event.clientX - box.left, event.clientY - box.top]; };
    svg.addEventListener("wheel", (event) => { event.preventDefault(); this.zoom(Math.exp(-event.deltaY / 400), place(event)); }, { passive: false });
    svg.addEventListener("pointerdown", (event) => {
      if (event.target.closest(".handle, .box")) return;
      svg.setPointerCapture(event.pointerId);
      this.fingers.set(event.pointerId, place(event));
      this.moved = 0;
    });
    svg.addEventListener("pointermove", (event) => {
      const had = this.fingers.get(event.pointerId);
      if (!had) return;
      const now = place(event);
      this.moved += Math.abs(now[0] - had[0]) + Math.abs(now[1] - had[1]);
      if (this.fingers.size === 2) {
        const other = [...this.fingers].find(([id]) => id !== event.pointerId)[1];
        const apart = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]);
        this.zoom(apart(now) / Math.max(1, apart(had)), other);
      } else if (this.moved > 4) this.pan(now[0] - had[0], now[1] - had[1]);
      this.fingers.set(event.pointerId, now);
    });
    const end = (event) => {
      const had = this.fingers.get(event.pointerId);
      this.fingers.delete(event.pointerId);
      if (had && event.type === "pointerup" && this.moved <= 4 && this.clicked) this.clicked(...this.world(...place(event)), place(event));
    };
    svg.addEventListener("pointerup", end);
    svg.addEventListener("pointercancel", end);
    svg.addEventListener("keydown", (event) => {
      if (event.target !== svg || event.ctrlKey || event.metaKey) return;
      if (this.typed?.(event)) { event.preventDefault(); return; }
      const keys = {
        ArrowLeft: () => this.pan(KEY_PX, 0), ArrowRight: () => this.pan(-KEY_PX, 0), ArrowUp: () => this.pan(0, KEY_PX), ArrowDown: () => this.pan(0, -KEY_PX),
        "+": () => this.zoom(1.3), "=": () => this.zoom(1.3), "-": () => this.zoom(1 / 1.3), 0: () => this.whole(), 1: () => this.start(),
      };
      if (keys[event.key]) { event.preventDefault(); keys[event.key](); }
    });
  }

  paint() {
    const { layers } = this;
    this.paintCourse();
    layers.line.replaceChildren();
    layers.marks.replaceChildren();
    if (this.day?.line && !this.sheet) {
      this.paintMarks();
      this.paintLine();
    }
    this.paintScale();
    for (const painter of this.painters) painter(this);
    this.paintHandles();
  }

  paintCourse() {
    const { ground } = this.layers;
    if (!this.day?.ground || this.sheet) { ground.replaceChildren(); this.courseDrawn = null; return; }
    if (!this.courseDrawn) { ground.replaceChildren(...courseShapes(this.day.ground)); this.courseDrawn = this.day.ground; }
    ground.setAttribute("transform", this.transform());
  }

  paintMarks() {
    const { marks } = this.layers, { ground } = this.day, [wide] = this.size, letter = parseFloat(getComputedStyle(this.svg).fontSize);
    // What a name must not cover: the handles, and the names before it.
    const taken = this.seenHandles().map((handle) => { const [x, y] = this.screen(...handle.at()); return [x - KNOB_PX, y - KNOB_PX, x + KNOB_PX, y + KNOB_PX]; });
    const free = ([x0, y0, x1, y1]) => !taken.some(([a0, b0, a1, b1]) => x0 < a1 && x1 > a0 && y0 < b1 && y1 > b0);
    // A name stands above its place and to the right, else where there is room beside it, else nowhere.
    const put = (x, y, words, kind) => {
      const [sx, sy] = this.screen(x, y), long = 0.58 * letter * words.length + 8;
      // People stand like a pin, so that nobody needs the colour to tell them from a narrowing.
      if (kind === "people") marks.append(draw("path", { class: kind, d: `M${sx} ${sy}l-5 -9h10z` }));
      else if (kind !== "hill") marks.append(draw("circle", { class: kind, cx: sx, cy: sy, r: kind === "gate" ? 3.5 : 3 }));
      for (const [side, dy, away] of NAMED_AT) {
        const dx = side * away, near = sx + Math.min(0, dx), far = sx + dx + side * long;
        const box = [Math.min(near, far), sy + dy - 1.1 * letter, Math.max(sx, far), sy + dy + 0.4 * letter];
        if (!free(box) || (side > 0 && sx < wide && box[2] > wide) || (side < 0 && box[0] < 0)) continue;
        taken.push(box);
        marks.append(draw("text", { class: `name ${kind}`, x: sx + dx, y: sy + dy, "text-anchor": side < 0 ? "end" : null, text: words }));
        return;
      }
    };
    marks.append(...hillMarks(this, ground));
    const here = new Set((this.day.places || []).map((mark) => mark.name)), seen = new Set();
    for (const gate of ground.gates) {
      if (seen.has(gate.name)) continue;
      seen.add(gate.name);
      const k = 2 * Math.round((gate.cuts[0] + gate.cuts[1]) / 2);
      put((ground.left[k] + ground.right[k]) / 2, (ground.left[k + 1] + ground.right[k + 1]) / 2, gate.name, "gate");
    }
    // Where our people stand at a landmark, one mark says both.
    for (const mark of ground.landmarks) if (!here.has(mark.name)) put(mark.x, mark.y, mark.name, "landmark");
    for (const mark of this.day.places || []) put(mark.x, mark.y, seen.has(mark.name) ? "" : mark.name, "people");
    const last = ground.checkpoints.at(-1);
    if (last) put(last.x, last.y, last.name, "finish");
    for (const hill of ground.hills) put(...hillMiddle(ground, hill), hillSaid(hill), "hill");
  }

  // The line with a comb behind it: a tooth a box, as long as the extra metres of that box.
  paintLine() {
    const { line, start } = this.day, { layers } = this, most = Math.max(0.3, ...line.extra);
    const points = [];
    for (let k = 0; k < line.paint.length; k += 2) points.push(this.screen(line.paint[k], line.paint[k + 1]).join(","));
    const apart = (start.box_width * this.eye.scale), every = Math.max(1, Math.ceil(NUMBER_PX / Math.max(apart, 0.1))), own = this.day.ours?.box;
    const axis = this.back();
    line.extra.forEach((extra, b) => {
      const [ax, ay] = this.screen(line.ends[2 * b], line.ends[2 * b + 1]), [bx, by] = this.screen(line.ends[2 * b + 2], line.ends[2 * b + 3]);
      const mine = this.day.ours?.box === b + 1, closed = start.empty.includes(b + 1);
      const long = 4 + (COMB_PX * extra) / most, mx = (ax + bx) / 2, my = (ay + by) / 2, name = line.teams[b];
      const words = `Box ${b + 1}${name ? `, ${name}` : ""}${closed ? ", left empty" : ""}: ${more(extra)} to ${line.to}`;
      const tooth = draw("g", { class: `box${mine ? " ours" : ""}${closed ? " closed" : ""}` }, draw("title", { text: words }),
        draw("path", { class: "tooth", d: `M${mx} ${my}l${axis[0] * long} ${axis[1] * long}`, "stroke-width": Math.max(1.5, Math.min(12, 0.6 * apart)) }),
        draw("path", { class: "paint", d: `M${ax} ${ay}L${bx} ${by}` }));
      // The number of our box stands there always, so its neighbours make room.
      if (mine || (b % every === 0 && !(own && Math.abs(b + 1 - own) * apart < NUMBER_PX))) {
        tooth.append(draw("text", { x: mx + axis[0] * (long + 9), y: my + axis[1] * (long + 9) + 4, text: String(b + 1) }));
      }
      if (this.boxClicked && !closed) tooth.addEventListener("click", () => this.boxClicked(b + 1));
      layers.line.append(tooth);
    });
    const ours = layers.line.querySelector(".ours");
    if (ours) layers.line.append(ours);
    layers.line.prepend(draw("polyline", { class: "whole-line", points: points.join(" ") }));
    const [gx, gy] = this.screen(line.gun[0], line.gun[1]);
    layers.line.append(draw("circle", { class: "gun", cx: gx, cy: gy, r: 4 }, draw("title", { text: "the gun" })));
  }

  // Which way is back from the line, on the screen?
  back() {
    const tilt = ((this.day.start.tilt || 0) * Math.PI) / 180, [ox, oy] = this.screen(0, 0);
    const [x, y] = this.screen(-Math.cos(tilt), -Math.sin(tilt)), long = Math.hypot(x - ox, y - oy) || 1;
    return [(x - ox) / long, (y - oy) / long];
  }

  paintScale() {
    const [, high] = this.size, bar = BARS_M.findLast((metres) => metres * this.eye.scale < 170) || 1, long = bar * this.eye.scale;
    this.layers.marks.append(draw("path", { class: "scale", d: `M16 ${high - 22}v6h${long}v-6` }), draw("text", { class: "scale", x: 18, y: high - 26, text: said(bar, 0) }));
  }

  // Each: {key, label, at() -> [x, y], value(), words(), from(x, y) -> value, step, limits, trying, done, shape}
  setHandles(handles) {
    this.handles = handles;
    this.layers.hands.replaceChildren();
    for (const handle of handles) {
      handle.mark = draw("g", { class: `handle ${handle.shape || ""}`, tabindex: "0", role: "slider", "aria-label": handle.label,
        "aria-orientation": handle.shape === "tilt" ? "vertical" : "horizontal" },
        draw("circle", { class: "reach", r: 22 }), draw("path", { class: "knob", d: KNOBS[handle.shape] || KNOBS.width }), draw("title", { text: handle.label }));
      this.hearHandle(handle);
      this.layers.hands.append(handle.mark);
    }
    this.paintHandles();
  }

  // Edges that lie on top of one another come apart when the map is brought nearer.
  seenHandles() {
    const shown = [];
    return this.handles.filter((handle) => {
      const [sx, sy] = this.screen(...handle.at());
      if (handle.shape === "edge" && shown.some(([x, y]) => Math.hypot(x - sx, y - sy) < APART_PX)) return false;
      return shown.push([sx, sy]);
    });
  }

  paintHandles() {
    const seen = new Set(this.seenHandles());
    for (const handle of this.handles) {
      const [sx, sy] = this.screen(...handle.at()), limits = handle.limits();
      handle.mark.style.display = seen.has(handle) ? "" : "none";
      handle.mark.setAttribute("transform", `translate(${sx} ${sy})`);
      handle.mark.setAttribute("aria-valuenow", handle.value().toFixed(2));
      handle.mark.setAttribute("aria-valuemin", limits[0].toFixed(2));
      handle.mark.setAttribute("aria-valuemax", limits[1].toFixed(2));
      handle.mark.setAttribute("aria-valuetext", handle.words());
    }
  }

  hearHandle(handle) {
    const { mark } = handle, within = (value) => Math.min(handle.limits()[1], Math.max(handle.limits()[0], Math.round(value / handle.grain) * handle.grain));
    let value = null;
    mark.addEventListener("pointerdown", (event) => { event.preventDefault(); event.stopPropagation(); mark.focus({ preventScroll: true }); mark.setPointerCapture(event.pointerId); mark.classList.add("held"); value = null; });
    mark.addEventListener("pointermove", (event) => {
      if (!mark.hasPointerCapture(event.pointerId)) return;
      const box = this.svg.getBoundingClientRect();
      value = within(handle.from(...this.world(event.clientX - box.left, event.clientY - box.top)));
      handle.trying(value);
    });
    const end = () => { mark.classList.remove("held"); if (value !== null) handle.done(value); value = null; };
    mark.addEventListener("pointerup", end);
    mark.addEventListener("pointercancel", end);
    mark.addEventListener("keydown", (event) => {
      const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
      if (!by) return;
      event.preventDefault();
      event.stopPropagation();
      handle.done(within(handle.value() + by * handle.step));
    });
  }
}

const KNOBS = {
  width: "M-7 -7h14v14h-14z",
  bow: "M0 -9L9 0L0 9L-9 0z",
  tilt: "M0 -9a9 9 0 1 0 0.01 0z",
  straight: "M-9 7L0 -9L9 7z",
  throat: "M-7 -7h14v14h-14z",
  edge: "M-8 0L0 -8L8 0L0 8z",
};

export function courseShapes(ground) {
  const shapes = [], pairs = (points, from, until) => {
    const told = [];
    for (let k = from; k <= until; k++) told.push(`${points[2 * k]} ${points[2 * k + 1]}`);
    return told;
  };
  const last = ground.left.length / 2 - 1;
  shapes.push(draw("path", { class: "course", d: `M${[...pairs(ground.left, 0, last), ...pairs(ground.right, 0, last).reverse()].join("L")}z` }));
  for (const [points, edges] of [[ground.left, ground.left_edge], [ground.right, ground.right_edge]]) {
    let from = 0;
    for (let k = 1; k <= edges.length; k++) {
      if (k < edges.length && edges[k] === edges[from]) continue;
      shapes.push(draw("path", { class: `edge ${KINDS[edges[from]]}`, d: `M${pairs(points, from, k).join("L")}` }));
      from = k;
    }
  }
  const f = 2 * ground.finish;
  shapes.push(draw("path", { class: "finish-line", d: `M${ground.left[f]} ${ground.left[f + 1]}L${ground.right[f]} ${ground.right[f + 1]}` }));
  for (const [x, y, r] of ground.obstacles) shapes.push(draw("circle", { class: "obstacle", cx: x, cy: y, r }));
  return shapes;
}
