// The race from above.

const SEEN_BEHIND_M = 30, SEEN_AHEAD_M = 150;
const GUTTER_PX = 150, GUTTER_FROM_PX = 700;
const FLASH_S = 0.9;
const WAY_M = [10, 20, 50, 100, 200, 500], WAY_PX = 90, ARROW_PX = 6;
const PIECE_CUTS = 16;
const TOLD_M = 20; // a checkpoint so near to a gate of its name is the same place

class MapView {
  constructor(canvas, ground, races, look) {
    Object.assign(this, { canvas, ground, races, look });
    this.camera = { x: 0, y: 0, scale: 9, zoom: 1, free: false };
    this.script = new Camera(races[0], ground);
    this.pieces = this.coursePieces();
    this.discs = this.courseDiscs();
    this.spot = [0, 0];
  }

  // The course in pieces, each with its bounds: what is out of sight is not drawn.
  coursePieces() {
    const found = [];
    for (let first = 0; first + 1 < this.ground.cuts; first += PIECE_CUTS) {
      found.push(this.coursePiece(first, Math.min(first + PIECE_CUTS, this.ground.cuts - 1)));
    }
    return found;
  }

  coursePiece(first, last) {
    const { ground } = this, course = new Path2D(), box = [Infinity, Infinity, -Infinity, -Infinity];
    // A cut more at either end, so that no seam shows between pieces.
    const from = Math.max(0, first - 1), until = Math.min(ground.cuts - 1, last + 1);
    for (let k = from; k < until; k++) {
      course.moveTo(...ground.edge(ground.left, k));
      course.lineTo(...ground.edge(ground.left, k + 1));
      course.lineTo(...ground.edge(ground.right, k + 1));
      course.lineTo(...ground.edge(ground.right, k));
    }
    for (let k = from; k <= until; k++) {
      for (const [x, y] of [ground.edge(ground.left, k), ground.edge(ground.right, k)]) {
        box[0] = Math.min(box[0], x);
        box[1] = Math.min(box[1], y);
        box[2] = Math.max(box[2], x);
        box[3] = Math.max(box[3], y);
      }
    }
    return { first, last, course, box, edges: this.edgePaths(first, last) };
  }

  // The course as overlapping discs: quick to ask whether a plate would lie on it.
  courseDiscs() {
    const { ground } = this, found = [];
    const first = ground.station[0], last = ground.station[ground.cuts - 1];
    for (let at = first; at <= last; at += 3) found.push([...ground.point(at, 0.5), ground.widthAt(at) / 2]);
    return found;
  }

  // The edges from one cut to another, a path a kind: open, marked, barrier; one line as long as the kind
  // stays, so that dashes stay dashes in bends.
  edgePaths(first, last) {
    const { ground } = this;
    const kinds = [new Path2D(), new Path2D(), new Path2D()];
    for (const [points, edge] of [[ground.left, ground.left_edge], [ground.right, ground.right_edge]]) {
      for (let k = first; k < last; k++) {
        if (k === first || edge[k] !== edge[k - 1]) kinds[edge[k]].moveTo(...ground.edge(points, k));
        kinds[edge[k]].lineTo(...ground.edge(points, k + 1));
      }
    }
    return kinds;
  }

  // How wide is the strip for names beside the ground? None on a phone, or with nobody of ours.
  gutter(state) {
    const named = state.names && markedRunners(this.races[0], state).length > 0;
    const [wide] = sizeOf(this.canvas);
    return named && wide >= GUTTER_FROM_PX ? Math.round(GUTTER_PX * Math.min(state.size, wide / GUTTER_FROM_PX)) : 0;
  }

  place(state) {
    const { camera } = this, [wide, high] = sizeOf(this.canvas);
    this.wide = wide - this.gutter(state);
    this.high = high;
    if (camera.free) return;
    const [x, y, scale] = this.script.at(state, this.wide, high);
    Object.assign(camera, { x, y, scale: scale * camera.zoom });
  }

  // How many of ours, or of those followed, are there, and how many in view?
  inView(state) {
    this.place(state);
    let there = 0, seen = 0;
    for (const runner of followedRunners(this.races[0], state)) {
      if (!this.races[0].at(state.t, runner, this.spot)) continue;
      const [x, y] = this.screen(...this.spot);
      there++;
      if (x > 4 && x < this.wide - 4 && y > 4 && y < this.high - 4) seen++;
    }
    return [there, seen];
  }

