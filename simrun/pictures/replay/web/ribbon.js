// The course unrolled: a straight ribbon, along to the right, across from left (up) to right (down).

const ALONG_PX_M = 7, FITS = 0.86, FITS_AGAIN = 0.7;
const LEAST_WIDE_PX = 44, MOST_WIDE_PX = 74, LEAST_M = 2, MOST_M = 60;
const DASH_M = 2, RIBBON_STEP_PX = 4;
const NEARLY_M = 20; // no place kept by the second is further from the true one

class RibbonView {
  constructor(canvas, ground, races, look) {
    Object.assign(this, { canvas, ground, races, look });
    this.marks = [{ name: "start", station: 0, line: true }, ...ground.named()];
    this.spot = [0, 0];
    this.apart = false;
  }

  // So wide is ground of this width drawn: by its logarithm, never too narrow to read.
  drawnWidth(width_m) {
    const share = Math.log(width_m / LEAST_M) / Math.log(MOST_M / LEAST_M);
    return LEAST_WIDE_PX + (MOST_WIDE_PX - LEAST_WIDE_PX) * Math.max(0, Math.min(1, share));
  }

  // The stretches shown: one around those followed, or two where they are far apart.
  windows(state) {
    const race = this.races[0], [wide] = sizeOf(this.canvas);
    const here = followedRunners(race, state).filter((i) => race.at(state.t, i, this.spot))
      .map((i) => race.stationAt(state.t, i)).sort((a, b) => a - b);
    if (!here.length) here.push(race.stationAt(state.t, state.rider));
    const span = (here[here.length - 1] - here[0]) * ALONG_PX_M;
    this.apart = here.length > 1 && span > (this.apart ? FITS_AGAIN : FITS) * wide;
    if (!this.apart) return [this.around(here, 0, wide)];
    let cut = 1;
    for (let k = 1; k < here.length; k++) if (here[k] - here[k - 1] > here[cut] - here[cut - 1]) cut = k;
    const half = (wide - 6) / 2;
    const [behind, ahead] = [this.around(here.slice(0, cut), 0, half), this.around(here.slice(cut), wide - half, half)];
    // Nobody is shown twice: where the two would meet, one that is drawn smaller will do.
    return behind.from + behind.wide / behind.scale > ahead.from ? [this.around(here, 0, wide)] : [behind, ahead];
  }

  around(here, left, wide) {
    const low = here[0], high = here[here.length - 1];
    const scale = Math.min(ALONG_PX_M, (FITS * wide) / Math.max(1e-6, high - low));
    return { left, wide, scale, from: (low + high) / 2 - wide / 2 / scale };
  }

  middle() {
    return sizeOf(this.canvas)[1] - 12 - MOST_WIDE_PX / 2;
  }

  // Where a runner is drawn in a window, or null.
  at(state, race, runner, window) {
    const about = (race.stationAt(state.t, runner) - window.from) * window.scale, near = NEARLY_M * window.scale;
    if (about < -near || about > window.wide + near || !race.at(state.t, runner, this.spot)) return null;
    const [station, share] = this.ground.unrolled(race.stationAt(state.t, runner), ...this.spot);
    const x = (station - window.from) * window.scale;
    if (x < 0 || x > window.wide) return null;
    return [window.left + x, this.middle() + (share - 0.5) * this.drawnWidth(this.ground.widthAt(station))];
  }

  draw(state) {
    const context = fitted(this.canvas), [wide, high] = sizeOf(this.canvas);
    context.fillStyle = INK.ground;
    context.fillRect(0, 0, wide, high);
    for (const window of this.windows(state)) {
      context.save();
      context.beginPath();
      context.rect(window.left, 0, window.wide, high);
      context.clip();
      this.drawStretch(context, window);
      this.drawNames(context, state, window);
      this.drawPeople(context, state, window);
      context.restore();
      if (window.left) {
        context.fillStyle = INK.text;
        context.fillRect(window.left - 6, 0, 6, high);
      }
    }
  }

