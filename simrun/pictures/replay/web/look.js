// How is everybody drawn? Colours that colour-blind people can tell, and shapes beside them.

const INK = {
  ground: "#d6ddcb", course: "#f8f5eb", paper: "#ffffff", text: "#1f272b", muted: "#566267",
  barrier: "#422f20", marked: "#007a6e", open: "#a69e8c", ours: "#002668", ring: "#001e42",
  followed: "#f0e442", other: "#969ea3", plan: "#7038ec", sky: "#e6eef2",
};
// How fast somebody loses time: not at all, a little, much, very much; the ring fills up.
const LOSING = ["#969ea3", "#f4b400", "#d55e00", "#eb0048"];
const HOLLOW = [0, 0.72, 0.42, 0];
const LOSING_WORDS = ["losing a little", "losing much", "losing very much"];
const PART_INKS = { box: INK.marked, line: INK.followed, traffic: INK.text, racing: INK.plan };
const TEAM_FILLS = ["#e69f00", "#b8a000", "#d55e00", "#8c8c8c", "#009e73", "#cc79a7", "#56b4e9", "#7a4e9c"];
const LINE_FILLS = { inside: "#d55e00", middle: "#56b4e9", outside: "#006b4e" };
const RAMP = ["#00204d", "#31446b", "#666970", "#958f78", "#cab969", "#ffea46"];
const SHAPES = ["round", "square", "triangle"];

function onRamp(share) {
  const place = Math.max(0, Math.min(1, share)) * (RAMP.length - 1);
  const before = Math.min(RAMP.length - 2, Math.floor(place));
  const mix = [1, 3, 5].map((k) => {
    const a = parseInt(RAMP[before].slice(k, k + 2), 16);
    const b = parseInt(RAMP[before + 1].slice(k, k + 2), 16);
    return Math.round(a + (place - before) * (b - a));
  });
  return `rgb(${mix.join(",")})`;
}

class Look {
  constructor(race) {
    this.race = race;
    const lost = race.runners.map((_, i) => race.lostAt(race.last_s, i)).sort((a, b) => a - b);
    this.most_lost = Math.max(1, lost[Math.floor(0.95 * (lost.length - 1))]);
  }

  // Our runners bear the number of their row in the ledger.
  number(runner) {
    return this.race.mine.indexOf(runner) + 1;
  }

  isOurs(runner) {
    return this.race.runners[runner].team === this.race.ours;
  }

  fill(state, runner) {
    const who = this.race.runners[runner];
    switch (state.colour) {
      case "team":
        return this.isOurs(runner) ? INK.ours : TEAM_FILLS[who.team % TEAM_FILLS.length];
      case "line":
        return LINE_FILLS[who.line] || INK.other;
      case "lost":
        return onRamp(this.race.lostAt(state.t, runner) / this.most_lost);
      case "speed":
        return onRamp(this.race.speedAt(state.t, runner) / (1.3 * who.pace));
      default:
        return this.isOurs(runner) ? INK.ours : INK.other;
    }
  }

  level(state, runner) {
    return state.colour === "losing" ? this.race.levelAt(state.t, runner) : 0;
  }

  shape(state, runner) {
    if (state.colour === "line") {
      const found = ["inside", "middle", "outside"].indexOf(this.race.runners[runner].line);
      return SHAPES[Math.max(0, found)];
    }
    if (state.colour !== "team") return "round";
    return SHAPES[this.race.runners[runner].team % SHAPES.length];
  }

  // What the colours mean: [colour, shape, words, level] each.
  legend(state) {
    const ours = this.race.ours >= 0 ? [[INK.ours, "ours", this.race.teams[this.race.ours]]] : [];
    const most = this.most_lost.toFixed(1);
    switch (state.colour) {
      case "team":
        return this.race.teams.map((name, team) => [
          team === this.race.ours ? INK.ours : TEAM_FILLS[team % TEAM_FILLS.length],
          SHAPES[team % SHAPES.length], name,
        ]);
      case "line":
        return Object.entries(LINE_FILLS).map(([word, fill], k) => [fill, SHAPES[k], `${word} at the first turn`]);
      case "lost":
        return [[onRamp(0), "round", "0.0 s lost"],
          [onRamp(0.5), "round", `${(this.most_lost / 2).toFixed(1)} s`], [onRamp(1), "round", `${most} s or more`]];
      case "speed":
        return [[onRamp(0), "round", "standing"], [onRamp(0.5), "round", "two thirds of race pace"],
          [onRamp(0.77), "round", "race pace"], [onRamp(1), "round", "30 % faster"]];
      default:
        return [...ours, [INK.other, "round", ours.length ? "the others" : "runners"],
          ...this.race.loses.map((least, k) => [LOSING[k + 1], "round", `${LOSING_WORDS[k]} (1 s in ${Math.round(1 / least)} s)`, k + 1])];
    }
  }
}

// A runner: a disc; who is losing time a ring that fills up; ours numbered, the ring around them.
function drawnRunner(context, look, state, runner, x, y, size) {
  const level = look.level(state, runner), ours = look.isOurs(runner);
  if (level && ours) {
    disc(context, x, y, size + 3.5 + 1.5 * level, INK.ring);
    disc(context, x, y, size + 2.5 + 1.5 * level, LOSING[level]);
  }
  if (level && !ours) {
    disc(context, x, y, size + 1, LOSING[level]);
    if (HOLLOW[level]) disc(context, x, y, size * HOLLOW[level], INK.paper);
    return;
  }
  if (ours) disc(context, x, y, size + 1.5, INK.paper);
  tracedShape(context, look.shape(state, runner), x, y, size);
  context.fillStyle = look.fill(state, runner);
  context.fill();
  if (!ours) return;
  context.lineWidth = 1.5;
  context.strokeStyle = INK.ring;
  context.stroke();
  const dark = ["losing", "team"].includes(state.colour);
  if (size >= 7) centred(context, String(look.number(runner)), x, y, Math.round(1.5 * size), dark ? INK.paper : INK.ring);
}

