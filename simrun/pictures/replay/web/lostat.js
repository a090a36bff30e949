// Where was it lost? Distance against seconds lost, a line a runner; a click goes to that moment.

const EDGE = { left: 44, right: 14, top: 14, bottom: 54 };
const GAP_STEP_M = 50;

class LostView {
  constructor(canvas, ground, races, look) {
    Object.assign(this, { canvas, ground, races, look });
    const last = ground.checkpoints[ground.checkpoints.length - 1];
    this.end_m = last ? last.station : ground.length;
    this.known = new Map();
    this.still = document.createElement("canvas");
  }

  who(state) {
    const marked = markedRunners(this.races[0], state);
    return marked.length ? marked : followedRunners(this.races[0], state).slice(0, 12);
  }

  // One runner's line: [metres, seconds lost, moment], to where the account ends.
  line(race, runner) {
    const key = `${this.races.indexOf(race)}:${runner}`;
    if (!this.known.has(key)) this.known.set(key, this.worked(race, runner));
    return this.known.get(key);
  }

  worked(race, runner) {
    const found = [];
    for (let t = 0; t <= race.last_s; t += race.station_s) {
      const here = race.stationAt(t, runner);
      if (here > this.end_m) break;
      if (!found.length || here > found[found.length - 1][0]) found.push([here, race.lostAt(t, runner), t]);
    }
    return found;
  }

  // When did a runner come to a place? Seconds, or null.
  cameHere(race, runner, station_m) {
    const line = this.line(race, runner), k = line.findIndex(([here]) => here >= station_m);
    if (k < 0) return null;
    if (!k) return line[0][2];
    const [a, b] = [line[k - 1], line[k]], share = (station_m - a[0]) / (b[0] - a[0]);
    return a[2] + share * (b[2] - a[2]);
  }

  // By how many seconds does the other plan come later to a place? The mean of those shown, above 0: this one leads.
  gap(state, station_m) {
    const both = this.who(state).map((i) => this.races.map((race) => this.cameHere(race, i, station_m)))
      .filter(([one, other]) => one !== null && other !== null);
    return both.length ? both.reduce((sum, [one, other]) => sum + other - one, 0) / both.length : null;
  }

  scales(state) {
    const [across, down] = sizeOf(this.canvas), wide = across - EDGE.left - EDGE.right, high = down - EDGE.top - EDGE.bottom;
    const lines = this.who(state).map((i) => this.line(this.races[0], i));
    let low = 0, top = 1;
    for (const line of lines) for (const [, lost] of line) {
      low = Math.min(low, lost);
      top = Math.max(top, lost);
    }
    this.x = (metres) => EDGE.left + (wide * Math.max(0, metres)) / this.end_m;
    this.y = (lost) => EDGE.top + high * (1 - (lost - low) / (top - low));
    return { low, top, wide, high, lines };
  }

  // Axes and lines stay as they are while the race plays: drawn once, then laid under the runners.
  draw(state) {
    const context = fitted(this.canvas), size = sizeOf(this.canvas), { low, top, high, lines } = this.scales(state);
    const key = [...size, this.canvas.width, state.size, state.follow.kind, state.follow.index, state.plan, low, top].join();
    if (this.drawn !== key) {
      this.drawn = key;
      context.fillStyle = INK.paper;
      context.fillRect(0, 0, ...size);
      this.drawAxes(context, state, low, top, high);
      if (this.races[1] && state.plan !== "off") this.drawGaps(context, state);
      this.who(state).forEach((runner, k) => this.drawLine(context, state, runner, lines[k]));
      Object.assign(this.still, { width: this.canvas.width, height: this.canvas.height });
      this.still.getContext("2d", { alpha: false }).drawImage(this.canvas, 0, 0);
    } else context.drawImage(this.still, 0, 0, ...size);
    for (const runner of this.who(state)) this.drawNow(context, state, runner);
  }

  drawAxes(context, state, low, top, high) {
    const size = 12 * state.size, step = [0.5, 1, 2, 5, 10, 20, 50].find((s) => (top - low) / s <= 6) || 100;
    context.font = `${size}px system-ui, sans-serif`;
    context.textBaseline = "middle";
    for (let lost = Math.ceil(low / step) * step; lost <= top; lost += step) {
      context.fillStyle = lost === 0 ? INK.text : "#d8dcd4";
      context.fillRect(EDGE.left, this.y(lost), sizeOf(this.canvas)[0] - EDGE.left - EDGE.right, 1);
      context.textAlign = "right";
      context.fillStyle = INK.text;
      context.fillText(`${lost} s`, EDGE.left - 6, this.y(lost));
    }
    const rows = [0, 0];
    for (const mark of this.ground.named()) {
      if (mark.station > this.end_m + 1 || mark.again) continue;
      const x = this.x(mark.station), wide = textWidth(context, mark.name) + 10;
      context.fillStyle = mark.line ? INK.muted : "#d8dcd4";
      context.fillRect(x, EDGE.top, 1, high);
      const left = Math.min(x, sizeOf(this.canvas)[0] - wide), row = rows.findIndex((free) => left >= free);
      if (row < 0) continue;
      rows[row] = left + wide;
      context.textAlign = "left";
      context.fillStyle = INK.text;
      context.fillText(mark.name, left, EDGE.top + high + 12 + row * (size + 6));
      context.fillRect(x, EDGE.top + high, 1, 4);
    }
  }

  drawLine(context, state, runner, line) {
    const followed = state.follow.kind === "runner" && runner === state.follow.index;
    context.beginPath();
    for (const [metres, lost] of line) context.lineTo(this.x(metres), this.y(lost));
    context.strokeStyle = this.look.isOurs(runner) ? INK.ours : INK.muted;
    context.lineWidth = followed ? 4 : 2;
    context.globalAlpha = followed || state.follow.kind !== "runner" ? 1 : 0.4;
    context.stroke();
    context.globalAlpha = 1;
  }

  // Where a runner is on the line by now.
  drawNow(context, state, runner) {
    const followed = state.follow.kind === "runner" && runner === state.follow.index;
    const here = Math.min(this.races[0].stationAt(state.t, runner), this.end_m);
    const spot = [this.x(here), this.y(this.races[0].lostAt(state.t, runner))];
    if (followed) disc(context, ...spot, 12, INK.followed);
    drawnRunner(context, this.look, state, runner, ...spot, 8);
  }

  // Where the other plan gains or loses against this one: a step every fifty metres, on the axis.
  drawGaps(context, state) {
    let before = 0;
    for (let at = GAP_STEP_M; at <= this.end_m; at += GAP_STEP_M) {
      const gap = this.gap(state, at);
      if (gap === null) break;
      const high = Math.abs(this.y(gap - before) - this.y(0)), zero = this.y(0);
      context.fillStyle = INK.plan;
      context.globalAlpha = 0.35;
      const left = this.x(at - GAP_STEP_M) + 1, wide = this.x(at) - this.x(at - GAP_STEP_M) - 2;
      context.fillRect(left, gap > before ? zero - high : zero, wide, Math.max(1, high));
      context.globalAlpha = 1;
      before = gap;
    }
  }

  // The moment under the pointer: [second, runner], of the nearest line.
  momentAt(state, x, y) {
    let best = null, least = Infinity;
    this.scales(state);
    for (const runner of this.who(state)) {
      for (const [metres, lost, t] of this.line(this.races[0], runner)) {
        const away = Math.hypot(this.x(metres) - x, 0.5 * (this.y(lost) - y));
        if (away < least) [least, best] = [away, [t, runner]];
      }
    }
    return best;
  }
}