  drawStretch(context, { left, wide, scale, from }) {
    const { ground } = this, first = ground.station[0], last = ground.station[ground.cuts - 1];
    const begin = Math.max(0, (first - from) * scale), end = Math.min(wide, (last - from) * scale);
    if (end <= begin) return;
    const spots = [];
    for (let x = begin; x < end + RIBBON_STEP_PX; x += RIBBON_STEP_PX) {
      const here = Math.min(x, end), station = from + here / scale;
      spots.push([left + here, this.drawnWidth(ground.widthAt(station)) / 2, ground.cutAt(station)]);
    }
    const middle = this.middle();
    context.beginPath();
    for (const [x, half] of spots) context.lineTo(x, middle - half);
    for (const [x, half] of spots.reverse()) context.lineTo(x, middle + half);
    context.fillStyle = INK.course;
    context.fill();
    spots.reverse();
    for (const [side, edges] of [[-1, ground.left_edge], [1, ground.right_edge]]) {
      for (const kind of [1, 2]) this.drawEdge(context, spots, edges, kind, side, (from * scale) % (2 * DASH_M * scale), scale);
    }
  }

  drawEdge(context, spots, edges, kind, side, offset, scale) {
    const middle = this.middle();
    context.beginPath();
    spots.forEach(([x, half, cut], k) => {
      if (edges[cut] !== kind) return;
      if (!k || edges[spots[k - 1][2]] !== kind) context.moveTo(x, middle + side * half);
      else context.lineTo(x, middle + side * half);
    });
    context.strokeStyle = kind === 2 ? INK.barrier : INK.marked;
    context.lineWidth = kind === 2 ? 4 : 2;
    context.setLineDash(kind === 1 ? [DASH_M * scale, DASH_M * scale] : []);
    context.lineDashOffset = offset; // dashes stay where they are on the ground
    context.stroke();
    context.setLineDash([]);
    context.lineDashOffset = 0;
  }

  drawNames(context, state, { left, wide, scale, from }) {
    const size = 13 * state.size;
    let free = left;
    context.font = `600 ${size}px system-ui, sans-serif`;
    context.textAlign = "left";
    context.textBaseline = "top";
    for (const mark of this.marks) {
      const x = left + (mark.station - from) * scale;
      if (x < left || x > left + wide) continue;
      const half = this.drawnWidth(this.ground.widthAt(mark.station)) / 2;
      context.fillStyle = INK.text;
      context.fillRect(x, 4, 1.5, this.middle() - half - 4);
      if (mark.line) context.fillRect(x, this.middle() - half, 1.5, 2 * half);
      const inside = mark.inside ? (mark.inside < 0 ? ": inside is up" : ": inside is down") : "";
      // Behind its line, before it at the end of the window; without the side where there is no room.
      for (const text of mark.again ? [] : inside ? [mark.name + inside, mark.name] : [mark.name]) {
        const needed = textWidth(context, text) + 10, fits = x + needed <= left + wide, begin = fits ? x : x - needed;
        if (begin < free) continue;
        context.fillText(text, begin + 4, 4);
        free = Math.max(x, begin + needed);
        break;
      }
    }
  }

  drawPeople(context, state, window) {
    const race = this.races[0], marked = markedSet(race, state);
    for (const runner of markedLast(race, state)) {
      const spot = this.at(state, race, runner, window);
      if (!spot) continue;
      const size = marked.has(runner) ? 8 : 4;
      if (state.follow.kind === "runner" && runner === state.follow.index) disc(context, ...spot, size + 5, INK.followed);
      drawnRunner(context, this.look, state, runner, ...spot, size);
    }
    if (!this.races[1] || state.plan === "off") return;
    for (const runner of markedRunners(this.races[1], state)) {
      const spot = this.at(state, this.races[1], runner, window);
      if (spot) this.diamondAt(context, ...spot, 9);
    }
  }

  diamondAt(context, x, y, size) {
    context.beginPath();
    for (const [dx, dy] of [[-1, 0], [0, -1], [1, 0], [0, 1]]) context.lineTo(x + dx * size, y + dy * size);
    context.closePath();
    context.strokeStyle = INK.plan;
    context.lineWidth = 2.5;
    context.stroke();
  }
}
