// The race as the chosen runner sees it: level camera, a head that turns with the course.

const EYE_M = 1.6, BODY_M = 1.72, FENCE_M = 1.05;
const AHEAD_M = 160, BEHIND_M = 12, NEAREST_M = 0.6;
const LOOK_BACK_S = 0.5, LOOK_ON_S = 1.6, SMOOTH_S = 1.2;

class EyeView {
  constructor(canvas, plan, ground, races, look) {
    Object.assign(this, { canvas, plan, ground, races, look });
    this.headings = new Map();
    this.spot = [0, 0];
  }

  // The way this runner faces, frame by frame: where the way leads, smoothed both ways in time.
  heading(runner) {
    if (!this.headings.has(runner)) this.headings.set(runner, this.smoothed(runner));
    return this.headings.get(runner);
  }

  smoothed(runner) {
    const race = this.races[0], count = race.frames;
    const ways = new Float64Array(2 * count);
    const a = [0, 0], b = [0, 0];
    let way = this.startWay();
    for (let f = 0; f < count; f++) {
      const t = f * race.frame_s;
      race.at(Math.max(0, t - LOOK_BACK_S), runner, a);
      const until = Math.min(t + LOOK_ON_S, (race.until[runner] - 1) * race.frame_s);
      race.at(until, runner, b);
      const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
      if (length > 1.5) way = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
      ways[2 * f] = way[0];
      ways[2 * f + 1] = way[1];
    }
    return means(ways, Math.round(SMOOTH_S / race.frame_s));
  }

