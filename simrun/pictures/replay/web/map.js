// The race from above.

const NEAR_SCALE = 9;
const SEEN_BEHIND_M = 150, SEEN_AHEAD_M = 300;
const WIDEN_UNTIL_S = 6, NEAR_FROM_S = 18;

class MapView {
  constructor(canvas, ground, races, look) {
    Object.assign(this, { canvas, ground, races, look });
    this.camera = { x: 0, y: 0, scale: NEAR_SCALE, zoom: 1, free: false };
    this.paths = this.coursePaths();
    this.spot = [0, 0];
  }

  coursePaths() {
    const { ground } = this;
    const course = new Path2D();
    for (let k = 0; k + 1 < ground.cuts; k++) {
      course.moveTo(...ground.edge(ground.left, k));
      course.lineTo(...ground.edge(ground.left, k + 1));
      course.lineTo(...ground.edge(ground.right, k + 1));
      course.lineTo(...ground.edge(ground.right, k));
    }
    return { course, all: this.edgePaths(0, ground.cuts - 1) };
  }

  // The edges from one cut to another, a path a kind: open, marked, barrier.
  edgePaths(first, last) {
    const { ground } = this;
    const kinds = [new Path2D(), new Path2D(), new Path2D()];
    for (const [points, edge] of [[ground.left, ground.left_edge], [ground.right, ground.right_edge]]) {
      for (let k = first; k < last; k++) {
        kinds[edge[k]].moveTo(...ground.edge(points, k));
        kinds[edge[k]].lineTo(...ground.edge(points, k + 1));
      }
    }
    return kinds;
  }

  // Where does the camera look at this moment? The followed runner, the middle of the team, or the pack.
  target(state) {
    const race = this.races[0];
    const who = followedRunners(race, state);
    const found = [];
    for (const runner of who) {
      const spot = [0, 0];
      if (race.at(state.t, runner, spot)) found.push(spot);
    }
    if (!found.length) return null;
    const middle = (k) => found.map((p) => p[k]).sort((a, b) => a - b)[Math.floor(found.length / 2)];
    return [middle(0), middle(1)];
  }

  // The whole line at the gun, then nearer; never so near that our own leave the picture.
  ownScale(state) {
    const line = this.ground.line;
    const wide = Math.hypot(line[0] - line[line.length - 2], line[1] - line[line.length - 1]);
    const size = Math.min(this.canvas.clientWidth, this.canvas.clientHeight);
    const far = Math.min(NEAR_SCALE, size / (1.25 * wide));
    const share = Math.max(0, Math.min(1, (state.t - WIDEN_UNTIL_S) / (NEAR_FROM_S - WIDEN_UNTIL_S)));
    return far + share * (Math.max(far, NEAR_SCALE * size / 700) - far);
  }

  place(state) {
    const { camera } = this;
    const target = this.target(state);
    if (!camera.free && target) {
      const start = state.t < WIDEN_UNTIL_S ? 1 - state.t / WIDEN_UNTIL_S : 0;
      const line = this.ground.line;
      const middle = [0, 1].map((k) => (line[k] + line[line.length - 2 + k]) / 2);
      camera.x = target[0] + start * (middle[0] - target[0]);
      camera.y = target[1] + start * (middle[1] - target[1]);
    }
    if (!camera.free) camera.scale = this.ownScale(state) * camera.zoom;
  }

  screen(x, y) {
    const { camera, canvas } = this;
    return [canvas.clientWidth / 2 + (x - camera.x) * camera.scale,
      canvas.clientHeight / 2 - (y - camera.y) * camera.scale];
  }

  draw(state) {
    const context = fitted(this.canvas);
    this.place(state);
    this.drawGround(context, state);
    this.taken = [];
    this.drawMarks(context, state);
    if (state.trails) this.drawTrails(context, state);
    if (this.races[1] && state.ghosts !== "off") this.drawGhosts(context, state);
    this.drawRunners(context, state);
    this.drawScale(context, state);
  }