// Seconds to the tenth; a little below nothing is nothing.
function tenths(seconds) {
  return (Math.abs(seconds) < 0.05 ? 0 : seconds).toFixed(1);
}

function disc(context, x, y, radius, fill) {
  context.beginPath();
  context.arc(x, y, radius, 0, 2 * Math.PI);
  context.fillStyle = fill;
  context.fill();
}

function centred(context, text, x, y, size, ink) {
  context.font = `700 ${size}px system-ui, sans-serif`;
  context.textAlign = "center";
  context.textBaseline = "middle";
  context.fillStyle = ink;
  context.fillText(text, x, y + 0.5);
}

function tracedShape(context, shape, x, y, radius) {
  context.beginPath();
  if (shape === "square") {
    context.rect(x - 0.9 * radius, y - 0.9 * radius, 1.8 * radius, 1.8 * radius);
  } else if (shape === "triangle") {
    context.moveTo(x, y - 1.2 * radius);
    context.lineTo(x + 1.1 * radius, y + 0.8 * radius);
    context.lineTo(x - 1.1 * radius, y + 0.8 * radius);
    context.closePath();
  } else {
    context.arc(x, y, radius, 0, 2 * Math.PI);
  }
}

// A name on a plate inside the picture, where it covers no other; `taken` are the plates so far.
function plate(context, text, x, y, size, inks, taken) {
  context.font = `600 ${size}px system-ui, sans-serif`;
  const wide = textWidth(context, text) + 8, high = size + 7, [across, down] = sizeOf(context.canvas);
  for (const [dx, dy] of [[12, -12], [12, 14], [-12, -12], [-12, 14], [0, -30], [0, 32], [24, -44], [24, 46]]) {
    const wished = x + dx - (dx < 0 ? wide : dx === 0 ? wide / 2 : 0), top = y + dy - high / 2;
    const left = Math.max(2, Math.min(across - wide - 2, wished));
    if (top < 2 || top + high > down) continue;
    const box = [left, top, left + wide, top + high];
    if (taken.some((b) => box[0] < b[2] && box[2] > b[0] && box[1] < b[3] && box[3] > b[1])) continue;
    taken.push(box);
    drawnPlate(context, text, box, [x, y], inks);
    return;
  }
}

function drawnPlate(context, text, box, from, inks) {
  context.strokeStyle = inks[0];
  context.lineWidth = 1.5;
  context.beginPath();
  context.moveTo(...from);
  context.lineTo(Math.max(box[0], Math.min(box[2], from[0])), Math.max(box[1], Math.min(box[3], from[1])));
  context.stroke();
  context.fillStyle = inks[0];
  context.fillRect(box[0], box[1], box[2] - box[0], box[3] - box[1]);
  context.fillStyle = inks[1];
  context.textBaseline = "middle";
  context.textAlign = "left";
  context.fillText(text, box[0] + 4, (box[1] + box[3]) / 2 + 0.5);
}

// --- The paper drawn upon: what the page and the letters measure, asked once and not at every drawing ---

const sizes = new Map(), textWidths = new Map();
const MOST_WIDTHS = 4000;
const sizesWatched = new ResizeObserver((seen) => seen.forEach(({ target }) => sizes.delete(target)));

// How large is a canvas on the page? Asked while a frame is drawn, the page would be laid out once more.
function sizeOf(canvas) {
  const known = sizes.get(canvas);
  if (known) return known;
  const size = [canvas.clientWidth, canvas.clientHeight];
  if (size[0]) sizes.set(canvas, size); // of what is hidden nothing is known yet
  sizesWatched.observe(canvas);
  return size;
}

// Something else may be shown or hidden now: sizes are asked anew.
function forgetSizes() {
  sizes.clear();
}

window.addEventListener("resize", forgetSizes);

// How wide is a text in the letters that are set?
function textWidth(context, text) {
  const key = `${context.font}|${text}`;
  if (textWidths.size > MOST_WIDTHS) textWidths.clear();
  if (!textWidths.has(key)) textWidths.set(key, context.measureText(text).width);
  return textWidths.get(key);
}

// A canvas as sharp as the screen, its drawing units whole page pixels.
function fitted(canvas) {
  const ratio = Math.min(2, window.devicePixelRatio || 1), [across, down] = sizeOf(canvas);
  // What is hidden has no size, and a drawing without one cannot be laid under another.
  const wide = Math.max(1, Math.round(across * ratio)), high = Math.max(1, Math.round(down * ratio));
  if (canvas.width !== wide || canvas.height !== high) Object.assign(canvas, { width: wide, height: high });
  const context = canvas.getContext("2d", { alpha: false });
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  return context;
}

function shortened(context, text, room) {
  let kept = text;
  while (kept.length > 1 && textWidth(context, kept === text ? kept : `${kept}…`) > room) kept = kept.slice(0, -1);
  return kept === text ? text : `${kept}…`;
}