  screen(x, y) {
    const { camera } = this;
    return [this.wide / 2 + (x - camera.x) * camera.scale,
      this.high / 2 - (y - camera.y) * camera.scale];
  }

  draw(state) {
    const context = fitted(this.canvas);
    this.place(state);
    this.drawGround(context, state);
    this.taken = [];
    this.near = this.discs.filter(([x, y, half]) => this.mayShow(x, y, half * this.camera.scale + 300))
      .map(([x, y, half]) => [...this.screen(x, y), half * this.camera.scale]);
    this.drawMarks(context, state);
    if (state.trails) this.drawTrails(context, state);
    const marked = markedSet(this.races[0], state);
    this.named = [];
    this.drawRunners(context, state, marked, false);
    if (this.races[1] && state.plan !== "off") this.drawPlan(context, state);
    this.drawRunners(context, state, marked, true);
    this.drawFlashes(context, state);
    this.drawGutter(context, state);
    this.drawScale(context, state);
  }

  // Does a place on the ground lie in the picture, or so many pixels off it?
  mayShow(x, y, px) {
    const { camera } = this;
    return Math.abs(x - camera.x) * camera.scale < this.wide / 2 + px && Math.abs(y - camera.y) * camera.scale < this.high / 2 + px;
  }

  drawGround(context, state) {
    const { camera, canvas, ground } = this;
    context.fillStyle = INK.ground;
    context.fillRect(0, 0, sizeOf(canvas)[0], this.high);
    context.save();
    const ratio = canvas.width / sizeOf(canvas)[0];
    const scale = camera.scale * ratio;
    context.setTransform(scale, 0, 0, -scale,
      (ratio * this.wide) / 2 - camera.x * scale, canvas.height / 2 + camera.y * scale);
    const half = [this.wide / 2 / camera.scale, this.high / 2 / camera.scale];
    const shown = this.pieces.filter(({ box }) => box[0] < camera.x + half[0] && box[2] > camera.x - half[0]
      && box[1] < camera.y + half[1] && box[3] > camera.y - half[1]);
    context.fillStyle = INK.course;
    for (const piece of shown) context.fill(piece.course);
    // A course may cross its own ground: where somebody runs now stands out from the rest.
    const [first, last] = this.races[0].reach(state.t);
    const here = [ground.cutAt(first - SEEN_BEHIND_M), ground.cutAt(last + SEEN_AHEAD_M) + 1];
    for (const piece of shown) {
      context.globalAlpha = piece.first <= here[1] && piece.last >= here[0] ? 1 : 0.2;
      this.strokeEdges(context, piece.edges);
    }
    context.globalAlpha = 1;
    context.restore();
    this.drawWay(context, first - SEEN_BEHIND_M, last + SEEN_AHEAD_M);
  }

  // Which way does the race go? Arrowheads on the ground, at places that stay while the camera moves.
  drawWay(context, from_m, until_m) {
    const { ground, camera } = this;
    const apart = WAY_M.find((metres) => metres * camera.scale >= WAY_PX) ?? WAY_M[WAY_M.length - 1];
    context.beginPath();
    for (let at = Math.max(apart, Math.ceil(from_m / apart) * apart); at < Math.min(until_m, ground.length); at += apart) {
      const here = ground.point(at, 0.5);
      if (ground.widthAt(at) * camera.scale < 3 * ARROW_PX || !this.mayShow(...here, 0)) continue;
      const there = ground.point(at + 1, 0.5), long = Math.hypot(there[0] - here[0], there[1] - here[1]) || 1;
      const [x, y] = this.screen(...here), way = [(there[0] - here[0]) / long, (here[1] - there[1]) / long];
      for (const side of [-1, 0, 1]) {
        const back = side ? ARROW_PX : 0, spot = [x - back * way[0] - side * ARROW_PX * way[1], y - back * way[1] + side * ARROW_PX * way[0]];
        if (side < 0) context.moveTo(...spot);
        else context.lineTo(...spot);
      }
    }
    context.strokeStyle = INK.open;
    context.lineWidth = 2;
    context.stroke();
  }

  strokeEdges(context, kinds) {
    const { scale } = this.camera;
    [["open", 1], ["marked", 1.5], ["barrier", 3.5]].forEach(([name, px], kind) => {
      context.strokeStyle = INK[name];
      context.lineWidth = px / scale;
      context.setLineDash(kind === 1 ? [6 / scale, 4 / scale] : []);
      context.stroke(kinds[kind]);
    });
    context.setLineDash([]);
  }

