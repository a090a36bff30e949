// Where was everybody? The embedded numbers made ready for drawing.

async function wholeNumbers(text) {
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  const count = bytes.length / 2;
  const whole = new Int16Array(count);
  for (let i = 0; i < count; i++) whole[i] = bytes[i] | (bytes[count + i] << 8);
  return whole;
}

class Race {
  // One run of the field: N runners, T frames.
  constructor(told, bends, stations) {
    Object.assign(this, told);
    this.count = told.runners.length;
    this.until = told.position.until;
    this.stations = stations;
    this.place_m = this.unrolled(told.position.first, bends);
    this.last_s = (this.frames - 1) * this.frame_s;
  }

  static async of(told) {
    const bends = await wholeNumbers(told.position.bends);
    return new Race(told, bends, await wholeNumbers(told.station));
  }

  unrolled(first, bends) {
    const wide = 2 * this.count;
    const metres = new Float32Array(this.frames * wide);
    const here = Int32Array.from(first);
    const step = new Int32Array(wide);
    for (let i = 0; i < wide; i++) metres[i] = here[i] / 100;
    for (let f = 1; f < this.frames; f++) {
      for (let i = 0; i < wide; i++) {
        step[i] += bends[(f - 1) * wide + i];
        here[i] += step[i];
        metres[f * wide + i] = here[i] / 100;
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

  stationAt(t_s, runner) {
    const exact = Math.max(0, Math.min(this.stations.length / this.count - 1, t_s / this.station_s));
    const before = Math.floor(exact), share = exact - before;
    const a = this.stations[before * this.count + runner];
    const after = Math.min(before + 1, this.stations.length / this.count - 1);
    const b = this.stations[after * this.count + runner];
    return (a + share * (b - a)) / 10;
  }

  // Who is how far at a second: metres, and beyond all of them who is home, the first first. (N)
  progress(t_s) {
    const last = this.crossing[0].length - 1;
    return this.runners.map((_, i) => {
      const home = this.crossing[i][last];
      return home !== null && home <= t_s ? 1e7 - home : this.stationAt(t_s, i);
    });
  }

  // Everybody's order at a second: runner numbers, first first.
  order(t_s) {
    const far = this.progress(t_s);
    return this.runners.map((_, i) => i).sort((a, b) => far[b] - far[a]);
  }

  // Seconds lost at the last checkpoint passed, null before the first.
  lostAt(t_s, runner) {
    let lost = null;
    this.crossing[runner].forEach((when, c) => {
      if (when !== null && when <= t_s && this.lost[runner][c] !== null) lost = this.lost[runner][c];
    });
    return lost;
  }
}

class Ground {
  // The course: edges as x, y, x, y ..., and the middle by station.
  constructor(told) {
    Object.assign(this, told);
    this.cuts = told.station.length;
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
}
