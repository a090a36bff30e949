// Where does the camera look? Worked out for the whole race before it is shown: all whom it follows stay in view.

const STEP_S = 0.5, MARGIN_PX = 34, NEAR_PX_M = 14;
const WHOLE_LINE_S = 4, GLIDE_S = 3, HOLD_S = 2.5;
const STILL_SHARE = 0.5; // a camera that stands still shows them at least half as large as it could
const PACK_EVERY = 8; // so many steps the front of the pack are the same runners

class Camera {
  constructor(race, ground) {
    Object.assign(this, { race, ground });
    this.known = new Map();
  }

  // The camera of a moment: middle and pixels a metre, for a room of so many pixels.
  at(state, wide, high) {
    const key = [state.follow.kind, state.follow.index, Math.round(wide), Math.round(high), state.calm].join();
    if (!this.known.has(key)) {
      if (this.known.size > 24) this.known.clear();
      this.known.set(key, this.track(state, wide, high));
    }
    const track = this.known.get(key);
    const exact = Math.min(track.length - 1, state.t / STEP_S), before = Math.floor(exact);
    if (state.calm) return track[before];
    const a = track[before], b = track[Math.min(before + 1, track.length - 1)], share = exact - before;
    return [0, 1, 2].map((k) => a[k] + share * (b[k] - a[k]));
  }

  track(state, wide, high) {
    const boxes = this.boxes(state);
    const room = [Math.max(60, wide - 2 * MARGIN_PX), Math.max(60, high - 2 * MARGIN_PX)];
    const near = NEAR_PX_M * Math.max(0.6, Math.min(1.4, Math.min(wide, high) / 500));
    if (state.calm) return stillShots(boxes, room, near);
    const need = boxes.map(([low, top]) => Math.min(...[0, 1].map((k) => room[k] / Math.max(4, top[k] - low[k]))));
    const hold = Math.round(HOLD_S / STEP_S);
    const scale = averaged(leastAround(need.map((value) => Math.min(value, near)), hold), hold);
    const middle = [0, 1].map((k) => averaged(boxes.map(([low, top]) => (low[k] + top[k]) / 2), hold));
    return boxes.map((box, i) => {
      const share = Math.max(0, Math.min(1, 1 - (i * STEP_S - WHOLE_LINE_S) / GLIDE_S));
      const [x, y, line] = this.wholeLine(room);
      const zoom = Math.min(scale[i] ** (1 - share) * line ** share, need[i]);
      const wished = [middle[0][i] + share * (x - middle[0][i]), middle[1][i] + share * (y - middle[1][i])];
      return [...[0, 1].map((k) => clampedMiddle(wished[k], box, k, room[k] / 2 / zoom)), zoom];
    });
  }

  // What must be seen around every step: the lowest and the highest corner, held where nobody is left.
  boxes(state) {
    const { race } = this, spot = [0, 0], steps = Math.ceil(race.last_s / STEP_S) + 1;
    const single = Array.from({ length: steps }, () => [0, 0, 0, 0]); // low x, low y, high x, high y
    const fixed = state.follow.kind === "pack" ? null : followedRunners(race, state);
    let who = fixed;
    for (let i = 0; i < steps; i++) {
      const t = Math.min(race.last_s, i * STEP_S), box = single[i];
      if (!fixed && i % PACK_EVERY === 0) who = race.front(t, packSize(race));
      box.fill(Infinity, 0, 2).fill(-Infinity, 2);
      for (const runner of who) if (race.at(t, runner, spot)) widen(box, spot[0], spot[1], spot[0], spot[1]);
      if (box[0] > box[2]) single[i] = single[i - 1] || [0, 0, 0, 0];
    }
    // Between two steps they are in the boxes of both.
    return single.map((box, i) => {
      const all = [...box];
      widen(all, ...single[Math.max(0, i - 1)]);
      widen(all, ...single[Math.min(steps - 1, i + 1)]);
      return [all.slice(0, 2), all.slice(2)];
    });
  }

  wholeLine(room) {
    const { line } = this.ground, last = line.length;
    const size = [0, 1].map((k) => Math.abs(line[last - 2 + k] - line[k]) + 14);
    const scale = Math.min(NEAR_PX_M, ...[0, 1].map((k) => room[k] / size[k]));
    return [(line[0] + line[last - 2]) / 2, (line[1] + line[last - 1]) / 2, scale];
  }
}

// For who wants little motion: the camera stands still as long as all stay in view and not too small, then
// it is elsewhere at once.
function stillShots(boxes, room, near) {
  const shots = [];
  while (shots.length < boxes.length) {
    const first = shots.length;
    let all = boxes[first], last = first, end = first + 1;
    const least = STILL_SHARE * scaleOf(all, room, near);
    for (; end < boxes.length; end++) {
      const more = [all[0].map((value, k) => Math.min(value, boxes[end][0][k])), all[1].map((value, k) => Math.max(value, boxes[end][1][k]))];
      if (scaleOf(more, room, near) < least) break;
      [all, last] = [more, end];
    }
    const shot = [(all[0][0] + all[1][0]) / 2, (all[0][1] + all[1][1]) / 2, scaleOf(all, room, near)];
    for (let i = first; i <= last; i++) shots.push(shot);
  }
  return shots;
}

// At most how near may the camera be to see a whole box?
function scaleOf([low, top], room, near) {
  return Math.min(near, ...[0, 1].map((k) => room[k] / Math.max(4, top[k] - low[k])));
}

function widen(box, lowX, lowY, highX, highY) {
  if (lowX < box[0]) box[0] = lowX;
  if (lowY < box[1]) box[1] = lowY;
  if (highX > box[2]) box[2] = highX;
  if (highY > box[3]) box[3] = highY;
}

// The nearest middle from which the whole box is seen.
function clampedMiddle(wished, [low, top], k, half) {
  const least = top[k] - half, most = low[k] + half;
  return least <= most ? Math.max(least, Math.min(most, wished)) : (low[k] + top[k]) / 2;
}

function leastAround(values, reach) {
  return values.map((_, i) => {
    let least = Infinity;
    for (let j = Math.max(0, i - reach); j <= Math.min(values.length - 1, i + reach); j++) least = Math.min(least, values[j]);
    return least;
  });
}

function averaged(values, reach) {
  const sums = [0];
  for (const value of values) sums.push(sums[sums.length - 1] + value);
  return values.map((_, i) => {
    const first = Math.max(0, i - reach), last = Math.min(values.length, i + reach + 1);
    return (sums[last] - sums[first]) / (last - first);
  });
}
