// The race as the chosen runner sees it: level camera, a head that turns with the course. Other pages draw with it
// too: by new EyeView(canvas, plan, ground, races, look), draw(state) and drawEmpty(state, station_m).

const EYE_M = 1.6, BODY_M = 1.72, FENCE_M = 1.05;
const NAMES_OFF_M = 60, AHEAD_M = 160, BEHIND_M = 12, NEAREST_M = 0.6;
const SMALL_PX = 520;
const LOOK_AHEAD_M = 12; // who stands there looks so far along the course
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
    this.lookFrom(context, this.spot, [to[0] / length, to[1] / length], race.stationAt(state.t, runner), wide, high);
    this.drawCourse(context);
    this.drawThings(context, state);
    this.drawWords(context);
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

  // The view from the middle of the course, with nobody on it: where the way leads from a place.
  drawEmpty(state, station_m) {
    const context = fitted(this.canvas), [wide, high] = sizeOf(this.canvas);
    const [here, ahead] = [0, LOOK_AHEAD_M].map((far) => this.ground.point(Math.min(station_m + far, this.ground.length), 0.5));
    const length = Math.hypot(ahead[0] - here[0], ahead[1] - here[1]) || 1;
    this.lookFrom(context, here, [(ahead[0] - here[0]) / length, (ahead[1] - here[1]) / length], station_m, wide, high);
    this.drawCourse(context);
    this.drawThings(context, { ...state, people: false, rider: -1 });
  }

  // The eye is here and looks this way; sky and ground.
  lookFrom(context, here, [cos, sin], station_m, wide, high) {
    this.eye = { x: here[0], y: here[1], cos, sin };
    this.lens = { x: wide / 2, y: 0.42 * high, f: 0.62 * Math.max(wide, 0.9 * high) };
    this.station = station_m;
    context.fillStyle = INK.sky;
    context.fillRect(0, 0, wide, this.lens.y);
    context.fillStyle = INK.ground;
    context.fillRect(0, this.lens.y, wide, high - this.lens.y);
  }

  // Everything that stands up, from far to near.
  drawThings(context, state) {
    const things = [...this.bodies(state), ...this.signs()];
    things.sort((a, b) => b.ahead - a.ahead);
    // No name lies on what stands near.
    this.taken = things.filter(({ stands, ahead }) => stands && ahead < NAMES_OFF_M).map(({ right, ahead, high }) => {
      const [x, top] = this.spotOn(right, ahead, high), [, foot] = this.spotOn(right, ahead, 0), half = this.lens.f / ahead;
      return [x - half, top, x + half, foot];
    });
    this.said = state.rider < 0 ? { lines: [] } : this.words(context, state);
    this.taken.push(...this.said.lines.map(({ box }) => box));
    for (const thing of things) thing.draw(context);
    if (!state.names) return;
    const named = things.filter(({ name, right, ahead }) => name && Math.abs(right) * this.lens.f < this.lens.x * ahead).reverse();
    for (const thing of named.slice(0, sizeOf(this.canvas)[0] < SMALL_PX ? 3 : 12)) {
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
    const level = this.look.level(state, runner);
    const shirt = level ? LOSING[level] : this.look.fill(state, runner);
    const edge = isMarked ? INK.ring : INK.paper, thick = isMarked ? 2.5 : 1;
    context.beginPath();
    for (const side of [-1, 1]) {
      context.moveTo(x + side * 0.1 * unit, foot - 0.85 * unit);
      context.lineTo(x + side * 0.12 * unit, foot - (0.02 + 0.22 * Math.max(0, side * swing)) * unit);
    }
    context.strokeStyle = INK.text;
    context.lineWidth = Math.max(1, 0.1 * unit);
    context.stroke();
    context.strokeStyle = edge;
    context.lineWidth = thick;
    context.beginPath();
    context.roundRect(x - radius * unit, foot - 1.42 * unit, 2 * radius * unit, 0.64 * unit, 0.16 * unit);
    // Others in three greys, so that who runs before whom is seen; ours dark, with a belt of the ring's colour.
    context.fillStyle = isMarked ? this.look.fill(state, runner) : shirt === INK.other ? SHIRTS[runner % SHIRTS.length] : shirt;
    context.fill();
    context.stroke();
    if (isMarked && level) {
      context.fillStyle = LOSING[level];
      context.fillRect(x - radius * unit, foot - 1.2 * unit, 2 * radius * unit, 0.16 * unit);
    }
    context.beginPath();
    context.arc(x, foot - 1.58 * unit, 0.115 * unit, 0, 2 * Math.PI);
    context.fillStyle = SKINS[runner % SKINS.length];
    context.fill();
    context.stroke();
    // Seen from behind: hair.
    context.beginPath();
    context.arc(x, foot - 1.6 * unit, 0.115 * unit, Math.PI, 2 * Math.PI);
    context.fillStyle = HAIRS[(runner * 7) % HAIRS.length];
    context.fill();
  }

  // What stands beside the course: landmarks, gates and turns, checkpoints, and what stands in the way.
  signs() {
    const found = [], { gates } = this.ground;
    // A gate tells its name; a mark of the same name there stands without one.
    const told = (mark) => (gates.some((gate) => gate.name === mark.name && Math.abs(gate.station - mark.station) < SAME_M) ? { ...mark, name: "" } : mark);
    for (const mark of this.ground.landmarks) this.addThing(found, told(mark), 0, mark.look ?? "post", [INK.paper, INK.marked]);
    for (const gate of this.ground.gates) {
      const at = { name: gate.inside ? `${gate.name} (${gate.inside < 0 ? "left" : "right"})` : gate.name, station: (gate.station + gate.until) / 2 };
      if (gate.inside) this.addThing(found, at, gate.inside < 0 ? 0 : 1, "turnpost", [INK.paper, POST_FLAG]);
      else [0, 1].forEach((share) => this.addThing(found, { ...at, name: share ? "" : at.name }, share, "gatepost", [INK.paper, WOOD]));
    }
    for (const mark of this.ground.checkpoints) {
      if (Math.abs(mark.station - this.ground.length) > 1) this.addThing(found, told(mark), 1, "post", [INK.paper, INK.text]);
    }
    for (const [x, y, radius] of this.ground.obstacles) {
      const [right, ahead] = this.seen(x, y);
      if (ahead < NEAREST_M || ahead > AHEAD_M) continue;
      found.push({ right, ahead, high: 2, name: "", inks: [], draw: (context) => this.drawPost(context, right, ahead, radius) });
    }
    this.addFinish(found);
    return found;
  }

  // A thing of LOOKS at a place, beside the left edge (share 0) or the right one (1).
  addThing(found, mark, share, look, inks) {
    if (mark.station < this.station - 2 || mark.station > this.station + AHEAD_M) return;
    const { off, high, draw } = LOOKS[look] ?? LOOKS.post;
    const edge = this.ground.point(mark.station, share), other = this.ground.point(mark.station, 0.5);
    const length = Math.max(0.1, Math.hypot(edge[0] - other[0], edge[1] - other[1]));
    const [right, ahead] = this.seen(...[0, 1].map((k) => edge[k] + (off * (edge[k] - other[k])) / length));
    if (ahead < NEAREST_M || ahead > AHEAD_M) return;
    const name = mark.name && `${mark.name}, ${said(mark.station - this.station, this.units)}`;
    found.push({ right, ahead, high, name, inks, stands: true, draw: (context) => draw(this.put(context, right, ahead)) });
  }

  put(context, right, ahead) {
    const put = new Put(context, ...this.spotOn(right, ahead, 0), this.lens.f / ahead);
    put.flat = EYE_M / ahead;
    return put;
  }

  // Two poles and a beam across the course.
  addFinish(found) {
    const { length } = this.ground;
    if (length < this.station - 2 || length > this.station + AHEAD_M) return;
    const ends = [0, 1].map((share) => this.seen(...this.ground.point(length, share)));
    if (ends.some(([, ahead]) => ahead < NEAREST_M)) return;
    const ahead = (ends[0][1] + ends[1][1]) / 2, right = (ends[0][0] + ends[1][0]) / 2;
    const draw = (context) => {
      const [a, b] = ends.map(([aside, far]) => this.spotOn(aside, far, 3)), [c, d] = ends.map(([aside, far]) => this.spotOn(aside, far, 3.6));
      for (const [aside, far] of ends) this.drawPole(context, aside, far, 3.6, INK.text);
      context.beginPath();
      for (const spot of [a, b, d, c]) context.lineTo(...spot);
      context.closePath();
      context.fillStyle = INK.ours;
      context.fill();
    };
    found.push({ right, ahead, high: 3.6, name: `finish, ${said(length - this.station, this.units)}`, inks: [INK.paper, INK.ours], draw });
  }

  drawPole(context, right, ahead, high, ink) {
    context.strokeStyle = ink;
    context.lineWidth = Math.max(1.5, (0.12 * this.lens.f) / ahead);
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

  // Whose eyes these are, how far to go, and what comes next: lines with their boxes, which no name may cover.
  words(context, state) {
    const [wide] = sizeOf(this.canvas);
    const left = `${said(Math.max(0, this.ground.length - this.station), this.units)} to go`;
    const race = this.races[0], runner = state.rider, who = race.runners[runner];
    const far = race.progress(state.t), place = 1 + far.filter((metres) => metres > far[runner]).length;
    const next = this.ground.named().find((mark) => mark.station > this.station + 1);
    const there = `${who.name}'s eyes, place ${place}`, lost = `${tenths(race.lostAt(state.t, runner))} s lost`;
    // On a phone there is little room, and the clock stands beside the first line.
    const small = wide < SMALL_PX, size = (small ? 13 : 16) * state.size, step = 1.5 * size;
    const lines = small ? [there, `${lost}, ${left}`] : [`${there}, ${lost}`, left];
    if (next) lines.push(this.nextWords(next, state.names));
    context.font = `600 ${size}px system-ui, sans-serif`;
    return { size, lines: lines.map((text, k) => ({ text, box: [8, 8 + k * step, 20 + textWidth(context, text), 8 + k * step + 1.4 * size] })) };
  }

  drawWords(context) {
    const { size, lines } = this.said;
    context.font = `600 ${size}px system-ui, sans-serif`;
    context.textAlign = "left";
    context.textBaseline = "middle";
    for (const { text, box } of lines) {
      context.fillStyle = "rgba(255,255,255,0.85)";
      context.fillRect(box[0], box[1], box[2] - box[0], box[3] - box[1]);
      context.fillStyle = INK.text;
      context.fillText(text, box[0] + 6, (box[1] + box[3]) / 2);
    }
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
      const isRider = runner === state.rider;
      if ((!state.people && !isRider) || !race.at(state.t, runner, place)) continue;
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
