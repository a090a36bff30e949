// Where was everybody? The embedded numbers made ready for drawing.

const SAME_M = 30; // two marks of one name so near are one place

async function wholeNumbers(text) {
  const letters = atob(text), packed = new Uint8Array(letters.length);
  for (let i = 0; i < letters.length; i++) packed[i] = letters.charCodeAt(i);
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  const count = bytes.length / 2;
  const whole = new Int16Array(count);
  for (let i = 0; i < count; i++) whole[i] = bytes[i] | (bytes[count + i] << 8);
  return whole;
}

// What is kept runner by runner as rows, a moment each, of so many numbers; of changes the sums.
function inRows(kept, wide, areChanges = true) {
  const rows = kept.length / wide, whole = new Int32Array(kept.length);
  for (let i = 0; i < wide; i++) {
    let sum = 0;
    for (let row = 0; row < rows; row++) {
      sum = kept[i * rows + row] + (areChanges ? sum : 0);
      whole[row * wide + i] = sum;
    }
  }
  return whole;
}

class Race {
  // One run of the field: N runners, T frames.
  constructor(told, kept) {
    Object.assign(this, told, kept);
    this.count = told.runners.length;
    this.all = [...told.runners.keys()];
    this.until = told.position.until;
    this.place_m = this.unrolled(told.position.first, kept.bends);
    this.last_s = (this.frames - 1) * this.frame_s;
    this.mine = told.runners.map((_, i) => i).filter((i) => told.runners[i].team === told.ours);
  }

  static async of(told) {
    const count = told.runners.length;
    const rows = async (text, wide, areChanges) => inRows(await wholeNumbers(text), wide, areChanges);
    return new Race(told, {
      bends: await wholeNumbers(told.position.bends),
      station_dm: await rows(told.station, count),
      lost_cs: await Promise.all(told.lost_parts.map((text) => rows(text, count))),
      level: await rows(told.levels, count, false),
      gone_ds: await rows(told.gone[0], 1),
      gone_who: await wholeNumbers(told.gone[1]),
    });
  }

  unrolled(first, bends) {
    const wide = 2 * this.count;
    const metres = new Float32Array(this.frames * wide), moves = this.frames - 1;
    for (let i = 0; i < wide; i++) {
      let here = first[i], step = 0;
      metres[i] = here / 100;
      for (let f = 1; f <= moves; f++) {
        step += bends[i * moves + f - 1];
        here += step;
        metres[f * wide + i] = here / 100;
      }
    }
    return metres;
  }

  // Position of one runner at a second, written into `into`; false once the runner has left.
  at(t_s, runner, into) {
    const exact = Math.max(0, Math.min(this.frames - 1, t_s / this.frame_s));
    if (exact > this.until[runner] - 1) return false;
    const before = Math.floor(exact);
    const share = exact - before;
    const wide = 2 * this.count;
    const a = before * wide + 2 * runner;
    const b = Math.min(before + 1, this.frames - 1) * wide + 2 * runner;
    into[0] = this.place_m[a] * (1 - share) + this.place_m[b] * share;
    into[1] = this.place_m[a + 1] * (1 - share) + this.place_m[b + 1] * share;
    return true;
  }

  // Speed over the last half second, in metres a second.
  speedAt(t_s, runner) {
    const now = [0, 0], then = [0, 0];
    const from = Math.max(0, t_s - 0.5);
    if (!this.at(t_s, runner, now) || t_s - from < 0.05) return 0;
    this.at(from, runner, then);
    return Math.hypot(now[0] - then[0], now[1] - then[1]) / (t_s - from);
  }

  // A number of a runner that is kept every `step` seconds, between two of them linear.
  kept(values, step, t_s, runner) {
    const last = values.length / this.count - 1;
    const exact = Math.max(0, Math.min(last, t_s / step)), before = Math.floor(exact);
    const a = values[before * this.count + runner];
    const b = values[Math.min(before + 1, last) * this.count + runner];
    return a + (exact - before) * (b - a);
  }

  stationAt(t_s, runner) {
    return this.kept(this.station_dm, this.station_s, t_s, runner) / 10;
  }

  // Seconds lost so far, part by part: box, line, traffic, racing.
  partsAt(t_s, runner) {
    return this.lost_cs.map((values) => this.kept(values, this.station_s, t_s, runner) / 100);
  }

  lostAt(t_s, runner) {
    return this.partsAt(t_s, runner).reduce((sum, part) => sum + part, 0);
  }

  // How fast is the runner losing time? 0 not at all, to 3; the nearest of those kept.
  levelAt(t_s, runner) {
    const row = Math.min(this.level.length / this.count - 1, Math.round(t_s / this.level_s));
    return this.level[Math.max(0, row) * this.count + runner];
  }

  // Whole seconds that went a little before: [runner, how long ago].
  goneAt(t_s, within_s) {
    const found = [];
    let low = 0, high = this.gone_ds.length;
    while (low < high) {
      const half = (low + high) >> 1;
      if (this.gone_ds[half] <= 10 * (t_s - within_s)) low = half + 1;
      else high = half;
    }
    for (; low < this.gone_ds.length && this.gone_ds[low] <= 10 * t_s; low++) {
      found.push([this.gone_who[low], t_s - this.gone_ds[low] / 10]);
    }
    return found;
  }