  startWay() {
    const from = this.ground.point(0, 0.5), to = this.ground.point(20, 0.5);
    const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
    return [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
  }

  draw(state) {
    const race = this.races[0], runner = state.rider;
    const context = fitted(this.canvas);
    const [wide, high] = sizeOf(this.canvas);
    if (!race.at(state.t, runner, this.spot)) return this.drawGone(context, wide, high, state);
    const frame = Math.min(race.frames - 1, state.t / race.frame_s);
    const before = Math.floor(frame), share = frame - before, ways = this.heading(runner);
    const next = Math.min(race.frames - 1, before + 1);
    const to = [0, 1].map((k) => ways[2 * before + k] * (1 - share) + ways[2 * next + k] * share);
    const length = Math.hypot(...to) || 1;
    this.eye = { x: this.spot[0], y: this.spot[1], cos: to[0] / length, sin: to[1] / length };
    this.lens = { x: wide / 2, y: 0.42 * high, f: 0.62 * Math.max(wide, 0.9 * high) };
    this.station = race.stationAt(state.t, runner);
    context.fillStyle = INK.sky;
    context.fillRect(0, 0, wide, this.lens.y);
    context.fillStyle = INK.ground;
    context.fillRect(0, this.lens.y, wide, high - this.lens.y);
    this.drawCourse(context);
    this.drawThings(context, state);
    this.drawWords(context, state, wide, high);
    this.drawPlan(state);
  }

  drawGone(context, wide, high, state) {
    context.fillStyle = INK.sky;
    context.fillRect(0, 0, wide, high);
    context.fillStyle = INK.text;
    context.font = `${18 * state.size}px system-ui, sans-serif`;
    context.textAlign = "center";
    context.fillText("has left the course", wide / 2, high / 2);
  }

  // From the world to (to the right, ahead), in metres.
  seen(x, y) {
    const { eye } = this, dx = x - eye.x, dy = y - eye.y;
    return [dx * eye.sin - dy * eye.cos, dx * eye.cos + dy * eye.sin];
  }

  spotOn(right, ahead, height) {
    const { lens } = this;
    return [lens.x + (lens.f * right) / ahead, lens.y + (lens.f * (EYE_M - height)) / ahead];
  }

  // A flat or upright face of points (right, ahead, height), cut off close before the eye.
  face(context, points) {
    const kept = [];
    points.forEach((here, k) => {
      const before = points[(k + points.length - 1) % points.length];
      if ((here[1] > NEAREST_M) !== (before[1] > NEAREST_M)) {
        const share = (NEAREST_M - before[1]) / (here[1] - before[1]);
        kept.push(before.map((value, axis) => value + share * (here[axis] - value)));
      }
      if (here[1] > NEAREST_M) kept.push(here);
    });
    if (kept.length < 3) return false;
    context.beginPath();
    kept.forEach((point) => context.lineTo(...this.spotOn(...point)));
    context.closePath();
    return true;
  }

  drawCourse(context) {
    const { ground } = this;
    const first = Math.max(0, ground.cutAt(this.station - BEHIND_M));
    const last = Math.min(ground.cuts - 2, ground.cutAt(this.station + AHEAD_M));
    const at = (points, k, height) => [...this.seen(points[2 * k], points[2 * k + 1]), height];
    // The stroke closes the seams between neighbouring faces.
    context.fillStyle = context.strokeStyle = INK.course;
    context.lineWidth = 1;
    for (let k = last; k >= first; k--) {
      if (this.face(context, [at(ground.left, k, 0), at(ground.left, k + 1, 0), at(ground.right, k + 1, 0), at(ground.right, k, 0)])) {
        context.fill();
        context.stroke();
      }
    }
    for (let k = last; k >= first; k--) {
      this.drawEdge(context, at, ground.left, ground.left_edge[k], k);
      this.drawEdge(context, at, ground.right, ground.right_edge[k], k);
    }
  }

  drawEdge(context, at, points, kind, k) {
    if (kind === 2) {
      if (this.face(context, [at(points, k, 0), at(points, k + 1, 0), at(points, k + 1, FENCE_M), at(points, k, FENCE_M)])) {
        context.fillStyle = "rgba(66,47,32,0.55)";
        context.fill();
        context.strokeStyle = INK.barrier;
        context.lineWidth = 1;
        context.stroke();
      }
    } else {
      const here = at(points, k, 0), there = at(points, k + 1, 0);
      const wide = 0.06;
      if (this.face(context, [[here[0] - wide, here[1], 0], [there[0] - wide, there[1], 0], [there[0] + wide, there[1], 0], [here[0] + wide, here[1], 0]])) {
        context.fillStyle = kind === 1 ? INK.marked : INK.open;
        context.fill();
      }
    }
  }

  // Everything that stands up, from far to near.
  drawThings(context, state) {
    const things = [...this.bodies(state), ...this.signs()];
    things.sort((a, b) => b.ahead - a.ahead);
    this.taken = [];
    for (const thing of things) thing.draw(context);
    if (!state.names) return;
    const named = things.filter((thing) => thing.name).reverse();
    for (const thing of named.slice(0, 12)) {
      const [x, y] = this.spotOn(thing.right, thing.ahead, thing.high + 0.1);
      plate(context, thing.name, x, y, 13 * state.size, thing.inks, this.taken);
    }
  }

  bodies(state) {
    const race = this.races[0], found = [], spot = [0, 0];
    if (!state.people) return found; // the course without anybody, to learn the way
    const marked = markedSet(race, state);
    for (let runner = 0; runner < race.count; runner++) {
      if (runner === state.rider || !race.at(state.t, runner, spot)) continue;
      const [right, ahead] = this.seen(spot[0], spot[1]);
      if (ahead < NEAREST_M || ahead > AHEAD_M || Math.abs(right) > 1.4 * ahead + 2) continue;
      const isMarked = marked.has(runner);
      found.push({
        right, ahead, high: BODY_M, name: isMarked && ahead < 60 ? race.runners[runner].name : "",
        inks: [INK.ours, INK.paper],
        draw: (context) => this.drawBody(context, state, runner, right, ahead, isMarked),
      });
    }
    return found;
  }

  drawBody(context, state, runner, right, ahead, isMarked) {
    const race = this.races[0], radius = race.runners[runner].radius;
    const swing = state.calm ? 0.25 : Math.sin(1.6 * (race.stationAt(state.t, runner) + runner));
    const [x, foot] = this.spotOn(right, ahead, 0);
    const unit = this.lens.f / ahead;
    context.fillStyle = this.look.fill(state, runner);
    context.strokeStyle = isMarked ? INK.ring : INK.paper;
    context.lineWidth = isMarked ? 2.5 : 1;
    context.beginPath();
    for (const side of [-1, 1]) {
      context.moveTo(x + side * 0.1 * unit, foot - 0.85 * unit);
      context.lineTo(x + side * 0.12 * unit, foot - (0.02 + 0.22 * Math.max(0, side * swing)) * unit);
    }
    const kept = context.strokeStyle;
    context.strokeStyle = INK.text;
    context.lineWidth = Math.max(1, 0.1 * unit);
    context.stroke();
    context.strokeStyle = kept;
    context.lineWidth = isMarked ? 2.5 : 1;
    context.beginPath();
    context.roundRect(x - radius * unit, foot - 1.42 * unit, 2 * radius * unit, 0.64 * unit, 0.16 * unit);
    context.fill();
    context.stroke();
    context.beginPath();
    context.arc(x, foot - 1.58 * unit, 0.115 * unit, 0, 2 * Math.PI);
    context.fillStyle = "#c79a76";
    context.fill();
    context.stroke();
  }

  signs() {
    const found = [];
    const add = (mark, share, out_m, inks, high) => {
      if (mark.station < this.station - 2 || mark.station > this.station + AHEAD_M) return;
      const edge = this.ground.point(mark.station, share), other = this.ground.point(mark.station, 0.5);
      const length = Math.max(0.1, Math.hypot(edge[0] - other[0], edge[1] - other[1]));
      const at = [0, 1].map((k) => edge[k] + (out_m * (edge[k] - other[k])) / length);
      const [right, ahead] = this.seen(at[0], at[1]);
      if (ahead < NEAREST_M || ahead > AHEAD_M) return;
      const name = `${mark.name}, ${said(mark.station - this.station, this.units)}`;
      found.push({ right, ahead, high, name, inks, draw: (context) => this.drawPole(context, right, ahead, high, inks[1]) });
    };
    for (const mark of this.ground.landmarks) add(mark, 0, 1.5, [INK.paper, INK.marked], 3.2);
    for (const mark of this.ground.checkpoints) add(mark, 1, 0.8, [INK.paper, INK.text], 2.6);
    for (const [x, y, radius] of this.ground.obstacles) {
      const [right, ahead] = this.seen(x, y);
      if (ahead < NEAREST_M || ahead > AHEAD_M) continue;
      found.push({ right, ahead, high: 2, name: "", inks: [], draw: (context) => this.drawPost(context, right, ahead, radius) });
    }
    return found;
  }

  drawPole(context, right, ahead, high, ink) {
    context.strokeStyle = ink;
    context.lineWidth = Math.max(1.5, (0.08 * this.lens.f) / ahead);
    context.beginPath();
    context.moveTo(...this.spotOn(right, ahead, 0));
    context.lineTo(...this.spotOn(right, ahead, high));
    context.stroke();
  }

  drawPost(context, right, ahead, radius) {
    const [x, top] = this.spotOn(right, ahead, 2), [, foot] = this.spotOn(right, ahead, 0);
    const half = (radius * this.lens.f) / ahead;
    context.fillStyle = INK.barrier;
    context.fillRect(x - half, top, 2 * half, foot - top);
  }

  // What comes next, how far it is, and how far to go.
  drawWords(context, state, wide, high) {
    const left = Math.max(0, this.ground.length - this.station);
    const race = this.races[0], runner = state.rider, who = race.runners[runner];
    const far = race.progress(state.t), place = 1 + far.filter((metres) => metres > far[runner]).length;
    const next = this.ground.named().find((mark) => mark.station > this.station + 1);
    const whose = `${who.name}'s eyes`, there = `place ${place}, ${race.lostAt(state.t, runner).toFixed(1)} s lost`;
    // On a phone the clock stands beside the first line.
    const words = [...(wide < 520 ? [whose, there] : [`${whose}, ${there}`]), `${said(left, this.units)} to go`];
    if (next) words.push(this.nextWords(next, state.names));
    context.font = `600 ${16 * state.size}px system-ui, sans-serif`;
    context.textAlign = "left";
    context.textBaseline = "top";
    words.forEach((text, k) => {
      const y = 12 + k * 24 * state.size;
      context.fillStyle = "rgba(255,255,255,0.85)";
      context.fillRect(10, y - 3, textWidth(context, text) + 12, 22 * state.size);
      context.fillStyle = INK.text;
      context.fillText(text, 16, y);
    });
  }

  // What comes next; with names hidden only how far it is: who rides along is to know it.
  nextWords(next, named) {
    const far = said(next.station - this.station, this.units);
    if (named) return `${next.name} in ${far}`;
    return next.inside ? `a turn in ${far}: which way?` : `the next place in ${far}: which?`;
  }

  // The plain map below: the way ahead is up.
  drawPlan(state) {
    const context = fitted(this.plan), [wide, high] = sizeOf(this.plan);
    const scale = high / 60, { ground, eye } = this;
    const spot = (x, y) => {
      const [right, ahead] = this.seen(x, y);
      return [wide / 2 + right * scale, 0.72 * high - ahead * scale];
    };
    context.fillStyle = INK.ground;
    context.fillRect(0, 0, wide, high);
    const first = Math.max(0, ground.cutAt(this.station - 40)), last = Math.min(ground.cuts - 2, ground.cutAt(this.station + 120));
    context.fillStyle = context.strokeStyle = INK.course;
    context.lineWidth = 1;
    for (let k = first; k <= last; k++) {
      context.beginPath();
      for (const [points, cut] of [[ground.left, k], [ground.left, k + 1], [ground.right, k + 1], [ground.right, k]]) {
        context.lineTo(...spot(points[2 * cut], points[2 * cut + 1]));
      }
      context.closePath();
      context.fill();
      context.stroke();
    }
    for (const [points, kinds] of [[ground.left, ground.left_edge], [ground.right, ground.right_edge]]) {
      for (let k = first; k <= last; k++) {
        context.strokeStyle = INK[["open", "marked", "barrier"][kinds[k]]];
        context.lineWidth = kinds[k] === 2 ? 3 : 1.5;
        context.beginPath();
        context.moveTo(...spot(points[2 * k], points[2 * k + 1]));
        context.lineTo(...spot(points[2 * k + 2], points[2 * k + 3]));
        context.stroke();
      }
    }
    this.drawDots(context, state, spot, scale);
  }

  // Everybody on the plain map, the rider last and largest.
  drawDots(context, state, spot, scale) {
    const race = this.races[0], place = [0, 0];
    const order = [...race.runners.keys()].sort((a, b) => (a === state.rider) - (b === state.rider));
    for (const runner of order) {
      if (!race.at(state.t, runner, place)) continue;
      const isRider = runner === state.rider;
      const size = Math.max(isRider ? 7 : 2.5, race.runners[runner].radius * scale);
      tracedShape(context, isRider ? "triangle" : "round", ...spot(place[0], place[1]), size);
      context.fillStyle = isRider ? INK.followed : this.look.fill(state, runner);
      context.fill();
      context.strokeStyle = isRider || this.look.isOurs(runner) ? INK.ring : INK.paper;
      context.lineWidth = isRider ? 2.5 : 1;
      context.stroke();
    }
  }
}

// Unit directions averaged over a window on both sides: no turn of the head begins or ends at once.
function means(ways, half) {
  const count = ways.length / 2, result = new Float64Array(ways.length);
  for (let k = 0; k < 2; k++) {
    let sum = 0;
    const sums = new Float64Array(count + 1);
    for (let f = 0; f < count; f++) sums[f + 1] = sum += ways[2 * f + k];
    for (let f = 0; f < count; f++) {
      const first = Math.max(0, f - half), last = Math.min(count, f + half + 1);
      result[2 * f + k] = (sums[last] - sums[first]) / (last - first);
    }
  }
  return result;
}

function said(metres, units) {
  return units === "us" ? `${Math.round(metres / 0.9144)} yd` : `${Math.round(metres)} m`;
}