  drawGround(context, state) {
    const { camera, canvas, ground } = this;
    context.fillStyle = INK.ground;
    context.fillRect(0, 0, canvas.clientWidth, canvas.clientHeight);
    context.save();
    const ratio = canvas.width / canvas.clientWidth;
    const scale = camera.scale * ratio;
    context.setTransform(scale, 0, 0, -scale,
      canvas.width / 2 - camera.x * scale, canvas.height / 2 + camera.y * scale);
    context.fillStyle = INK.course;
    context.fill(this.paths.course);
    // A course may cross its own ground: the stretch that is run now stands out from the others.
    context.globalAlpha = 0.2;
    this.strokeEdges(context, this.paths.all);
    context.globalAlpha = 1;
    const here = this.races[0].stationAt(state.t, state.rider);
    this.strokeEdges(context, this.edgePaths(ground.cutAt(here - SEEN_BEHIND_M), ground.cutAt(here + SEEN_AHEAD_M)));
    context.restore();
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
      tracedShape(context, "round", ...this.screen(x, y), Math.max(3, radius * this.camera.scale));
      context.fillStyle = INK.barrier;
      context.fill();
    }
    if (this.camera.scale * 2 > 12) this.drawBoxes(context, state);
    for (const mark of ground.checkpoints) this.drawMark(context, state, mark, 0, 1, INK.text);
    for (const mark of ground.landmarks) this.drawMark(context, state, mark, 0, 0, INK.marked);
  }

  drawBoxes(context, state) {
    context.fillStyle = INK.muted;
    context.textAlign = "center";
    context.textBaseline = "middle";
    context.font = `${12 * state.size}px system-ui, sans-serif`;
    const wide = Math.abs(this.ground.boxes[0].ends[1] - this.ground.boxes[0].ends[3]) * this.camera.scale;
    const every = Math.max(1, Math.ceil(20 * state.size / Math.max(1, wide)));
    for (const { number, ends } of this.ground.boxes) {
      for (let k = 0; k < 4; k += 2) {
        const [x, y] = this.screen(ends[k], ends[k + 1]);
        context.fillRect(x - 10, y - 0.5, 10, 1);
      }
      if ((number - 1) % every) continue;
      const [x, y] = this.screen((ends[0] + ends[2]) / 2, (ends[1] + ends[3]) / 2);
      context.fillText(String(number), x + 14, y);
    }
  }

  drawMark(context, state, mark, from, to, ink) {
    const here = this.screen(...this.ground.point(mark.station, from));
    if (here[0] < -200 || here[1] < -200 || here[0] > this.canvas.clientWidth + 200) return;
    context.strokeStyle = ink;
    context.lineWidth = 1.5;
    context.setLineDash([4, 4]);
    context.beginPath();
    context.moveTo(...here);
    context.lineTo(...this.screen(...this.ground.point(mark.station, to)));
    context.stroke();
    context.setLineDash([]);
    tracedShape(context, "square", ...here, 4);
    context.fillStyle = ink;
    context.fill();
    plate(context, mark.name, ...here, 13 * state.size, [INK.paper, ink], this.taken);
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

  drawGhosts(context, state) {
    const race = this.races[1];
    const who = state.ghosts === "all" ? race.runners.keys() : markedRunners(race, state);
    context.strokeStyle = INK.ghost;
    context.lineWidth = 2;
    for (const runner of who) {
      if (!race.at(state.t, runner, this.spot)) continue;
      const [x, y] = this.screen(...this.spot);
      const size = Math.max(5, 1.3 * race.runners[runner].radius * this.camera.scale);
      context.beginPath();
      context.moveTo(x - size, y);
      context.lineTo(x, y - size);
      context.lineTo(x + size, y);
      context.lineTo(x, y + size);
      context.closePath();
      context.stroke();
    }
  }

  drawRunners(context, state) {
    const race = this.races[0];
    const marked = new Set(markedRunners(race, state));
    const order = [...race.runners.keys()].sort((a, b) => marked.has(a) - marked.has(b));
    const named = [];
    for (const runner of order) {
      if (!race.at(state.t, runner, this.spot)) continue;
      const [x, y] = this.screen(...this.spot);
      const size = Math.max(3, race.runners[runner].radius * this.camera.scale);
      tracedShape(context, this.look.shape(state, runner), x, y, size);
      context.fillStyle = this.look.fill(state, runner);
      context.fill();
      context.lineWidth = marked.has(runner) ? 2.5 : 0.8;
      context.strokeStyle = marked.has(runner) ? INK.ring : INK.paper;
      context.stroke();
      if (state.follow.kind === "runner" && runner === state.follow.index) this.ring(context, x, y, size);
      if (marked.has(runner)) named.push([runner, x, y]);
    }
    if (!state.names) return;
    named.sort((a, b) => (b[0] === state.follow.index) - (a[0] === state.follow.index));
    for (const [runner, x, y] of named) {
      const inks = runner === state.follow.index && state.follow.kind === "runner"
        ? [INK.ring, INK.followed] : [INK.ours, INK.paper];
      plate(context, race.runners[runner].name, x, y, 13 * state.size, inks, this.taken);
    }
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
    const px = whole * foot * this.camera.scale, y = this.canvas.clientHeight - 16;
    context.fillStyle = INK.text;
    context.fillRect(16, y, px, 3);
    context.font = `${13 * state.size}px system-ui, sans-serif`;
    context.textAlign = "left";
    context.textBaseline = "bottom";
    context.fillText(`${whole} ${word}`, 16, y - 2);
  }
}

// A canvas as sharp as the screen, its drawing units whole page pixels.
function fitted(canvas) {
  const ratio = Math.min(2, window.devicePixelRatio || 1);
  const wide = Math.round(canvas.clientWidth * ratio), high = Math.round(canvas.clientHeight * ratio);
  if (canvas.width !== wide || canvas.height !== high) Object.assign(canvas, { width: wide, height: high });
  const context = canvas.getContext("2d");
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  return context;
}

function followedRunners(race, state) {
  const { kind, index } = state.follow;
  if (kind === "runner") return [index];
  const all = [...race.runners.keys()];
  if (kind === "team") return all.filter((i) => race.runners[i].team === index);
  return race.order(state.t).slice(0, Math.max(1, Math.floor(race.count / 3)));
}

// Who is to be found at once: our own, and whom we follow.
function markedRunners(race, state) {
  const { kind, index } = state.follow;
  return [...race.runners.keys()].filter((i) => race.runners[i].team === race.ours
    || (kind === "runner" && i === index) || (kind === "team" && race.runners[i].team === index));
}