  drawMarks(context, state) {
    const { ground } = this;
    context.lineWidth = 2;
    context.strokeStyle = INK.text;
    context.beginPath();
    for (let k = 0; k < ground.line.length; k += 2) context.lineTo(...this.screen(ground.line[k], ground.line[k + 1]));
    context.stroke();
    for (const [x, y, radius] of ground.obstacles) {
      if (!this.mayShow(x, y, 3 + radius * this.camera.scale)) continue;
      tracedShape(context, "round", ...this.screen(x, y), Math.max(3, radius * this.camera.scale));
      context.fillStyle = INK.barrier;
      context.fill();
    }
    if (this.camera.scale * 2 > 5) this.drawBoxes(context, state);
    for (const mark of ground.checkpoints) this.drawMark(context, state, mark, 0, 1, INK.text);
    for (const mark of ground.landmarks) this.drawMark(context, state, mark, 0, 0, INK.marked);
    const told = (gate) => ground.checkpoints.some((mark) => mark.name === gate.name && Math.abs(mark.station - gate.station) < TOLD_M);
    for (const gate of ground.gates) if (gate.lap === 1 && !told(gate)) this.drawGate(context, state, gate);
  }

  // The boxes with their numbers behind whoever stands in them; ours on a plate.
  drawBoxes(context, state) {
    const { boxes, depth } = this.ground, race = this.races[0];
    const mine = new Set(race.mine.map((i) => race.runners[i].box));
    const wide = Math.hypot(boxes[0].ends[0] - boxes[0].ends[2], boxes[0].ends[1] - boxes[0].ends[3]) * this.camera.scale;
    const every = Math.max(1, Math.ceil((20 * state.size) / Math.max(1, wide)));
    for (const { number, ends } of boxes) {
      if (!this.mayShow(ends[0], ends[1], 60 * state.size + depth * this.camera.scale)) continue;
      const across = [ends[2] - ends[0], ends[3] - ends[1]], length = Math.hypot(...across) || 1;
      const back = [across[1] / length, -across[0] / length];
      context.fillStyle = context.strokeStyle = INK.muted;
      context.lineWidth = 1;
      for (let k = 0; k < 4; k += 2) {
        context.beginPath();
        context.moveTo(...this.screen(ends[k], ends[k + 1]));
        context.lineTo(...this.screen(ends[k] + depth * back[0], ends[k + 1] + depth * back[1]));
        context.stroke();
      }
      if ((number - 1) % every && !mine.has(number)) continue;
      const middle = [(ends[0] + ends[2]) / 2, (ends[1] + ends[3]) / 2];
      const [x, y] = this.screen(middle[0] + depth * back[0], middle[1] + depth * back[1]);
      const at = [x + 13 * state.size * back[0], y - 13 * state.size * back[1]];
      if (mine.has(number)) {
        context.fillStyle = INK.ours;
        context.fillRect(at[0] - 13 * state.size, at[1] - 10 * state.size, 26 * state.size, 20 * state.size);
      }
      centred(context, String(number), ...at, 12 * state.size, mine.has(number) ? INK.paper : INK.muted);
    }
  }

  drawMark(context, state, mark, from, to, ink) {
    if (!this.mayShow(...this.ground.point(mark.station, 0.5), 300 + 100 * this.camera.scale)) return;
    const left = this.screen(...this.ground.point(mark.station, 0)), right = this.screen(...this.ground.point(mark.station, 1));
    const here = from ? right : left;
    if (here[0] < -200 || here[1] < -200 || here[0] > this.wide + 200 || here[1] > this.high + 200) return;
    context.strokeStyle = ink;
    context.lineWidth = 1.5;
    context.setLineDash([4, 4]);
    context.beginPath();
    context.moveTo(...here);
    context.lineTo(...(to ? right : left));
    context.stroke();
    context.setLineDash([]);
    tracedShape(context, "square", ...here, 4);
    context.fillStyle = ink;
    context.fill();
    this.plateBeside(context, mark.name, [left, right], 13 * state.size, ink);
  }

  drawGate(context, state, gate) {
    const at = (gate.station + gate.until) / 2;
    if (!this.mayShow(...this.ground.point(at, 0.5), 0)) return;
    const ends = [0, 1].map((share) => this.screen(...this.ground.point(at, share)));
    if (ends.every(([x, y]) => x > 0 && y > 0 && x < this.wide && y < this.high)) {
      this.plateBeside(context, gate.name, ends, 13 * state.size, INK.muted);
    }
  }