  // When did a runner first come this far? Seconds, or null.
  whenAt(station_m, runner) {
    const wide = this.count, rows = this.station_dm.length / wide;
    for (let k = 0; k < rows; k++) {
      const here = this.station_dm[k * wide + runner] / 10;
      if (here < station_m) continue;
      const before = k ? this.station_dm[(k - 1) * wide + runner] / 10 : here;
      const share = here > before ? (station_m - before) / (here - before) : 1;
      return Math.max(0, (k - 1 + share) * this.station_s);
    }
    return null;
  }

  // Who is how far at a second: metres, and beyond all of them who is home, the first first. (N)
  progress(t_s) {
    const last = this.crossing[0].length - 1;
    return this.runners.map((_, i) => {
      const home = this.crossing[i][last];
      return home !== null && home <= t_s ? 1e7 - home : this.stationAt(t_s, i);
    });
  }

  // From where to where does anybody run? Metres along the measured line.
  reach(t_s) {
    let first = Infinity, last = -Infinity;
    const spot = [0, 0];
    for (let i = 0; i < this.count; i++) {
      if (!this.at(t_s, i, spot)) continue;
      const here = this.stationAt(t_s, i);
      first = Math.min(first, here);
      last = Math.max(last, here);
    }
    return first <= last ? [first, last] : [0, 0];
  }

  // Everybody's order at a second: runner numbers, first first. The last one asked for is kept.
  order(t_s) {
    if (this.ordered?.t_s !== t_s) {
      const far = this.progress(t_s);
      this.ordered = { t_s, order: [...this.all].sort((a, b) => far[b] - far[a]) };
    }
    return this.ordered.order;
  }

  // The first so many at about a second, in no order: by the nearest of the places that are kept.
  front(t_s, count) {
    const last = this.crossing[0].length - 1, far = new Float64Array(this.count);
    const row = Math.min(this.station_dm.length / this.count - 1, Math.round(t_s / this.station_s)) * this.count;
    for (let i = 0; i < this.count; i++) {
      const home = this.crossing[i][last];
      far[i] = home !== null && home <= t_s ? 1e7 - home : this.station_dm[row + i] / 10;
    }
    const least = far.slice().sort()[this.count - count], found = [];
    for (let i = 0; i < this.count && found.length < count; i++) if (far[i] >= least) found.push(i);
    return found;
  }
}

class Ground {
  // The course: edges as x, y, x, y ..., and the middle by station.
  constructor(told) {
    Object.assign(this, told);
    this.cuts = told.station.length;
    this.wide_m = [];
    for (let at = told.station[0]; at <= told.station[this.cuts - 1] + 1; at++) this.wide_m.push(this.measured(at));
  }

  edge(points, cut) {
    return [points[2 * cut], points[2 * cut + 1]];
  }

  cutAt(station_m) {
    let low = 0, high = this.cuts - 1;
    while (high - low > 1) {
      const half = (low + high) >> 1;
      if (this.station[half] <= station_m) low = half;
      else high = half;
    }
    return low;
  }

  // The point at a station and share of the width, 0 the left edge, 1 the right.
  point(station_m, share) {
    const cut = this.cutAt(station_m);
    const length = Math.max(1e-9, this.station[cut + 1] - this.station[cut]);
    const part = Math.max(0, Math.min(1, (station_m - this.station[cut]) / length));
    const at = (points, k) => points[2 * cut + k] * (1 - part) + points[2 * cut + 2 + k] * part;
    return [0, 1].map((k) => at(this.left, k) * (1 - share) + at(this.right, k) * share);
  }

  // Along and across: metres, and the share of the width, from a place and the station known so far.
  unrolled(station_m, x, y) {
    const left = this.point(station_m, 0), right = this.point(station_m, 1);
    const across = [right[0] - left[0], right[1] - left[1]];
    const wide = Math.hypot(...across) || 1e-9;
    const away = [x - left[0], y - left[1]];
    const ahead = (away[1] * across[0] - away[0] * across[1]) / wide;
    return [station_m + ahead, (away[0] * across[0] + away[1] * across[1]) / (wide * wide)];
  }

  // How wide is the course here? From a table, metre by metre.
  widthAt(station_m) {
    const exact = Math.max(0, Math.min(this.wide_m.length - 2, station_m - this.station[0])), before = Math.floor(exact);
    return this.wide_m[before] + (exact - before) * (this.wide_m[before + 1] - this.wide_m[before]);
  }

  measured(station_m) {
    const left = this.point(station_m, 0), right = this.point(station_m, 1);
    return Math.hypot(right[0] - left[0], right[1] - left[1]);
  }

  // Every named place in order: name, station, and of a turn which side is inside (-1 left, 1 right).
  named() {
    const lap = (gate) => (gate.lap > 1 ? `${gate.name} (lap ${gate.lap})` : gate.name);
    const all = [
      ...this.gates.map((gate) => ({ name: lap(gate), station: gate.station, until: gate.until, inside: gate.inside })),
      ...this.checkpoints.map((mark) => ({ ...mark, line: true })),
      ...this.landmarks,
    ];
    all.sort((a, b) => a.station - b.station);
    // A gate and a checkpoint of one name are one place: it is named once.
    const isAgain = (mark, k) => all.slice(0, k).some((before) => before.name === mark.name && mark.station - before.station < SAME_M);
    return all.map((mark, k) => ({ ...mark, again: isAgain(mark, k) }));
  }
}