  // A name beside the course, never on it: at either edge, as far out as there is room.
  plateBeside(context, text, [left, right], size, ink) {
    context.font = `600 ${size}px system-ui, sans-serif`;
    const wide = textWidth(context, text) + 8, high = size + 7;
    const length = Math.hypot(right[0] - left[0], right[1] - left[1]) || 1;
    const out = [(left[0] - right[0]) / length, (left[1] - right[1]) / length];
    for (const reach of [8, 24, 44, 70, 110]) {
      for (const [edge, way] of [[left, 1], [right, -1]]) {
        const far = reach + (Math.abs(out[0]) * wide + Math.abs(out[1]) * high) / 2;
        const x = edge[0] + way * out[0] * far, y = edge[1] + way * out[1] * far;
        const box = [x - wide / 2, y - high / 2, x + wide / 2, y + high / 2];
        if (!this.isFree(box)) continue;
        this.taken.push(box);
        drawnPlate(context, text, box, edge, [ink, INK.paper]);
        return;
      }
    }
  }

  isFree(box) {
    if (box[0] < 2 || box[1] < 2 || box[2] > this.wide - 2 || box[3] > this.high - 30) return false;
    if (this.taken.some((b) => box[0] < b[2] && box[2] > b[0] && box[1] < b[3] && box[3] > b[1])) return false;
    return !this.near.some(([x, y, half]) => {
      const dx = Math.max(box[0] - x, 0, x - box[2]), dy = Math.max(box[1] - y, 0, y - box[3]);
      return dx * dx + dy * dy < half * half;
    });
  }

  drawTrails(context, state) {
    const race = this.races[0];
    context.lineWidth = 3;
    context.globalAlpha = 0.45;
    for (const runner of markedRunners(race, state)) {
      context.strokeStyle = this.look.isOurs(runner) ? INK.ours : INK.text;
      context.beginPath();
      for (let t = Math.max(0, state.t - 5); t <= state.t; t += 0.25) {
        if (race.at(t, runner, this.spot)) context.lineTo(...this.screen(...this.spot));
      }
      context.stroke();
    }
    context.globalAlpha = 1;
  }

  // Where the same people are at this second with the other plan: hollow diamonds.
  drawPlan(context, state) {
    const race = this.races[1];
    const who = state.plan === "all" ? race.runners.keys() : markedRunners(race, state);
    for (const runner of who) {
      if (!race.at(state.t, runner, this.spot)) continue;
      const [x, y] = this.screen(...this.spot);
      const size = Math.max(7, 1.3 * race.runners[runner].radius * this.camera.scale);
      context.beginPath();
      for (const [dx, dy] of [[-1, 0], [0, -1], [1, 0], [0, 1]]) context.lineTo(x + dx * size, y + dy * size);
      context.closePath();
      context.strokeStyle = INK.paper;
      context.lineWidth = 5;
      context.stroke();
      context.strokeStyle = INK.plan;
      context.lineWidth = 2.5;
      context.stroke();
    }
  }

  sizeOf(state, runner, isMarked) {
    return Math.max((isMarked ? 7.5 : 3) * state.size, this.races[0].runners[runner].radius * this.camera.scale);
  }

  drawRunners(context, state, marked, isMarked) {
    const race = this.races[0];
    for (let runner = 0; runner < race.count; runner++) {
      if (marked.has(runner) !== isMarked || !race.at(state.t, runner, this.spot)) continue;
      const [x, y] = this.screen(...this.spot);
      const size = this.sizeOf(state, runner, isMarked);
      const followed = state.follow.kind === "runner" && runner === state.follow.index;
      if (followed) this.ring(context, x, y, size);
      drawnRunner(context, this.look, state, runner, x, y, size);
      if (isMarked) this.named.push([runner, x, y]);
    }
  }

  // A ring where a whole second went; for ours also in words.
  drawFlashes(context, state) {
    const race = this.races[0], within = FLASH_S * Math.max(1, state.speed);
    for (const [runner, ago] of race.goneAt(state.t, within)) {
      if (!race.at(state.t, runner, this.spot)) continue;
      const [x, y] = this.screen(...this.spot), ours = this.look.isOurs(runner);
      const share = state.calm ? 0.3 : ago / within, size = this.sizeOf(state, runner, ours);
      context.globalAlpha = 1 - 0.7 * share;
      context.beginPath();
      context.arc(x, y, size + 5 + 12 * share, 0, 2 * Math.PI);
      context.strokeStyle = ours ? INK.ring : LOSING[3];
      context.lineWidth = ours ? 3 : 1.5;
      context.stroke();
      context.globalAlpha = 1;
      if (ours) centred(context, "+1 s", x, y - size - 14 - 8 * share, 14 * state.size, INK.ring);
    }
  }

  // The names of ours in a strip beside the ground, numbered as their dots; a line to whom we follow.
  drawGutter(context, state) {
    const wide = this.gutter(state);
    if (!wide) return;
    const high = this.high, size = 13 * state.size, step = size + 11;
    context.fillStyle = INK.paper;
    context.fillRect(this.wide, 0, wide, high);
    context.fillStyle = INK.text;
    context.fillRect(this.wide, 0, 1, high);
    const rows = this.named.filter(([, x, y]) => x > 0 && x < this.wide && y > 0 && y < high).sort((a, b) => this.look.number(a[0]) - this.look.number(b[0]) || a[0] - b[0]);
    rows.forEach(([runner, x, y], k) => {
      const down = 8 + k * step;
      if (down + step > high) return;
      const followed = state.follow.kind === "runner" && runner === state.follow.index;
      const number = this.look.number(runner), name = this.races[0].runners[runner].name;
      const box = [this.wide + 8, down, this.wide + wide - 4, down + step - 4];
      if (followed) {
        context.strokeStyle = INK.ring;
        context.lineWidth = 1.5;
        context.beginPath();
        context.moveTo(x + 8, y);
        context.lineTo(box[0], down + step / 2 - 2);
        context.stroke();
      }
      context.fillStyle = followed ? INK.followed : INK.ours;
      context.fillRect(...box.slice(0, 2), box[2] - box[0], box[3] - box[1]);
      context.font = `600 ${size}px system-ui, sans-serif`;
      context.textAlign = "left";
      context.textBaseline = "middle";
      context.fillStyle = followed ? INK.ring : INK.paper;
      context.fillText(shortened(context, number ? `${number} ${name}` : name, box[2] - box[0] - 8), box[0] + 4, down + step / 2 - 1.5);
    });
  }

  ring(context, x, y, size) {
    context.beginPath();
    context.arc(x, y, size + 6, 0, 2 * Math.PI);
    context.strokeStyle = INK.ring;
    context.lineWidth = 5;
    context.stroke();
    context.strokeStyle = INK.followed;
    context.lineWidth = 3;
    context.stroke();
  }

  drawScale(context, state) {
    const foot = state.units === "us" ? 0.3048 : 1;
    const word = state.units === "us" ? "ft" : "m";
    const wanted = 100 / this.camera.scale / foot;
    const steps = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
    const whole = steps.find((step) => step >= wanted * 0.5) || 1000;
    const px = whole * foot * this.camera.scale, y = this.high - 16;
    context.fillStyle = INK.text;
    context.fillRect(16, y, px, 3);
    context.font = `${13 * state.size}px system-ui, sans-serif`;
    context.textAlign = "left";
    context.textBaseline = "bottom";
    context.fillText(`${whole} ${word}`, 16, y - 2);
  }
}

// How many are the front of the pack?
function packSize(race) {
  return Math.max(1, Math.floor(race.count / 3));
}

function followedRunners(race, state) {
  const { kind, index } = state.follow;
  if (kind === "runner") return [index];
  if (kind === "team") return race.all.filter((i) => race.runners[i].team === index);
  return race.order(state.t).slice(0, packSize(race));
}

// Who is to be found at once: our own, and whom we follow. Known as long as the same are followed.
const markedKnown = new WeakMap();

function marks(race, state) {
  const { kind, index } = state.follow;
  const known = markedKnown.get(state.follow) ?? new Map();
  markedKnown.set(state.follow, known);
  if (!known.has(race)) {
    const isMarked = (i) => race.runners[i].team === race.ours || (kind === "runner" && i === index)
      || (kind === "team" && race.runners[i].team === index);
    const marked = race.all.filter(isMarked);
    known.set(race, { marked, set: new Set(marked), last: [...race.all.filter((i) => !isMarked(i)), ...marked] });
  }
  return known.get(race);
}

function markedRunners(race, state) {
  return marks(race, state).marked;
}

function markedSet(race, state) {
  return marks(race, state).set;
}

// Everybody, those to be found last: they are drawn over the others.
function markedLast(race, state) {
  return marks(race, state).last;
}
